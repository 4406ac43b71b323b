//! Each kind of mark: found, named, sized and placed, and the fibres beside it left clean.

use crate::scene::{JUDGED, Scene, fibre, inner_marks, single_mode, told};
use std::sync::LazyLock;
use synth::{Camera, FacePlan, Form, Spot, What};
use terms::{Feature, Kind, Survey};

/// A mark and what the survey must say of it.
struct Case {
    name: &'static str,
    what: What,
    kind: Kind,
    /// Added to three standard uncertainties of the size, um; its reason stands beside it.
    slack: f64,
    /// How far the centre may lie from the true one, um.
    near: f64,
    /// Whether it is seen as one mark and no more.
    single: bool,
}

impl Case {
    fn new(name: &'static str, kind: Kind, what: What) -> Case {
        Case { name, what, kind, slack: 0.0, near: 0.5, single: true }
    }
}

fn particle(at: Spot, size_um: f64, contrast: f64, form: Form) -> What {
    What::Particle { at, size_um, contrast, form }
}

fn scratch(path: &[Spot], width_um: f64, contrast: f64) -> What {
    What::Scratch { path_um: path.to_vec(), width_um, contrast, broken: 0.0 }
}

fn lumps() -> Vec<Case> {
    use Form::{Angular, Rounded};
    let pit = |at, size_um| What::Pit { at, size_um, contrast: -0.7 };
    vec![
        Case::new("dark particle", Kind::Particle, particle((20.0, 30.0), 4.0, -0.35, Rounded)),
        Case::new("bright particle", Kind::Particle, particle((-40.0, 10.0), 4.0, 0.35, Rounded)),
        Case::new("large particle", Kind::Particle, particle((35.0, -20.0), 12.0, -0.6, Angular)),
        Case::new("particle on the core", Kind::Particle, particle((3.0, -2.0), 8.0, -0.4, Rounded)),
        Case::new("small pit", Kind::Pit, pit((-30.0, -30.0), 2.0)),
        Case::new("pit", Kind::Pit, pit((10.0, 40.0), 4.0)),
    ]
}

/// The middle of a scratch lies as well as its ends are seen: they fade in over the scratch's width.
fn lines() -> Vec<Case> {
    let bent = [(-50.0, 0.0), (0.0, 15.0), (50.0, 0.0)];
    let fluff = vec![(-30.0, -30.0), (0.0, -10.0), (30.0, 20.0), (40.0, 40.0)];
    let line = |name, path: &[Spot], width, contrast| Case {
        near: 2.0,
        ..Case::new(name, Kind::Scratch, scratch(path, width, contrast))
    };
    vec![
        line("dark scratch", &[(-45.0, -20.0), (50.0, 30.0)], 2.0, -0.25),
        line("bright scratch", &[(-40.0, 35.0), (40.0, 20.0)], 2.5, 0.2),
        line("curved scratch", &bent, 1.5, -0.3),
        line("scratch from edge to edge", &[(-70.0, 5.0), (70.0, -10.0)], 3.0, -0.3),
        line("thin scratch", &[(10.0, 30.0), (45.0, 10.0)], 1.0, -0.3),
        // Lint bends as no scratch does and is one particle, of its whole length. It hides the glass with one
        // brightness across core and cladding, and its axis shines, so that its parts are told by their darkness.
        Case {
            single: false,
            near: 3.0,
            slack: 3.0,
            ..Case::new("lint", Kind::Particle, What::Lint { path_um: fluff, width_um: 5.0, contrast: -0.5 })
        },
    ]
}

/// Films fade and have streaks and fringes of their own, so that more may be seen within them.
fn others() -> Vec<Case> {
    // The rim of a film fades over 1 um.
    let film =
        |name, what| Case { near: 2.0, slack: 1.0, single: false, ..Case::new(name, Kind::Film, what) };
    let smear = What::Smear { at: (10.0, 10.0), size_um: 40.0, contrast: -0.15, rim_um: 1.0 };
    let oil = What::Oil { at: (-10.0, 15.0), size_um: 60.0, contrast: -0.2, fringes: 2.0 };
    let droplet = What::Droplet { at: (-25.0, 20.0), size_um: 10.0, contrast: -0.4, rim_um: 1.2 };
    // A chip's thin ends lie in the outermost 1.6 um of the glass, which are not judged.
    let chip = |name, at_deg, size_um: f64| Case {
        slack: 1.0,
        near: 1.5,
        ..Case::new(
            name,
            Kind::Chip,
            What::Chip { at_deg, size_um, depth_um: 0.35 * size_um, contrast: -0.6 },
        )
    };
    vec![
        film("smear", smear),
        film("oil", oil),
        Case::new("droplet", Kind::Particle, droplet),
        chip("chip", 40.0, 12.0),
        chip("wide chip", 200.0, 20.0),
    ]
}

/// A table on one face: case k on fibre 2 k + 1, the fibres between clean.
struct Tried {
    face: &'static str,
    cases: Vec<Case>,
    truths: Vec<synth::MarkTruth>,
    survey: Survey,
}

static TRIED: LazyLock<Vec<Tried>> = LazyLock::new(|| {
    let mut tried = Vec::new();
    for (face, plan) in [("multimode", FacePlan::default()), ("single mode", single_mode())] {
        for (k, cases) in [lumps(), lines(), others()].into_iter().enumerate() {
            let mut scene = Scene::of("mpo-12", plan.clone()).seen(|c| c.seed = k as u64 + 20);
            for (i, case) in cases.iter().enumerate() {
                scene = scene.on(2 * i as u16 + 1, case.what.clone());
            }
            let shot = scene.shot();
            let marked = shot.truth.positions.iter().step_by(2).take(cases.len());
            let truths = marked.map(|p| p.marks[0].clone()).collect();
            tried.push(Tried { face, cases, truths, survey: shot.survey() });
        }
    }
    tried
});

/// Calls `look` with every case, its true mark and the marks of its fibre; fails with all it complains of.
fn each(look: impl Fn(&Case, &synth::MarkTruth, &[Feature]) -> Option<String>) {
    let mut faults = Vec::new();
    for tried in TRIED.iter() {
        for (k, (case, truth)) in tried.cases.iter().zip(&tried.truths).enumerate() {
            let seen = &fibre(&tried.survey, 2 * k as u16 + 1).features;
            if let Some(fault) = look(case, truth, seen) {
                faults.push(format!("{}, {}: {fault}", tried.face, case.name));
            }
        }
    }
    assert!(faults.is_empty(), "{faults:#?}");
}

fn off(truth: &synth::MarkTruth, seen: &Feature) -> f64 {
    (seen.centre.x - truth.centre_um[0]).hypot(seen.centre.y - truth.centre_um[1])
}

/// The mark of the right kind that is nearest in size.
fn found<'a>(case: &Case, size: f64, seen: &'a [Feature]) -> Option<&'a Feature> {
    let right = seen.iter().filter(|f| f.kind == case.kind);
    right.min_by(|a, b| (a.size.0 - size).abs().total_cmp(&(b.size.0 - size).abs()))
}

fn all_told(seen: &[Feature]) -> String {
    seen.iter().map(told).collect::<Vec<_>>().join("; ")
}

#[test]
fn every_mark_is_found_by_its_name_at_its_place() {
    each(|case, truth, seen| {
        let right = found(case, truth.size_um, seen)
            .filter(|f| off(truth, f) <= case.near && f.contrast * truth.contrast > 0.0);
        right.is_none().then(|| format!("no {} at {:?} among {}", case.kind, truth.centre_um, all_told(seen)))
    });
}

#[test]
fn every_size_lies_within_three_of_its_uncertainties() {
    each(|case, truth, seen| {
        let size = truth.size_um;
        let right = found(case, size, seen)
            .filter(|f| (f.size.0 - size).abs() <= 3.0 * f.u.0 + case.slack && f.u.0 < 0.15 + 0.05 * size);
        right.is_none().then(|| format!("{size} um, seen as {}", all_told(seen)))
    });
}

/// What a line's taking away leaves may be called once more if it differs from clean glass by next to nothing.
#[test]
fn one_mark_is_told_once() {
    each(|case, _, seen| {
        let counts = |f: &&Feature| f.contrast.abs() > 0.05 && (f.centre.radius() < JUDGED || f.size.0 > 5.0);
        let inner = seen.iter().filter(counts).count();
        (case.single && inner > 1).then(|| all_told(seen))
    });
}

#[test]
fn fibres_beside_marked_ones_stay_clean() {
    for tried in TRIED.iter() {
        let marked = |position: u16| position % 2 == 1 && usize::from(position / 2) < tried.cases.len();
        let mut marks = inner_marks(&tried.survey, JUDGED);
        marks.retain(|(position, _)| !marked(*position));
        assert!(
            marks.is_empty(),
            "{}: {:?}",
            tried.face,
            marks.iter().map(|(p, f)| (p, told(f))).collect::<Vec<_>>()
        );
    }
}

/// The ridges of a print are drops and streaks of grease with clean glass between: many marks, which fill the
/// print's circle and none of which lies outside it.
#[test]
fn a_print_is_told_by_its_ridges() {
    let print = What::Print { at: (0.0, 0.0), size_um: 90.0, contrast: -0.2, pitch_um: 25.0 };
    let survey = Scene::new("mpo-12").seen(|c| c.seed = 5).on(6, print).shot().survey();
    let marks = inner_marks(&survey, JUDGED);
    assert!(marks.len() >= 10 && marks.iter().all(|(position, _)| *position == 6), "{} marks", marks.len());
    let reaches = marks.iter().map(|(_, f)| f.reach.outer.0).fold(0.0, f64::max);
    assert!((40.0..50.0).contains(&reaches), "{reaches}");
}

/// Dust on the cladding's edge lies on glass and ferrule; a chip ends with the glass. Its part on the ferrule may be lost
/// in the grain: about half of it must be seen.
#[test]
fn dust_across_the_edge_is_no_chip() {
    let dust = |angle: f64| particle((64.0 * angle.cos(), 64.0 * angle.sin()), 16.0, -0.7, Form::Rounded);
    let scene = (0..6)
        .fold(Scene::new("mpo-12").seen(|c| c.seed = 9), |scene, k| scene.on(2 * k + 1, dust(f64::from(k))));
    let survey = scene.shot().survey();
    for k in 0..6 {
        let seen = &fibre(&survey, 2 * k + 1).features;
        assert!(seen.iter().any(|f| f.kind == Kind::Particle && f.size.0 > 7.0), "{k}: {}", all_told(seen));
        assert!(seen.iter().all(|f| f.kind != Kind::Chip), "{k}: {}", all_told(seen));
    }
}

/// A film departs from clean glass and the glass beside it does not, however much of a fibre is covered.
#[test]
fn clean_glass_beside_a_film_is_no_mark() {
    let films = [
        (2, (31.0, -51.0), 120.0, -0.16),
        (4, (-20.0, 45.0), 110.0, -0.12),
        (6, (0.0, 40.0), 130.0, -0.2),
        (10, (30.0, 20.0), 100.0, -0.14),
    ];
    let scene = films.into_iter().fold(Scene::of("mpo-12", single_mode()), |scene, film| {
        let (position, at, size_um, contrast) = film;
        scene.on(position, What::Smear { at, size_um, contrast, rim_um: 3.0 })
    });
    let survey = scene.shot().survey();
    for (position, at, size_um, _) in films {
        let seen = &fibre(&survey, position).features;
        let wide = |f: &&Feature| f.kind != Kind::Scratch && f.size.0 > 8.0;
        let bright: Vec<&Feature> = seen.iter().filter(wide).filter(|f| f.contrast > 0.0).collect();
        assert!(bright.is_empty(), "fibre {position}: {}", all_told(seen));
        let lies_on = |f: &&Feature| (f.centre.x - at.0).hypot(f.centre.y - at.1) < 0.5 * size_um;
        let dark = seen.iter().filter(wide).filter(lies_on).count();
        assert!(dark > 0, "fibre {position}: {}", all_told(seen));
    }
}

/// The outline of a particle on a film runs half way up from the film; and the film is a mark of its own.
#[test]
fn a_particle_on_a_film_keeps_its_own_outline() {
    let film = What::Smear { at: (0.0, 30.0), size_um: 50.0, contrast: -0.2, rim_um: 1.0 };
    let sizes = [(2, 5.0, -0.4), (4, 8.0, -0.45), (6, 11.0, -0.4), (8, 6.0, -0.36)];
    let scene = sizes.into_iter().fold(Scene::new("mpo-12"), |scene, (position, size, contrast)| {
        let on_it = particle((-3.0, 38.0), size, contrast, Form::Disc);
        scene.on(position, film.clone()).on(position, on_it)
    });
    let survey = scene.shot().survey();
    for (position, size, _) in sizes {
        let seen = &fibre(&survey, position).features;
        let near = |f: &&Feature| (f.centre.x + 3.0).hypot(f.centre.y - 38.0) < 1.0;
        let on_it: Vec<&Feature> = seen.iter().filter(near).collect();
        assert!(matches!(&on_it[..], [f] if (f.size.0 - size).abs() < 0.6), "{position}: {}", all_told(seen));
        assert!(seen.iter().any(|f| f.size.0 > 40.0), "{position}: {}", all_told(seen));
    }
}

/// A scratch that runs through a droplet's rim or ends in it is no part of it.
#[test]
fn a_scratch_through_a_droplet_is_its_own_mark() {
    let drop = What::Droplet { at: (20.0, 20.0), size_um: 11.0, contrast: -0.35, rim_um: 1.0 };
    let paths: [(u16, [Spot; 2]); 2] =
        [(3, [(-10.0, 21.0), (50.0, 19.0)]), (7, [(14.8, 21.0), (-20.0, 28.0)])];
    let scene = paths.iter().fold(Scene::new("mpo-12"), |scene, (position, path)| {
        scene.on(*position, scratch(path, 1.6, -0.2)).on(*position, drop.clone())
    });
    let survey = scene.shot().survey();
    for (position, _) in paths {
        let seen = &fibre(&survey, position).features;
        let droplet = seen.iter().filter(|f| f.kind != Kind::Scratch && f.size.0 > 5.0);
        let sizes: Vec<f64> = droplet.map(|f| f.size.0).collect();
        assert!(matches!(sizes[..], [s] if (s - 11.0).abs() < 1.0), "{position}: {}", all_told(seen));
        assert!(seen.iter().any(|f| f.kind == Kind::Scratch), "{position}: {}", all_told(seen));
    }
}

/// An opaque particle is as dark over the ferrule as over the glass, so that less of the ferrule's light lacks: it is
/// followed all the same.
#[test]
fn a_particle_over_the_edge_is_as_large_as_the_whole_of_it() {
    let at = |angle: f64| (60.5 * angle.cos(), 60.5 * angle.sin());
    let scene =
        (1..=12).fold(Scene::of("mpo-12", FacePlan { seed: 22, ..FacePlan::default() }), |scene, p| {
            let at = at(f64::from(p) * 0.5);
            scene.on(p, What::Particle { at, size_um: 14.0, contrast: -0.57, form: Form::Rounded })
        });
    let survey = scene.shot().survey();
    let sizes: Vec<f64> =
        (1..=12).map(|p| fibre(&survey, p).features.iter().map(|f| f.size.0).fold(0.0, f64::max)).collect();
    assert!(sizes.iter().all(|s| *s > 9.5 && *s < 16.0), "{sizes:?}");
}

/// Where most of an opaque particle lies beyond the edge, the ring that vanishes under it shows that no glass is missing,
/// and its own level how far it goes.
#[test]
fn a_particle_that_hardly_reaches_the_glass_is_as_large_as_the_whole_of_it() {
    let plan = FacePlan { seed: 24, ..FacePlan::default() };
    let scene = (1..=12).fold(Scene::of("mpo-12", plan), |scene, p| {
        let (sin, cos) = (f64::from(p) * 0.5).sin_cos();
        let at = (68.0 * cos, 68.0 * sin);
        scene.on(p, What::Particle { at, size_um: 24.0, contrast: -0.45, form: Form::Rounded })
    });
    let survey = scene.shot().survey();
    let largest: Vec<&Feature> = (1..=12).filter_map(|p| largest(&survey, p)).collect();
    let told: Vec<String> = largest.iter().map(|f| told(f)).collect();
    let whole = largest.iter().filter(|f| f.kind != Kind::Chip && (17.0..27.0).contains(&f.size.0));
    assert!(whole.count() >= 10, "{told:?}");
}

/// A mark that is found by several of its darkest parts is told once.
#[test]
fn a_wide_particle_over_the_edge_is_one_mark() {
    let plan = FacePlan { seed: 24, ..FacePlan::default() };
    let scene = (1..=12).fold(Scene::of("mpo-12", plan), |scene, p| {
        let (sin, cos) = (f64::from(p) * 0.5).sin_cos();
        scene.on(p, particle((64.0 * cos, 64.0 * sin), 40.0, -0.5, Form::Angular))
    });
    let survey = scene.shot().survey();
    for p in 1..=12 {
        let seen = &fibre(&survey, p).features;
        let wide = seen.iter().filter(|f| f.kind != Kind::Scratch && f.size.0 > 16.0).count();
        assert_eq!(wide, 1, "{p}: {}", all_told(seen));
    }
}

/// Lint across a part of the glass touches the edge with its ends; a chip lies along it.
#[test]
fn lint_that_ends_at_the_edge_is_no_chip() {
    const PATH_UM: [Spot; 12] = [
        (-50.0, 31.2),
        (-35.0, 35.0),
        (-17.0, 39.2),
        (0.0, 42.9),
        (13.0, 45.2),
        (23.0, 45.1),
        (32.0, 41.5),
        (41.0, 34.5),
        (50.0, 27.6),
        (58.0, 23.4),
        (75.0, 22.0),
        (110.0, 24.0),
    ];
    let scene = (1..=12).fold(Scene::new("mpo-12"), |scene, p| {
        let (sin, cos) = (f64::from(p) * 0.55).sin_cos();
        let path_um = PATH_UM.map(|(x, y)| (x * cos - y * sin, x * sin + y * cos)).to_vec();
        scene.on(p, What::Lint { path_um, width_um: 6.0, contrast: -0.52 })
    });
    let survey = scene.shot().survey();
    let seen: Vec<&Feature> = (1..=12).filter_map(|p| largest(&survey, p)).collect();
    let told: Vec<String> = seen.iter().map(|f| told(f)).collect();
    assert!(seen.iter().all(|f| f.kind != Kind::Chip && f.size.0 > 70.0), "{told:?}");
}

/// Lint that comes in over the edge is as long as it is seen to be beyond it, however little of it lies on the glass.
#[test]
fn lint_over_the_edge_is_followed_beyond_it() {
    let plan = FacePlan { seed: 23, ..FacePlan::default() };
    let scene = (1..=12).fold(Scene::of("mpo-12", plan), |scene, p| {
        let (sin, cos) = (f64::from(p) * 0.55).sin_cos();
        let at = |along: f64, aside: f64| (along * cos - aside * sin, along * sin + aside * cos);
        scene.on(
            p,
            What::Lint { path_um: vec![at(55.0, 0.0), at(110.0, 12.0)], width_um: 4.5, contrast: -0.55 },
        )
    });
    let survey = scene.shot().survey();
    let seen: Vec<&Feature> = (1..=12).filter_map(|p| largest(&survey, p)).collect();
    let told: Vec<String> = seen.iter().map(|f| told(f)).collect();
    assert_eq!(seen.len(), 12, "{told:?}");
    // A pore of the ferrule may lie beside one.
    let followed = seen.iter().filter(|f| f.kind != Kind::Chip && f.size.0 > 15.0);
    assert!(followed.count() >= 11, "{told:?}");
}

/// A faint droplet half beyond the edge, whose rim noise parts on the glass, is as large as the circle of its arcs.
#[test]
fn a_droplet_over_the_edge_is_as_large_as_its_circle() {
    for (seed, contrast) in [(7, -0.13), (8, -0.16)] {
        let plan = FacePlan { seed: seed + 18, ..FacePlan::default() };
        let noisy = |c: &mut Camera| (c.seed, c.blur_um, c.signal_to_noise) = (seed, 0.43, 32.0);
        let scene = (1..=12).fold(Scene::of("mpo-12", plan).seen(noisy), |scene, p| {
            let (sin, cos) = (f64::from(p) * 0.55 + (seed - 6) as f64).sin_cos();
            scene.on(p, What::Droplet { at: (59.0 * cos, 59.0 * sin), size_um: 12.5, contrast, rim_um: 1.2 })
        });
        let survey = scene.shot().survey();
        let sizes: Vec<f64> = (1..=12).map(|p| largest(&survey, p).map_or(0.0, |f| f.size.0)).collect();
        assert!(sizes.iter().all(|s| (10.0..15.0).contains(s)), "{sizes:?}");
    }
}

/// The largest mark of a fibre.
fn largest(survey: &Survey, position: u16) -> Option<&Feature> {
    fibre(survey, position).features.iter().max_by(|a, b| a.size.0.total_cmp(&b.size.0))
}

/// A rim that the blur fills and the noise nearly hides is told from a filled mark by its pixels: half of its height is
/// reached far outside it.
#[test]
fn a_faint_small_droplet_is_no_larger_than_it_is() {
    let sizes = [3.4, 3.6, 3.8, 4.0];
    let places = [(-35.0, 20.0), (28.0, 34.0), (-20.0, -38.0), (40.0, -15.0)];
    let mut scene =
        Scene::of("mpo-12", FacePlan::default()).seen(|c| (c.signal_to_noise, c.blur_um) = (35.0, 0.5));
    for position in 1..=12 {
        for (k, at) in places.into_iter().enumerate() {
            let size_um = sizes[(usize::from(position) + k) % 4];
            scene = scene.on(position, What::Droplet { at, size_um, contrast: -0.2, rim_um: 0.6 });
        }
    }
    let shot = scene.shot();
    let survey = shot.survey();
    let mut errors: Vec<f64> = Vec::new();
    for position in &shot.truth.positions {
        let seen = &fibre(&survey, position.position).features;
        for mark in &position.marks {
            let near = seen.iter().filter(|f| off(mark, f) < 1.0);
            errors.extend(near.map(|f| f.size.0 - mark.size_um));
        }
    }
    let mean = errors.iter().sum::<f64>() / errors.len() as f64;
    let most = errors.iter().fold(0.0f64, |most, e| most.max(*e));
    assert_eq!(errors.len(), 48, "{errors:.2?}");
    assert!(mean.abs() < 0.2 && most < 0.5, "{mean:.2}, {most:.2}: {errors:.2?}");
}
