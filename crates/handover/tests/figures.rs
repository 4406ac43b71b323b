//! What stands out, and what chance alone brings forth.

use crate::made::{cable, connector, job};
use handover::Mating;
use handover::standouts::standouts;

/// Position 1 fails on six of eight connectors, the others never.
#[test]
fn a_position_that_fails_again_and_again_stands_out() {
    let looks = ["FPPPPPPPPPPP"; 6].into_iter().chain(["PPPPPPPPPPPP"; 2]);
    let found = standouts(&job(vec![cable("T", looks.map(|l| connector("A", &[l])).collect())]));
    assert!(found.positions[0].stands_out(), "{:?}", found.positions[0]);
    assert!(found.positions[1..].iter().all(|p| !p.stands_out()));
    assert_eq!((found.first_pass.count, found.first_pass.of), (2, 8));
    // Six connectors with one fail each among twelve: (1/12)^6.
    assert!((found.positions[0].p / (1.0f64 / 12.0).powi(6) - 1.0).abs() < 1e-9);
}

#[test]
fn wholly_dirty_faces_make_no_position_stand_out() {
    let looks = ["FFFFFFFFFFFF"; 10].into_iter().chain(["PPPPPPPPPPPP"; 10]);
    let found = standouts(&job(vec![cable("T", looks.map(|l| connector("A", &[l])).collect())]));
    assert!(found.positions.iter().all(|p| p.p > 0.99 && !p.stands_out()), "{:?}", found.positions[0]);
}

#[test]
fn only_the_first_inspection_tells_of_first_pass_and_positions() {
    let found = standouts(&job(vec![cable("T", vec![connector("A", &["FP", "PP"]), connector("B", &[])])]));
    assert_eq!((found.first_pass.count, found.first_pass.of), (0, 1));
    assert_eq!(found.positions[0].failed.count, 1);
}

#[test]
fn a_cord_whose_connectors_fail_stands_out_and_one_that_met_few_does_not() {
    let looks = |fails: usize, all: usize| (0..all).map(move |k| if k < fails { "FP" } else { "PP" });
    let connectors: Vec<_> =
        looks(9, 10).chain(looks(1, 10)).chain(looks(1, 1)).map(|l| connector("c", &[l])).collect();
    let mut made = job(vec![cable("T", connectors)]);
    let cord = |k: usize| ["R1", "R2", "R3"][k / 10];
    made.matings = (0..21).map(|k| Mating { connector: (0, k), cord: cord(k).to_owned() }).collect();
    // A second mating of the same pair is no second witness.
    made.matings.push(Mating { connector: (0, 0), cord: "R1".to_owned() });
    let found = standouts(&made);
    assert_eq!(found.cords.iter().map(|c| c.failed.of).collect::<Vec<_>>(), [10, 10, 1]);
    assert_eq!(found.cords.iter().map(|c| c.stands_out()).collect::<Vec<_>>(), [true, false, false]);
}

/// Four that met a cord and fail, six that met none and pass: one in 210 by chance (Fisher's exact test by hand,
/// 4! 6! / 10!). What was never looked at or not graded counts on neither side.
#[test]
fn those_that_met_no_cord_are_what_a_cord_is_held_to() {
    let looks = ["FP"; 4].into_iter().chain(["PP"; 6]).map(|l| vec![l]).chain([vec![], vec![], vec!["UU"]]);
    let connectors: Vec<_> = looks.map(|l| connector("c", &l)).collect();
    let mut made = job(vec![cable("T", connectors)]);
    made.matings = [0, 1, 2, 3, 10, 12].map(|k| Mating { connector: (0, k), cord: "R1".to_owned() }).to_vec();
    let found = &standouts(&made).cords[0];
    assert_eq!((found.failed.count, found.failed.of), (4, 4));
    assert!((found.p - 1.0 / 210.0).abs() < 1e-12 && found.stands_out(), "{found:?}");
}
