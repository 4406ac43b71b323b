//! Films over all fibres of a face at once: none of them may be taken for the light or the cores' look.

use crate::scene::{Scene, fibre, single_mode, told};
use synth::{Camera, Cores, FacePlan, Light, What};
use terms::{Feature, Flaw, Kind, Look};

/// A face whose fibre `p` bears a film of the size and contrast that `of` gives for it, about its centre.
fn filmed(plan: FacePlan, of: impl Fn(u16) -> (f64, f64)) -> Scene {
    (1..=12).fold(Scene::of("mpo-12", plan).seen(|c| c.seed = 41), |scene, p| {
        let (size_um, contrast) = of(p);
        let turn = f64::from(p) * 2.3;
        let at = (8.0 * turn.cos(), 8.0 * turn.sin());
        scene.on(p, What::Smear { at, size_um, contrast, rim_um: 4.0 })
    })
}

#[test]
fn films_on_every_fibre_are_seen_or_said_to_hide() {
    let step = |p: u16| f64::from(p % 5);
    let few = |p: u16| (70.0 + 4.0 * step(p), -0.12 - 0.01 * step(p));
    let wide = |p: u16| (90.0 + 3.0 * step(p), -0.1 - 0.012 * step(p));
    let nearly_all = |p: u16| (108.0 + 2.0 * step(p), -0.12 - 0.01 * step(p));
    let lit = FacePlan { cores: Cores::Lit, seed: 5, ..single_mode() };
    let cases: [(&str, Scene); 4] = [
        ("70 um", filmed(FacePlan { seed: 3, ..FacePlan::default() }, few)),
        ("90 um", filmed(FacePlan { seed: 4, ..single_mode() }, wide)),
        ("90 um, lit cores", filmed(lit, wide)),
        ("110 um", filmed(FacePlan { seed: 6, ..FacePlan::default() }, nearly_all)),
    ];
    let (mut seen, mut passed) = (0, Vec::new());
    for (name, scene) in cases {
        let survey = scene.shot().survey();
        for p in 1..=12 {
            let fibre = fibre(&survey, p);
            // Any mark as wide fails a fibre, whatever it is taken for.
            let wide = |f: &&Feature| f.kind != Kind::Scratch && f.size.0 > 10.0;
            let film = |f: &Feature| f.contrast < 0.0 && f.size.0 > 20.0;
            seen += usize::from(fibre.features.iter().filter(wide).any(film));
            if !(fibre.features.iter().any(|f| wide(&f)) || fibre.flaws.contains(&Flaw::Veiled)) {
                passed.push(format!(
                    "{name}, fibre {p}: {:?}",
                    fibre.features.iter().map(told).collect::<Vec<_>>()
                ));
            }
        }
    }
    assert!(passed.is_empty(), "{}", passed.join("\n"));
    assert!(seen > 36, "only {seen} of 48 are seen as films");
}

/// Light that falls off as strongly as light does is none, neither over a row nor in a picture of two fibres.
#[test]
fn uneven_light_is_no_veil() {
    let two = |c: Camera| Camera { width_px: 1400, height_px: 640, middle_um: (-1350.0, 0.0), ..c };
    for (least, slope, vignette) in [(12, 0.0, 0.35), (12, 0.3, 0.3), (12, 0.4, 0.0), (2, 0.0, 0.35)] {
        let light = Light { slope, slope_deg: 20.0, vignette };
        let lit = |c: Camera| Camera { light, exposure: 0.5, ..c };
        let scene = Scene::new("mpo-12");
        let scene = scene.seen(|c| *c = if least == 2 { two(lit(c.clone())) } else { lit(c.clone()) });
        let survey = scene.shot().survey();
        let found = survey.sites.iter().filter_map(|site| match &site.look {
            Look::Found(fibre) => Some(fibre),
            Look::Missing(_) => None,
        });
        let veiled = found.clone().filter(|f| f.flaws.contains(&Flaw::Veiled)).count();
        assert!(found.count() >= least && veiled == 0, "{least}, {slope}, {vignette}: {veiled} are veiled");
    }
}

/// A fibre that a polish or a lamp slopes unlike its neighbours is clean, and a film on it shows.
#[test]
fn a_slope_of_its_own_is_no_film() {
    let mut clean = Scene::of("mpo-12", single_mode());
    for (position, slope) in [(4, (0.045, -0.03)), (9, (-0.02, 0.055))] {
        let sloped = clean.face.fibres.iter_mut().find(|f| f.position == position).unwrap();
        (sloped.shading.0, sloped.shading.1) = slope;
    }
    let found = |scene: Scene, position| fibre(&scene.shot().survey(), position).features.clone();
    for position in [4, 9] {
        let wide: Vec<String> =
            found(clean.clone(), position).iter().filter(|f| f.size.0 > 3.0).map(told).collect();
        assert!(wide.is_empty(), "{position}: {wide:?}");
    }
    let film = What::Smear { at: (-15.0, 20.0), size_um: 60.0, contrast: -0.08, rim_um: 3.0 };
    let filmed = found(clean.on(9, film), 9);
    assert!(filmed.iter().any(|f| f.kind == Kind::Film && f.size.0 > 40.0));
}

/// A film so thin is told from the slope of a fibre's own light by its edge.
#[test]
fn a_thin_film_over_half_a_fibre_is_a_film() {
    let film = |at| What::Smear { at, size_um: 120.0, contrast: -0.07, rim_um: 3.0 };
    let scene = Scene::of("mpo-12", FacePlan { seed: 8, ..FacePlan::default() });
    let places = [(2, (55.0, 20.0)), (5, (-50.0, 30.0)), (9, (30.0, -55.0)), (11, (-20.0, -60.0))];
    let scene = places.into_iter().fold(scene, |scene, (p, at)| scene.on(p, film(at)));
    let survey = scene.seen(|c| (c.blur_um, c.exposure) = (0.55, 0.5)).shot().survey();
    for position in 1..=12 {
        let found = &fibre(&survey, position).features;
        let film = found.iter().any(|f| f.kind == Kind::Film && f.size.0 > 45.0);
        let due = places.iter().any(|(p, _)| *p == position);
        assert_eq!(film, due, "{position}: {:?}", found.iter().map(told).collect::<Vec<_>>());
    }
}

/// Under light that is alike on all fibres a thin film in a noisy picture stands out of what parts of the glass scatter.
#[test]
fn a_film_hardly_above_the_noise_is_a_film() {
    let film = What::Smear { at: (24.0, 47.0), size_um: 172.0, contrast: -0.06, rim_um: 3.0 };
    let mut scene = Scene::of("mpo-12", FacePlan { cores: Cores::Lit, seed: 8, ..FacePlan::default() });
    scene.face.fibres.iter_mut().for_each(|f| f.shading = (0.0, 0.0, 0.0));
    let noisy = |c: &mut Camera| (c.blur_um, c.exposure, c.signal_to_noise) = (0.55, 0.5, 30.0);
    let survey = scene.on(6, film).seen(noisy).shot().survey();
    let found = &fibre(&survey, 6).features;
    let film = found.iter().any(|f| f.kind == Kind::Film && f.size.0 > 45.0);
    assert!(film, "{:?}", found.iter().map(told).collect::<Vec<_>>());
}

/// A film at the rim whose border is soft bends the light that is fitted to all of the cladding.
#[test]
fn a_small_film_at_the_rim_is_a_film() {
    let noisy = |c: &mut Camera| (c.blur_um, c.exposure, c.signal_to_noise) = (0.58, 0.47, 35.0);
    for (size_um, contrast) in [(38.0, -0.08), (42.0, -0.08), (42.0, -0.105)] {
        let plan = FacePlan { seed: 12, ..FacePlan::default() };
        let scene = [3, 6, 9, 12].into_iter().fold(Scene::of("mpo-12", plan).seen(noisy), |scene, p| {
            let (sin, cos) = (f64::from(p) * 0.5).sin_cos();
            let at = (54.0 * cos, 54.0 * sin);
            scene.on(p, What::Smear { at, size_um, contrast, rim_um: 6.0 })
        });
        let survey = scene.shot().survey();
        for position in 1..=12 {
            let found = &fibre(&survey, position).features;
            let film = found.iter().any(|f| f.kind == Kind::Film && f.size.0 > 30.0);
            let told = || found.iter().map(told).collect::<Vec<_>>();
            assert_eq!(film, position % 3 == 0, "{size_um} um, {contrast}, fibre {position}: {:?}", told());
        }
    }
}
