//! Features whose size lies within its uncertainty of a limit that decides the verdict. The verdict is by
//! simple acceptance: JCGM 106:2012, a guard band of zero.

use crate::faces::{feature, with};
use crate::rules::criteria;
use grade::{Verdict, grade};
use terms::{Feature, Kind, Um};

fn pit(size: f64, u: f64) -> Feature {
    Feature { u: Um(u), ..feature(Kind::Pit, size, 2.0, 9.0) }
}

fn scratch(width: f64, u: f64) -> Feature {
    Feature { u: Um(u), ..feature(Kind::Scratch, width, 20.0, 50.0) }
}

/// Verdict, and numbers of the features near a deciding limit. Zone A allows 4 defects up to 5 um and none
/// over; zone B leaves scratches over 3 and up to 6 um undecided and allows none over.
fn near(features: Vec<Feature>) -> (Verdict, Vec<u32>) {
    let array = grade(&with(features), &criteria());
    let position = &array.positions[0];
    (position.verdict, position.near_limit.iter().map(|id| id.0).collect())
}

#[test]
fn a_size_within_its_uncertainty_of_the_limit_is_named() {
    // 4.8 um with u 0.3 um against none over 5 um: conformance probability Phi(0.667) = 0.75, doubtful.
    assert_eq!(near(vec![pit(4.8, 0.3)]), (Verdict::Pass, vec![1]));
    assert_eq!(near(vec![pit(5.2, 0.3)]), (Verdict::Fail, vec![1]));
    assert_eq!(near(vec![pit(4.6, 0.3)]), (Verdict::Pass, vec![]));
    assert_eq!(near(vec![pit(5.4, 0.3)]), (Verdict::Fail, vec![]));
    assert_eq!(near(vec![pit(4.75, 0.25)]), (Verdict::Pass, vec![]), "5 um itself is allowed");
    assert_eq!(near(vec![pit(5.25, 0.25)]), (Verdict::Fail, vec![1]));
}

#[test]
fn only_features_that_could_turn_the_verdict_are_named() {
    assert_eq!(
        near(vec![pit(4.8, 0.3), pit(9.0, 0.3)]),
        (Verdict::Fail, vec![]),
        "the other fails it anyway"
    );
    assert_eq!(near(vec![pit(5.2, 0.3), pit(1.0, 0.3), pit(5.1, 0.3)]), (Verdict::Fail, vec![1, 3]));
    let five = [pit(4.9, 0.3), pit(3.0, 0.3), pit(3.0, 0.3), pit(3.0, 0.3), pit(3.0, 0.3)];
    assert_eq!(near(five.to_vec()), (Verdict::Fail, vec![]), "too many stay too many at any of these sizes");
}

#[test]
fn undecided_bands_have_edges_too() {
    assert_eq!(near(vec![scratch(2.9, 0.2)]), (Verdict::Pass, vec![1]));
    assert_eq!(near(vec![scratch(3.1, 0.2)]), (Verdict::Ungraded, vec![1]));
    assert_eq!(near(vec![scratch(5.9, 0.2)]), (Verdict::Ungraded, vec![1]));
    assert_eq!(near(vec![scratch(4.5, 0.2)]), (Verdict::Ungraded, vec![]));
}

#[test]
fn the_smallest_counted_size_is_a_limit_as_well() {
    let mut lenient = criteria();
    lenient.counting.smallest_counted = Um(1.0);
    let mut marks = vec![pit(3.0, 0.1); 4];
    marks.push(pit(1.05, 0.1));
    let array = grade(&with(marks), &lenient);
    assert_eq!(array.verdict, Verdict::Fail);
    assert_eq!(array.positions[0].near_limit, [terms::FeatureId(5)]);
}

#[test]
fn a_size_near_a_limit_that_decides_nothing_is_not_named() {
    // Smaller by its uncertainty the one in zone B would not count at all, which no limit there minds.
    let mut lenient = criteria();
    lenient.counting.smallest_counted = Um(1.0);
    let beside = Feature { u: Um(0.1), ..feature(Kind::Pit, 1.05, 30.0, 31.0) };
    let array = grade(&with(vec![pit(5.2, 0.3), beside]), &lenient);
    assert_eq!(array.verdict, Verdict::Fail);
    assert_eq!(array.positions[0].near_limit, [terms::FeatureId(1)]);
}
