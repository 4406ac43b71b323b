//! What keeps a fibre from being graded is said as what it is.

use crate::scene::{Change, Scene, fibre, missing};
use synth::{FacePlan, Form, What};
use terms::{Flaw, Survey};

/// The codes of every fibre's flaws, the same for all twelve.
fn common_codes(survey: &Survey) -> Vec<&'static str> {
    assert_eq!(missing(survey), []);
    let codes = |position| fibre(survey, position).flaws.iter().map(Flaw::code).collect::<Vec<_>>();
    let first = codes(1);
    for position in 2..=12 {
        assert_eq!(codes(position), first, "position {position}");
    }
    first
}

#[test]
fn a_picture_unfit_as_a_whole_says_why_at_every_fibre() {
    let cases: [(&str, Change, &[&str]); 8] = [
        ("bright and sound", |c| c.exposure = 0.85, &[]),
        ("overexposed", |c| c.exposure = 1.2, &["saturated"]),
        ("dark", |c| (c.exposure, c.signal_to_noise) = (0.03, 3.0), &["too-dark"]),
        ("soft and sound", |c| c.blur_um = 1.4, &[]),
        ("blurred", |c| c.blur_um = 2.5, &["blurred"]),
        ("blurred beyond any edge", |c| c.blur_um = 5.0, &["blurred"]),
        ("moved a little", |c| (c.smear_um, c.smear_deg) = (7.0, 30.0), &["smeared"]),
        ("moved", |c| (c.smear_um, c.smear_deg) = (10.0, 90.0), &["smeared"]),
    ];
    for (name, change, codes) in cases {
        let survey = Scene::new("mpo-12").seen(change).shot().survey();
        assert_eq!(common_codes(&survey), codes, "{name}");
        let all: Vec<&str> = survey.quality.flaws.iter().map(Flaw::code).collect();
        assert_eq!(all, codes, "{name}");
        assert_eq!(survey.quality.smallest_visible.is_some(), codes.is_empty(), "{name}");
    }
}

/// A picture too dark to see marks on, however noisy, tells none.
#[test]
fn noise_makes_no_marks_in_the_dark() {
    let survey = Scene::new("mpo-12").seen(|c| (c.exposure, c.signal_to_noise) = (0.03, 3.0)).shot().survey();
    assert!((1..=12).all(|p| fibre(&survey, p).features.is_empty()));
}

#[test]
fn the_border_cuts_one_fibre_and_hides_the_next() {
    // The picture begins with bare ferrule, so that it is clear which fibre is first, and ends 20 um right of
    // the middle of fibre 11.
    let survey = Scene::new("mpo-12")
        .seen(|c| {
            let right = 1125.0 + 20.0;
            let left = -1375.0 - 350.0;
            c.middle_um = (0.5 * (left + right), 0.0);
            c.width_px = ((right - left) / c.um_per_px) as usize;
        })
        .shot()
        .survey();
    let lost = missing(&survey);
    let [(11, Flaw::CutByBorder { visible }), (12, Flaw::NotInView)] = lost[..] else { panic!("{lost:?}") };
    // A circle of radius 62.5 shows 0.5 + (asin t + t sqrt(1 - t^2)) / pi of itself, t = 20 / 62.5.
    let t: f64 = 20.0 / 62.5;
    let share = 0.5 + (t.asin() + t * (1.0 - t * t).sqrt()) / std::f64::consts::PI;
    assert!((visible - share).abs() < 0.02, "{visible}, truly {share}");
    assert!((1..=10).all(|p| fibre(&survey, p).flaws.is_empty()));
}

fn blob(at: (f64, f64), size_um: f64) -> What {
    What::Particle { at, size_um, contrast: -0.75, form: Form::Disc }
}

#[test]
fn a_fibre_under_a_blob_is_missing_and_its_neighbours_are_not() {
    let survey = Scene::new("mpo-12").on(5, blob((0.0, 0.0), 230.0)).shot().survey();
    let lost = missing(&survey);
    assert!(matches!(lost[..], [(5, Flaw::NotFound | Flaw::Hidden { .. })]), "{lost:?}");
    assert!((1..=12).filter(|p| *p != 5).all(|p| fibre(&survey, p).flaws.is_empty()));
}

#[test]
fn a_fibre_half_under_a_blob_is_hidden() {
    for (side, size) in [(45.0, 170.0), (-45.0, 170.0)] {
        // A disc of 170 um, 45 um off, leaves the edge free beyond 103 degrees to either side: 0.43 of it.
        let survey = Scene::new("mpo-12").on(8, blob((side, 0.0), size)).shot().survey();
        let hidden = match &missing(&survey)[..] {
            [] => fibre(&survey, 8).flaws.clone(),
            [(8, flaw)] => vec![flaw.clone()],
            lost => panic!("{lost:?}"),
        };
        let [Flaw::Hidden { edge_seen }] = hidden[..] else { panic!("{side}: {hidden:?}") };
        assert!((0.33..0.48).contains(&edge_seen), "{side}: {edge_seen}");
    }
}

#[test]
fn empty_bores_hold_no_fibre() {
    let plan = FacePlan { empty: vec![3, 8], ..FacePlan::default() };
    let survey = Scene::of("mpo-12", plan).strip(120.0, 190.0).shot().survey();
    assert_eq!(missing(&survey), [(3, Flaw::NotFound), (8, Flaw::NotFound)]);
}

#[test]
fn the_middle_of_a_row_is_ambiguous_and_too_large_pixels_are_said() {
    let middle = Scene::new("mpo-12").seen(|c| c.width_px = 3200).shot().survey();
    assert!(missing(&middle).iter().all(|(_, flaw)| *flaw == Flaw::Ambiguous(terms::Ambiguity::NoEnd)));
    assert_eq!(missing(&middle).len(), 12);
    let coarse = Scene::new("mpo-12").at(1.4).strip(120.0, 110.0).shot().survey();
    let lost = missing(&coarse);
    assert_eq!(lost.len(), 12);
    for (_, flaw) in lost {
        assert!(matches!(flaw, Flaw::TooCoarse { um_per_px } if (um_per_px - 1.4).abs() < 0.005), "{flaw:?}");
    }
}
