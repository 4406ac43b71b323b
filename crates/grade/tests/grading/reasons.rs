//! The sentences of grading, as a user reads them.

use crate::faces::{feature, fibre, lone, with};
use crate::rules::{band, criteria};
use grade::{Allowed, Band, Criteria, Subject, grade};
use terms::{Feature, Kind, Um};

fn sentences(features: Vec<Feature>, criteria: &Criteria) -> Vec<String> {
    let array = grade(&with(features), criteria);
    array.positions[0].reasons.iter().map(|reason| format!("{}: {}", reason.code, reason.text)).collect()
}

#[test]
fn a_broken_rule_says_what_where_how_large_and_against_which_limit() {
    let scratch = |width| feature(Kind::Scratch, width, 2.0, 40.0);
    let in_a = |kind, size| feature(kind, size, 2.0, 9.0);
    let criteria = criteria();
    assert_eq!(
        sentences(vec![scratch(3.4), scratch(4.24)], &criteria),
        ["too-large: 2 scratches over 3 um wide in zone A, none allowed (widest 4.2 um)"]
    );
    assert_eq!(
        sentences(vec![scratch(1.0), scratch(1.5), scratch(2.0)], &criteria),
        ["too-many: 3 scratches up to 3 um wide in zone A, at most 2 allowed (widest 2.0 um)"]
    );
    assert_eq!(
        sentences(vec![in_a(Kind::Pit, 12.34)], &criteria),
        ["too-large: 1 pit over 5 um in zone A, none allowed (12.3 um)"]
    );
    let many =
        [Kind::Particle, Kind::Pit, Kind::Particle, Kind::Film, Kind::Chip].map(|kind| in_a(kind, 3.0));
    assert_eq!(
        sentences(many.to_vec(), &criteria),
        ["too-many: 5 defects (2 particles, 1 pit, 1 film, 1 chip) up to 5 um in zone A, at most 4 allowed \
          (largest 3.0 um)"]
    );
}

#[test]
fn none_of_any_size_leaves_the_size_out_of_the_rule() {
    let mut strict = criteria();
    strict.rules[1].bands = vec![band(0.0, None, Allowed::AtMost(0))];
    assert_eq!(
        sentences(vec![feature(Kind::Particle, 0.8, 1.0, 2.0)], &strict),
        ["too-many: 1 particle in zone A, none allowed (0.8 um)"]
    );
}

#[test]
fn every_broken_rule_has_its_sentence() {
    let marks = vec![feature(Kind::Scratch, 7.0, 20.0, 40.0), feature(Kind::Pit, 6.0, 1.0, 7.0)];
    assert_eq!(
        sentences(marks, &criteria()),
        [
            "too-large: 1 pit over 5 um in zone A, none allowed (6.0 um)",
            "too-large: 1 scratch over 6 um wide in zone B, none allowed (7.0 um)",
        ]
    );
}

#[test]
fn a_size_next_to_a_limit_is_shown_on_its_own_side_of_it() {
    let pit = |size| feature(Kind::Pit, size, 2.0, 9.0);
    for (size, shown) in [(5.04, "5.04 um"), (5.0004, "5.0004 um"), (5.06, "5.1 um")] {
        let due = format!("too-large: 1 pit over 5 um in zone A, none allowed ({shown})");
        assert_eq!(sentences(vec![pit(size)], &criteria()), [due]);
    }
}

#[test]
fn an_undecided_band_says_that_the_criteria_are_silent() {
    assert_eq!(
        sentences(vec![feature(Kind::Scratch, 4.0, 20.0, 50.0)], &criteria()),
        [
            "undecided-by-criteria: 1 scratch over 3 and up to 6 um wide in zone B: the criteria do not decide this \
          band (4.0 um); grade by criteria that do"
        ]
    );
}

#[test]
fn a_picture_that_is_not_sharp_enough_says_both_figures() {
    let of = |smallest_visible, blur| {
        let soft = terms::Fibre { smallest_visible: Um(smallest_visible), blur: Um(blur), ..fibre(vec![]) };
        grade(&lone(soft), &criteria()).positions[0].reasons[0].text.clone()
    };
    let due = "the smallest mark that would be seen here is 3.4 um, and these criteria need marks of 2 um to be \
               seen; take a sharper picture";
    assert_eq!(of(3.41, 0.5), due);
    assert!(of(2.01, 0.5).contains("is 2.01 um, and these criteria need marks of 2 um"), "{}", of(2.01, 0.5));
    assert!(of(1.0, 2.5).starts_with("the picture is blurred by 2.5 um here, and"), "{}", of(1.0, 2.5));
    assert!(of(f64::INFINITY, 0.5).contains("is not known"), "{}", of(f64::INFINITY, 0.5));
}

#[test]
fn bands_read_as_they_compare() {
    let ends = |low, low_included, high, high_included| Band {
        low: Um(low),
        low_included,
        high,
        high_included,
        ..band(0.0, None, Allowed::Any)
    };
    let five = Some(Um(5.0));
    for (band, words, inside, outside) in [
        (ends(0.0, true, None, false), "defects of any size", 0.0, -1.0),
        (ends(0.0, true, five, true), "defects up to 5 um", 5.0, 5.1),
        (ends(0.0, true, five, false), "defects under 5 um", 4.9, 5.0),
        (ends(2.25, true, None, false), "defects of 2.25 um or more", 2.25, 2.24),
        (ends(2.25, false, None, false), "defects over 2.25 um", 2.26, 2.25),
        (ends(2.0, true, five, true), "defects of 2 to 5 um", 2.0, 5.1),
        (ends(2.0, true, five, false), "defects from 2 to under 5 um", 2.0, 5.0),
        (ends(2.0, false, five, true), "defects over 2 and up to 5 um", 5.0, 2.0),
        (ends(2.0, false, five, false), "defects over 2 and under 5 um", 3.0, 5.0),
    ] {
        assert_eq!(band.words(Subject::Defects), words);
        assert!(band.holds(Um(inside)) && !band.holds(Um(outside)), "{words}");
        assert!(!band.holds(Um(f64::NAN)));
    }
    assert_eq!(ends(2.0, true, five, true).words(Subject::Scratches), "scratches 2 to 5 um wide");
    assert_eq!(ends(0.0, true, None, false).words(Subject::Scratches), "scratches of any width");
}
