//! Off the fibres: guide holes and pins, and marks on the ferrule.

use crate::scene::{Scene, Shot};
use synth::{FacePlan, Form, GuideLook, Spot, What};
use terms::{FaceMark, Guides, Survey};

/// Guide holes and all, at 1 um per pixel.
fn wide(guides: GuideLook, seed: u64, debris: &[What]) -> Shot {
    let plan = FacePlan { guides, seed, ..FacePlan::default() };
    let mut scene = Scene::of("mpo-12", plan).at(1.0).strip(1350.0, 420.0);
    for what in debris {
        scene = scene.off(what.clone());
    }
    scene.shot()
}

fn debris(at: Spot, size_um: f64, contrast: f64) -> What {
    What::Particle { at, size_um, contrast, form: Form::Rounded }
}

/// Grains reach this size, um. On one face in twelve the largest of them may be called a mark.
const GRAIN: f64 = 20.0;

/// The marks of a picture that no grain explains.
fn debris_seen(survey: &Survey) -> Vec<&FaceMark> {
    survey.face_marks.iter().filter(|m| m.size.0 > GRAIN).collect()
}

/// Clean faces: holes and pins are told apart and give the scale, and nothing lies on the ferrule, its grain
/// and the holes' bevels included.
#[test]
fn holes_and_pins_are_told_apart_and_a_clean_ferrule_has_no_mark() {
    for seed in [1, 2, 3] {
        let mut grains = 0;
        for (look, guides) in [(GuideLook::Open, Guides::Holes), (GuideLook::Pins, Guides::Pins)] {
            let survey = wide(look, seed, &[]).survey();
            assert_eq!(survey.guides, guides, "face {seed}");
            let spacing = survey.scale_checks.guides.unwrap();
            assert!((spacing - 1.0).abs() < 0.002, "face {seed}, {guides:?}: {spacing}");
            assert!(debris_seen(&survey).is_empty(), "face {seed}, {guides:?}: {:?}", survey.face_marks);
            grains += survey.face_marks.len();
        }
        // Both looks of a face have the same grains.
        assert!(grains <= 2, "face {seed}: {grains}");
    }
    let strip = Scene::new("mpo-12").at(1.0).strip(120.0, 110.0).shot().survey();
    assert_eq!((strip.guides, strip.scale_checks.guides), (Guides::NotInView, None));
}

/// What debris on the ferrule must be told as; sizes are known to two of the 2.5 um pixels that are looked at.
#[test]
fn debris_on_the_ferrule_is_told_with_its_place_and_size() {
    let cases = [
        ((-500.0, 10.0), 40.0, -0.8, false),
        ((250.0, 120.0), 60.0, -0.8, false),
        ((750.0, -130.0), 80.0, 0.7, false),
        ((2300.0, 405.0), 50.0, -0.8, true),
        ((-1895.0, 0.0), 40.0, -0.8, true),
    ];
    for look in [GuideLook::Open, GuideLook::Pins] {
        let strewn: Vec<What> = cases.iter().map(|c| debris(c.0, c.1, c.2)).collect();
        let survey = wide(look, 1, &strewn).survey();
        let seen = debris_seen(&survey);
        assert_eq!(seen.len(), cases.len(), "{look:?}: {seen:?}");
        for (at, size, contrast, at_guide) in cases {
            let near = |m: &&&FaceMark| (m.centre.x - at.0).hypot(m.centre.y - at.1) < 5.0;
            let mark = seen.iter().find(near).unwrap_or_else(|| panic!("{look:?}, {at:?}: {seen:?}"));
            assert!((mark.size.0 - size).abs() < 5.0, "{look:?}, {at:?}: {mark:?}");
            assert!(mark.contrast * contrast > 0.0 && mark.at_guide == at_guide, "{look:?}: {mark:?}");
        }
    }
}

/// A crumb on a bevel is told, though its part over the hole is not measured.
#[test]
fn a_crumb_on_the_bevel_is_told() {
    let survey = wide(GuideLook::Open, 1, &[debris((-1920.0, 0.0), 40.0, -0.8)]).survey();
    let [mark] = debris_seen(&survey)[..] else { panic!("{:?}", survey.face_marks) };
    assert!(mark.at_guide && (mark.centre.x + 1920.0).hypot(mark.centre.y) < 10.0, "{mark:?}");
}
