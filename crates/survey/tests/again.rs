//! One fibre in two pictures held against each other. Truth is what the renderer was given.

use crate::scene::{Scene, Shot, fibre, single_mode};
use synth::{Camera, Cores, FacePlan, Form, What};
use terms::{Feature, Fibre, Held, Lacks, Spot};

const POSITION: u16 = 5;

fn particle(at: (f64, f64), size_um: f64, contrast: f64) -> What {
    What::Particle { at, size_um, contrast, form: Form::Rounded }
}

/// Another light, focus, place and turn.
fn otherwise(camera: &mut Camera) {
    camera.blur_um = 0.75;
    camera.turn_deg = 0.4;
    camera.middle_um = (3.3, -2.2);
    camera.exposure = 0.55;
    camera.seed = 77;
}

/// A picture with what was seen in it.
struct Look {
    shot: Shot,
    fibre: Fibre,
    matrix: [[f64; 2]; 2],
}

impl Look {
    fn new(marks: &[What], change: impl FnOnce(&mut Camera)) -> Look {
        Look::at(Scene::new("mpo-12"), marks, change)
    }

    fn at(scene: Scene, marks: &[What], change: impl FnOnce(&mut Camera)) -> Look {
        let scene = marks.iter().fold(scene, |scene, what| scene.on(POSITION, what.clone()));
        let shot = scene.seen(change).shot();
        let survey = shot.survey();
        Look { fibre: fibre(&survey, POSITION).clone(), matrix: survey.poses[0].matrix, shot }
    }

    fn shot(&self) -> survey::Shot<'_> {
        survey::Shot {
            frame: &self.shot.frame,
            centre: self.fibre.centre_px,
            matrix: self.matrix,
            diameter: self.fibre.diameter,
            blur: self.fibre.blur,
            core_light: self.fibre.core_light,
            features: &self.fibre.features,
        }
    }

    /// What is told of the mark nearest to a place: above 0 the other picture lacks it.
    fn odds(&self, lacks: &[Lacks], at: (f64, f64)) -> Option<f64> {
        self.lacks(lacks, at).odds()
    }

    fn lacks(&self, lacks: &[Lacks], at: (f64, f64)) -> Lacks {
        let far = |f: &Feature| (f.centre.x - at.0).hypot(f.centre.y - at.1);
        let pairs = self.fibre.features.iter().zip(lacks);
        let (mark, lacks) = pairs.min_by(|a, b| far(a.0).total_cmp(&far(b.0))).unwrap();
        assert!(far(mark) < 2.0, "no mark near {at:?}");
        *lacks
    }
}

fn held(before: &Look, after: &Look) -> Held {
    survey::held(&before.shot(), &after.shot()).unwrap()
}

fn near(spots: &[Spot], at: (f64, f64)) -> Vec<&Spot> {
    spots.iter().filter(|s| (s.centre.x - at.0).hypot(s.centre.y - at.1) < 2.0).collect()
}

/// What stays comes first, so that it looks alike in both.
fn staying() -> Vec<What> {
    let path_um = vec![(-50.0, -20.0), (40.0, -35.0)];
    vec![
        particle((-20.0, 15.0), 8.0, -0.5),
        What::Scratch { path_um, width_um: 1.5, contrast: -0.2, broken: 0.0 },
        What::Droplet { at: (5.0, 42.0), size_um: 12.0, contrast: -0.4, rim_um: 1.2 },
    ]
}

#[test]
fn what_stays_differs_nowhere_in_another_light_and_focus() {
    let (before, after) = (Look::new(&staying(), |_| ()), Look::new(&staying(), otherwise));
    let held = held(&before, &after);
    assert_eq!((held.gone, held.come), (vec![], vec![]));
    for at in [(-20.0, 15.0), (5.0, 42.0)] {
        for odds in [before.odds(&held.before, at), after.odds(&held.after, at)] {
            assert!(odds.is_some_and(|odds| odds < -3.0), "{at:?}: {odds:?}");
        }
    }
}

#[test]
fn what_stays_differs_nowhere_in_a_much_softer_picture() {
    let soft = |c: &mut Camera| c.blur_um = 1.2;
    let sharp = || [staying(), vec![particle((25.0, 10.0), 12.0, -0.6)]].concat();
    let (before, after) = (Look::new(&sharp(), |c| c.blur_um = 0.4), Look::new(&sharp(), soft));
    let held = held(&before, &after);
    assert_eq!((held.gone, held.come), (vec![], vec![]));
}

#[test]
fn what_went_and_what_came_is_known_from_the_pixels() {
    let (went, came) = ((30.0, 20.0), (-35.0, -30.0));
    let with = |what| [staying(), vec![what]].concat();
    let before = Look::new(&with(particle(went, 6.0, -0.5)), |_| ());
    let after = Look::new(&with(particle(came, 4.0, -0.4)), otherwise);
    let held = held(&before, &after);
    assert!(before.odds(&held.before, went).unwrap() > 3.0 && after.odds(&held.after, came).unwrap() > 3.0);
    for (spots, at, size) in [(&held.gone, went, 6.0), (&held.come, came, 4.0)] {
        assert_eq!(spots.len(), 1, "{spots:?}");
        let spot = near(spots, at)[0];
        assert!((spot.size.0 - size).abs() < 1.5 && spot.contrast < -0.2, "{spot:?}");
    }
}

/// A droplet is a rim about a clean inside: no filled mark tells it.
#[test]
fn a_droplet_that_went_is_known_by_its_rim() {
    let at = (30.0, 20.0);
    let droplet = What::Droplet { at, size_um: 12.0, contrast: -0.35, rim_um: 1.2 };
    let before = Look::new(&[staying(), vec![droplet]].concat(), |_| ());
    let after = Look::new(&staying(), otherwise);
    let held = held(&before, &after);
    assert!(before.odds(&held.before, at).unwrap() > 1.4, "{held:?}");
}

/// Two that touch are told as one mark in the first picture, of which one half goes.
#[test]
fn of_two_marks_that_touch_the_one_that_went_is_found() {
    let (stays, goes) = ((-20.0, 15.0), (-14.0, 15.0));
    let before = Look::new(&[staying(), vec![particle(goes, 7.0, -0.5)]].concat(), |_| ());
    let after = Look::new(&staying(), otherwise);
    let lumps = before.fibre.features.iter().filter(|f| (f.centre.y - 15.0).abs() < 4.0 && f.centre.x < 0.0);
    assert_eq!(lumps.count(), 1);
    let held = held(&before, &after);
    assert_eq!((held.gone.len(), held.come.len()), (1, 0), "{held:?}");
    assert_eq!(near(&held.gone, goes).len(), 1, "{:?}", held.gone);
    assert!(near(&held.gone, stays).is_empty());
}

/// A wide mark whose middle the noise breaks up is one spot, not one for each of its pieces.
#[test]
fn a_faint_wide_mark_that_went_is_one_spot() {
    let at = (-10.0, 30.0);
    let wide = What::Smear { at, size_um: 16.0, contrast: -0.13, rim_um: 1.0 };
    let before = Look::new(&[wide], |c| c.signal_to_noise = 25.0);
    let after = Look::new(&[], |c| {
        otherwise(c);
        c.signal_to_noise = 25.0;
    });
    let gone = held(&before, &after).gone;
    assert_eq!(gone.len(), 1, "{}", gone.len());
}

/// A core that is lit in one picture only is no mark of either.
#[test]
fn a_core_that_was_lit_is_no_change() {
    let at = (12.0, 5.0);
    let marks = [staying(), vec![particle(at, 5.0, -0.6)]].concat();
    for plan in [FacePlan::default(), single_mode()] {
        let with = |cores| Scene::of("mpo-12", FacePlan { cores, ..plan.clone() });
        let dark = |marks: &[What]| Look::at(with(Cores::Dark), marks, otherwise);
        let (before, after) = (Look::at(with(Cores::Lit), &marks, |_| ()), dark(&staying()));
        let held = held(&before, &after);
        assert!(held.come.is_empty(), "{held:?}");
        assert_eq!(near(&held.gone, at).len(), held.gone.len(), "{held:?}");
        assert!(before.odds(&held.before, at).unwrap() > 3.0, "{held:?}");
        let held = self::held(&before, &dark(&marks));
        assert_eq!((&held.gone, &held.come), (&vec![], &vec![]));
        assert!(before.odds(&held.before, at).unwrap() < -3.0, "{held:?}");
    }
}

/// A centre that was fitted beside the true one is found again, or all edges of what stayed would come and go.
#[test]
fn a_centre_that_lies_off_is_set_right() {
    let sharp = || [staying(), vec![particle((25.0, 10.0), 12.0, -0.6)]].concat();
    let (before, after) = (Look::new(&sharp(), |_| ()), Look::new(&sharp(), |c| c.seed = 9));
    let (on, um_per_px) = (after.shot(), after.shot.camera.um_per_px);
    let centre = terms::Point::new(on.centre.x + 0.3 / um_per_px, on.centre.y - 0.2 / um_per_px);
    let held = survey::held(&before.shot(), &survey::Shot { centre, ..on }).unwrap();
    assert_eq!((held.gone, held.come), (vec![], vec![]));
}

/// A fibre that one picture cuts is not compared.
#[test]
fn what_one_picture_cuts_is_not_held_against_the_other() {
    let look = Look::new(&staying(), |_| ());
    let cut = survey::Shot { centre: terms::Point::new(20.0, look.fibre.centre_px.y), ..look.shot() };
    assert!(survey::held(&look.shot(), &cut).is_none());
    for matrix in [[[0.0; 2]; 2], [[f64::NAN; 2]; 2], [[1e9, 0.0], [0.0, 1e9]]] {
        assert!(survey::held(&look.shot(), &survey::Shot { matrix, ..look.shot() }).is_none(), "{matrix:?}");
    }
}

/// A scratch is held piece by piece: one that came is known however faint, one that stays, too.
#[test]
fn a_scratch_that_came_is_known_and_one_that_stays() {
    for (seed, width_um, contrast) in [(1, 2.0, -0.3), (2, 1.2, -0.2), (3, 3.5, -0.13)] {
        let new = What::Scratch {
            path_um: vec![(-45.0, 12.0), (0.0, 22.0), (40.0, 24.0)],
            width_um,
            contrast,
            broken: 0.0,
        };
        let before = Look::new(&staying(), |c| c.seed = seed);
        let after = Look::new(&[staying(), vec![new]].concat(), otherwise);
        let held = held(&before, &after);
        let of = |look: &Look, lacks: &[Lacks], above: bool| {
            let scratches =
                look.fibre.features.iter().zip(lacks).filter(|(f, _)| f.kind == terms::Kind::Scratch);
            let found: Vec<Option<f64>> = scratches
                .filter(|(f, _)| (f.centre.y > 0.0) == above)
                .map(|(_, lacks)| lacks.odds())
                .collect();
            assert!(!found.is_empty(), "{:?}", look.fibre.features);
            found
        };
        // Of one that is told in parts one is sure, and none says the other thing.
        let came = of(&after, &held.after, true);
        let surely = came.iter().flatten().any(|odds| *odds > 4.6);
        assert!(surely && came.iter().flatten().all(|odds| *odds > 0.0), "{width_um} {contrast}: {came:?}");
        for stays in [of(&before, &held.before, false), of(&after, &held.after, false)] {
            assert!(stays.iter().all(|odds| odds.is_none_or(|odds| odds < 0.0)), "{stays:?}");
        }
    }
}

/// What came or went shows its border between the pictures, be it faint and bright or a rim; light that bends does
/// not, nor does what stays.
#[test]
fn a_border_that_went_is_known_from_light_that_bends() {
    let (bright, rim, soft, stays) = ((28.0, 22.0), (-42.0, -2.0), (35.0, -12.0), (-20.0, 15.0));
    let went = vec![
        particle(bright, 12.0, 0.12),
        What::Droplet { at: rim, size_um: 14.0, contrast: -0.2, rim_um: 1.7 },
        What::Smear { at: soft, size_um: 22.0, contrast: -0.1, rim_um: 5.5 },
    ];
    let before = Look::new(&[staying(), went].concat(), |_| ());
    let after = Look::new(&staying(), otherwise);
    let held = held(&before, &after);
    for at in [bright, rim] {
        let lacks = before.lacks(&held.before, at);
        assert!(matches!(lacks, Lacks::Bordered(odds) if odds > 3.0), "{at:?} {lacks:?}");
    }
    for at in [soft, stays] {
        let lacks = before.lacks(&held.before, at);
        assert!(!matches!(lacks, Lacks::Bordered(_)), "{at:?} {lacks:?}");
    }
}

/// What a wide mark bounds has no border of its own: clean glass between films is as sharp as they are.
#[test]
fn a_border_that_is_another_marks_says_nothing() {
    let at = (28.0, 18.0);
    let before = Look::new(&[staying(), vec![particle(at, 14.0, -0.2)]].concat(), |_| ());
    let after = Look::new(&staying(), otherwise);
    let alone = held(&before, &after);
    assert!(matches!(before.lacks(&alone.before, at), Lacks::Bordered(_)), "{alone:?}");
    let place = |f: &Feature| (f.centre.x - at.0).hypot(f.centre.y - at.1) < 2.0;
    let mark = before.fibre.features.iter().find(|f| place(f)).unwrap();
    for (size, bordered) in [(14.0, false), (5.0, true)] {
        let other = Feature { id: terms::FeatureId(999), size: terms::Um(size), ..mark.clone() };
        let features = [mark.clone(), other];
        let held =
            survey::held(&survey::Shot { features: &features, ..before.shot() }, &after.shot()).unwrap();
        assert_eq!(matches!(held.before[0], Lacks::Bordered(_)), bordered, "{size} {held:?}");
    }
}

/// A mark over the edge is held by what of its border lies on the glass that is compared.
#[test]
fn a_border_that_runs_off_the_glass_counts_as_far_as_it_shows() {
    let at = (0.0, 53.7);
    let droplet = What::Droplet { at, size_um: 14.0, contrast: -0.25, rim_um: 1.2 };
    let before = Look::new(&[droplet], |_| ());
    let after = Look::new(&[], otherwise);
    let held = held(&before, &after);
    let lacks = before.lacks(&held.before, at);
    assert!(matches!(lacks, Lacks::Bordered(_)), "{lacks:?}");
}
