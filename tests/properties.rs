//! What must hold of the grader whatever is on a fibre: tried on marks and criteria drawn by chance from a fixed seed
//! (method: Claessen and Hughes, QuickCheck, 2000).

use grade::{Acceptance, Allowed, Criteria, Risk, Verdict, grade_marks};
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use terms::{Feature, FeatureId, Kind, Point, Reach, Um};

/// Runs a property on many cases, always the same ones.
fn holds<S: Strategy>(strategy: &S, property: impl Fn(S::Value)) {
    let config = Config { cases: 1500, failure_persistence: None, ..Config::default() };
    let random = TestRng::from_seed(RngAlgorithm::ChaCha, &[7; 32]);
    let tried = TestRunner::new_with_rng(config, random).run(strategy, |value| {
        property(value);
        Ok(())
    });
    tried.unwrap_or_else(|fault| panic!("{fault}"));
}

fn kind() -> impl Strategy<Value = Kind> {
    prop_oneof![
        Just(Kind::Scratch),
        Just(Kind::Particle),
        Just(Kind::Pit),
        Just(Kind::Film),
        Just(Kind::Chip)
    ]
}

/// A mark anywhere on the glass. Sizes are often exactly those at which limits stand.
fn mark() -> impl Strategy<Value = Feature> {
    let size = prop_oneof![
        0.1..40.0,
        prop_oneof![Just(2.0), Just(3.0), Just(4.0), Just(5.0), Just(10.0), Just(25.0)]
    ];
    let place = (0.0..65.0, 0.0..std::f64::consts::TAU);
    (kind(), size, place, 0.01..1.0, 0.0..1.0f64).prop_map(|(kind, size, (radius, angle), u, contrast)| {
        let half = size / 2.0;
        Feature {
            id: FeatureId(0),
            kind,
            size: Um(size),
            u: Um(u),
            length: Um(size * if kind == Kind::Scratch { 10.0 } else { 1.0 }),
            centre: Point::new(radius * f64::cos(angle), radius * f64::sin(angle)),
            contrast: -contrast,
            reach: Reach { inner: Um(f64::max(radius - half, 0.0)), outer: Um(radius + half) },
            outline: vec![],
        }
    })
}

/// Up to a dozen marks, numbered.
fn marks() -> impl Strategy<Value = Vec<Feature>> {
    prop::collection::vec(mark(), 0..12).prop_map(|mut marks| {
        for (id, mark) in (1..).zip(&mut marks) {
            mark.id = FeatureId(id);
        }
        marks
    })
}

fn criteria() -> impl Strategy<Value = Criteria> {
    let all: Vec<Criteria> =
        profile::criteria_ids().iter().map(|id| profile::criteria(id).unwrap().criteria).collect();
    assert!(all.len() >= 8);
    prop::sample::select(all)
}

/// Better first.
fn rank(verdict: Verdict) -> u8 {
    match verdict {
        Verdict::Pass => 0,
        Verdict::Ungraded => 1,
        Verdict::Fail => 2,
    }
}

fn verdict(marks: &[Feature], criteria: &Criteria) -> Verdict {
    grade_marks(1, marks, criteria, Acceptance::Simple).verdict
}

#[test]
fn another_mark_never_makes_a_verdict_better() {
    holds(&(marks(), mark(), criteria()), |(mut marks, more, criteria)| {
        let before = verdict(&marks, &criteria);
        marks.push(Feature { id: FeatureId(99), ..more });
        assert!(rank(verdict(&marks, &criteria)) >= rank(before), "{marks:?}");
    });
}

/// Larger where it lies, into all that it reached before.
#[test]
fn a_mark_that_grows_never_turns_a_fail_into_a_pass() {
    holds(&(marks(), 0.0..10.0, criteria()), |(mut marks, growth, criteria)| {
        let before = verdict(&marks, &criteria);
        for mark in &mut marks {
            mark.size = Um(mark.size.0 + growth);
            let reach = mark.reach;
            mark.reach = Reach {
                inner: Um(f64::max(reach.inner.0 - growth / 2.0, 0.0)),
                outer: Um(reach.outer.0 + growth / 2.0),
            };
        }
        assert!(before != Verdict::Fail || verdict(&marks, &criteria) != Verdict::Pass, "{marks:?}");
    });
}

/// Every number allowed is drawn again, none of them higher.
fn stricter(criteria: &Criteria, draws: &[u32]) -> Criteria {
    let mut strict = criteria.clone();
    let bands = strict.rules.iter_mut().flat_map(|rule| &mut rule.bands);
    for (band, &draw) in bands.zip(draws.iter().cycle()) {
        band.allowed = match band.allowed {
            Allowed::Any if draw % 2 == 0 => Allowed::AtMost(draw),
            Allowed::AtMost(most) => Allowed::AtMost(most.min(draw)),
            as_it_is => as_it_is,
        };
    }
    strict
}

#[test]
fn stricter_criteria_never_pass_more() {
    let draws = prop::collection::vec(0u32..12, 1..20);
    holds(&(marks(), draws, criteria()), |(marks, draws, criteria)| {
        let strict = stricter(&criteria, &draws);
        assert!(rank(verdict(&marks, &strict)) >= rank(verdict(&marks, &criteria)), "{marks:?} {draws:?}");
    });
}

#[test]
fn the_order_of_marks_and_the_turn_of_the_fibre_change_nothing() {
    holds(&(marks(), 0.0..std::f64::consts::TAU, any::<bool>(), criteria()), |(marks, turn, mirror, by)| {
        let turned = |mark: &Feature| {
            let (x, y) = (if mirror { -mark.centre.x } else { mark.centre.x }, mark.centre.y);
            let (sin, cos) = f64::sin_cos(turn);
            Feature { centre: Point::new(x * cos - y * sin, x * sin + y * cos), ..mark.clone() }
        };
        let other: Vec<Feature> = marks.iter().rev().map(turned).collect();
        let [one, other] = [marks, other].map(|m| grade_marks(1, &m, &by, Acceptance::Simple));
        assert_eq!(one.verdict, other.verdict);
        let told = |grade: &grade::FibreGrade| {
            let findings = grade.findings.iter();
            findings.map(|f| (f.zone.clone(), f.rule.clone(), f.verdict, f.counted.len())).collect::<Vec<_>>()
        };
        assert_eq!(told(&one), told(&other));
    });
}

#[test]
fn a_guard_band_never_passes_more_and_a_smaller_risk_never_more_than_a_larger() {
    holds(&(marks(), 0.001..0.5, 0.001..0.5, criteria()), |(marks, one, other, criteria)| {
        let by = |acceptance| rank(grade_marks(1, &marks, &criteria, acceptance).verdict);
        let guarded = |risk: f64| by(Acceptance::Guarded(Risk::new(risk).unwrap()));
        assert!(guarded(one) >= by(Acceptance::Simple), "{marks:?}");
        assert!(guarded(f64::min(one, other)) >= guarded(f64::max(one, other)), "{marks:?}");
    });
}
