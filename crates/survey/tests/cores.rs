//! A mark over the core is told as it is, whether light comes out of the core or not: the common look of a face's cores
//! stands in for what the mark covers, so that what is left of the core is no mark of its own.

use crate::scene::{Scene, Shot, fibre, layout, single_mode, told};
use synth::{Cores, FacePlan, FibreType, Form, Rendered, What};
use terms::{Feature, Flaw, Kind};

/// Marks over the cores of positions 2, 5, 8 and 11; the others are clean.
fn over_cores() -> Vec<(u16, What)> {
    let scratch = |from, to, width_um, contrast| What::Scratch {
        path_um: vec![from, to],
        width_um,
        contrast,
        broken: 0.0,
    };
    let particle = |at, size_um| What::Particle { at, size_um, contrast: -0.5, form: Form::Rounded };
    vec![
        (2, scratch((-50.0, -19.0), (50.0, 21.0), 2.0, -0.4)),
        (5, particle((0.3, -0.4), 5.0)),
        (8, scratch((20.0, -45.0), (-16.0, 45.0), 2.6, -0.45)),
        (11, particle((-1.2, 0.9), 3.5)),
    ]
}

fn lumps(of: &[Feature]) -> Vec<&Feature> {
    of.iter().filter(|f| f.kind != Kind::Scratch && f.size.0 > 1.0).collect()
}

#[test]
fn a_mark_over_a_core_is_one_mark_as_large_as_it_is() {
    let plans = [
        (single_mode(), Cores::Lit),
        (single_mode(), Cores::Dark),
        (FacePlan { fibre: FibreType::Multimode50, ..FacePlan::default() }, Cores::Lit),
    ];
    for (plan, cores) in plans {
        let plan = FacePlan { seed: 201, cores, ..plan };
        let name = format!("{:?} {cores:?}", plan.fibre);
        let scene =
            over_cores().into_iter().fold(Scene::of("mpo-12", plan), |scene, (p, what)| scene.on(p, what));
        let survey = scene.seen(|c| c.blur_um = 0.55).shot().survey();
        for (position, what) in over_cores() {
            let all = &fibre(&survey, position).features;
            let text =
                || format!("{name} {position}: {}", all.iter().map(told).collect::<Vec<_>>().join("; "));
            match what {
                What::Particle { size_um, .. } => {
                    let found = lumps(all);
                    assert_eq!(found.len(), 1, "{}", text());
                    assert!((found[0].size.0 - size_um).abs() < 0.7, "{}", text());
                }
                _ => {
                    assert!(lumps(all).is_empty(), "{}", text());
                    assert!(all.iter().any(|f| f.kind == Kind::Scratch && f.length.0 > 80.0), "{}", text());
                }
            }
        }
        let clean = |p: &u16| over_cores().iter().all(|(q, _)| q != p);
        for position in (1..=12).filter(clean) {
            assert!(lumps(&fibre(&survey, position).features).is_empty(), "{name} {position}");
        }
    }
}

/// The one core without light among lit ones is dark, and no lit core that dirt covers.
#[test]
fn a_dark_core_among_lit_ones_is_no_mark() {
    let plan = FacePlan { cores: Cores::Dark, lit: (1..=12).filter(|p| *p != 6).collect(), ..single_mode() };
    let survey = Scene::of("mpo-12", plan).seen(|c| c.blur_um = 0.55).shot().survey();
    let six = fibre(&survey, 6);
    assert!(lumps(&six.features).is_empty());
    assert!(six.core_light.is_some_and(|light| light < 0.02), "{:?}", six.core_light);
}

/// Light that is more than the picture can hold hides marks and is none.
#[test]
fn a_core_too_bright_for_the_picture_is_a_flaw_and_no_mark() {
    for seed in [1, 2, 3] {
        let plan = FacePlan { seed, cores: Cores::Lit, ..single_mode() };
        let bright = Scene::of("mpo-12", plan).seen(|c| c.exposure = 0.85).shot().survey();
        let mut clipped = 0;
        for position in 1..=12 {
            let fibre = fibre(&bright, position);
            let flawed = fibre.flaws.contains(&Flaw::CoreSaturated);
            clipped += usize::from(flawed);
            assert!(flawed || lumps(&fibre.features).is_empty(), "{seed} {position}: {:?}", fibre.features);
        }
        assert!(clipped > 6, "{clipped}");
    }
}

/// A core is as wide as its kind, lit or dark.
#[test]
fn a_core_looks_as_wide_as_its_kind() {
    let wide = FacePlan::default();
    for (plan, widths) in [(single_mode(), 6.0..11.0), (wide, 36.0..54.0)] {
        for cores in [Cores::Lit, Cores::Dark] {
            let survey = Scene::of("mpo-12", FacePlan { seed: 9, cores, ..plan.clone() }).shot().survey();
            let seen: Vec<f64> = (1..=12).filter_map(|p| Some(fibre(&survey, p).core_width?.0)).collect();
            assert!(seen.len() > 2 && seen.iter().all(|w| widths.contains(w)), "{cores:?} {seen:?}");
        }
    }
}

/// A wide scratch hides the middle of a wide core and much of what lies about that; the core beside it is no film.
#[test]
fn a_core_beside_a_wide_scratch_is_no_film() {
    let path_um = vec![(-70.0, -18.0), (70.0, 14.0)];
    let what = What::Scratch { path_um, width_um: 6.0, contrast: -0.5, broken: 0.0 };
    for (seed, cores) in [(3, Cores::Dark), (4, Cores::Dark), (3, Cores::Lit), (4, Cores::Lit)] {
        let plan = FacePlan { seed, cores, ..FacePlan::default() };
        let scene = [3, 9].into_iter().fold(Scene::of("mpo-12", plan), |scene, p| scene.on(p, what.clone()));
        let survey = scene.seen(|c| c.blur_um = 0.55).shot().survey();
        for position in [3, 9] {
            let all = &fibre(&survey, position).features;
            let text = all.iter().map(told).collect::<Vec<_>>().join("; ");
            let wide = |f: &&Feature| f.kind == Kind::Scratch && (f.size.0 - 6.0).abs() < 0.4;
            assert!(all.iter().filter(wide).count() == 1, "{seed} {cores:?} {position}: {text}");
            assert!(all.iter().all(|f| f.kind != Kind::Film), "{seed} {cores:?} {position}: {text}");
        }
    }
}

/// Some lit cores are brightest in the middle, others even: what most of a face look like is no rule for the rest.
#[test]
fn a_core_of_another_make_is_no_mark() {
    let layout = layout("mpo-12");
    for (number, position) in [(2, 7), (22, 10)] {
        let made = synth::study::face(&layout, 901_003, number);
        let Rendered { frame, truth } = synth::render_face(&made.face, &made.cameras[0][1]).unwrap();
        let camera = made.cameras[0][1].clone();
        let survey = Shot { layout: layout.clone(), camera, frame, truth }.survey();
        let seen = &fibre(&survey, position).features;
        let in_core = |f: &&Feature| f.centre.x.hypot(f.centre.y) < 10.0;
        assert!(seen.iter().filter(in_core).count() == 0, "{number} {position}: {seen:?}");
    }
}
