//! Probabilities of conformity and guard bands. The worked examples are those of JCGM 106:2012 (inputs from memory,
//! results recomputed); the rest follows by hand from the binomial and the normal distribution.

use crate::faces::{feature, with};
use crate::rules::criteria;
use grade::conformity::{at_most, probability_within};
use grade::{Acceptance, Criteria, Risk, Verdict, grade, grade_by};
use terms::normal::density;
use terms::{Feature, Kind, Um};

fn near(ours: f64, theirs: f64, tolerance: f64) {
    assert!((ours - theirs).abs() <= tolerance, "{ours} here, {theirs} there");
}

fn guarded(risk: f64) -> Acceptance {
    Acceptance::Guarded(Risk::new(risk).unwrap())
}

/// A breakdown voltage of -5.47 V, u = 0.05 V, against an upper limit of -5.40 V: 0.9192.
#[test]
fn one_upper_limit() {
    near(probability_within(-5.47, 0.05, f64::NEG_INFINITY, -5.40), 0.9192, 5e-5);
}

/// A speed limit of 100 km/h, u = 2 % of the value: above 106.59 km/h it is exceeded with probability 99.9 %.
#[test]
fn a_speed_that_is_surely_too_high() {
    let speed = 106.59;
    let band = guarded(0.001).guard_band(Um(0.02 * speed));
    near(speed - band.0, 100.0, 0.01);
    near(probability_within(speed, 0.02 * speed, 100.0, f64::INFINITY), 0.999, 1e-5);
}

/// Resistors, tolerance +-0.2 ohm, made with a standard deviation of 0.12 ohm and measured with 0.04 ohm: shares of
/// all that are accepted wrongly and rejected wrongly, by simple acceptance and with limits drawn in by 2 u.
#[test]
fn risks_of_a_process() {
    let (process, measured) = (0.12, 0.04);
    let risks = |limit: f64| {
        let step = 1e-4;
        let (mut consumer, mut producer) = (0.0, 0.0);
        for k in -10_000..10_000 {
            let value = (f64::from(k) + 0.5) * step;
            let share = density(value / process) / process * step;
            let accepted = probability_within(value, measured, -limit, limit);
            if value.abs() > 0.2 {
                consumer += share * accepted
            } else {
                producer += share * (1.0 - accepted)
            }
        }
        (consumer, producer)
    };
    near(1.0 - probability_within(0.0, process, -0.2, 0.2), 0.09558, 5e-6);
    let simple = risks(0.2);
    near(simple.0, 0.018_942, 2e-6);
    near(simple.1, 0.037_208, 2e-6);
    let drawn_in = risks(0.12);
    near(drawn_in.0, 0.000_469, 1e-6);
    near(drawn_in.1, 0.247_670, 2e-6);
}

/// 1.645 u for a risk of 5 %, 2 u for 2.28 %, nothing for one half.
#[test]
fn guard_bands_by_risk() {
    near(guarded(0.05).guard_band(Um(0.3)).0, 1.644_854 * 0.3, 1e-6);
    near(guarded(0.022_750_132).guard_band(Um(1.0)).0, 2.0, 1e-6);
    near(guarded(0.5).guard_band(Um(1.0)).0, 0.0, 1e-12);
    assert_eq!(Acceptance::Simple.guard_band(Um(0.3)), Um(0.0));
    assert_eq!([0.0, -0.1, 0.51, f64::NAN].map(Risk::new), [None; 4]);
}

#[test]
fn counts_of_events() {
    // Binomial: none, at most one of three with probability 0.2.
    near(at_most([0.2; 3].into_iter(), 0), 0.512, 1e-12);
    near(at_most([0.2; 3].into_iter(), 1), 0.512 + 3.0 * 0.2 * 0.64, 1e-12);
    near(at_most([0.1, 0.5].into_iter(), 1), 1.0 - 0.05, 1e-12);
    near(at_most([0.1, 0.5].into_iter(), 5), 1.0, 1e-12);
    near(at_most(std::iter::empty(), 0), 1.0, 1e-12);
}

fn pit(size: f64, u: f64) -> Feature {
    Feature { u: Um(u), ..feature(Kind::Pit, size, 2.0, 9.0) }
}

/// Verdict and probability that all limits are held.
fn judged(features: Vec<Feature>, criteria: &Criteria) -> (Verdict, f64) {
    let array = grade(&with(features), criteria);
    (array.verdict, array.positions[0].conformity.unwrap())
}

/// 4.8 um with u = 0.3 um against none over 5 um: Phi(0.667) = 0.7475. Zone A also allows at most 4 up to 5 um.
#[test]
fn a_defect_near_its_limit() {
    let (verdict, sure) = judged(vec![pit(4.8, 0.3)], &criteria());
    assert_eq!(verdict, Verdict::Pass);
    near(sure, 0.7475, 5e-5);
    let array = grade(&with(vec![pit(4.8, 0.3)]), &criteria());
    let over = array.positions[0].findings.iter().find(|f| f.rule == "defects over 5 um" && f.zone == "A");
    near(over.unwrap().conformity, 0.7475, 5e-5);
    let scratches = array.positions[0].findings.iter().find(|f| f.rule.starts_with("scratches"));
    near(scratches.unwrap().conformity, 1.0, 1e-12);
}

#[test]
fn defects_that_must_all_hold() {
    // Two alike: both below 5 um.
    near(judged(vec![pit(4.8, 0.3); 2], &criteria()).1, 0.747_507_f64.powi(2), 1e-5);
    // Five of which at most 4 may be up to 5 um and none above: it cannot be held, wherever the fifth is.
    let (verdict, sure) =
        judged(vec![pit(3.0, 0.1), pit(3.0, 0.1), pit(3.0, 0.1), pit(3.0, 0.1), pit(5.1, 0.3)], &criteria());
    assert_eq!(verdict, Verdict::Fail);
    near(sure, 0.0, 1e-12);
}

/// At most 4 from 1 um on: four large ones, and two near 1 um of which none may count.
#[test]
fn counts_near_the_smallest_counted_size() {
    let mut lenient = criteria();
    lenient.counting.smallest_counted = Um(1.0);
    let marks = [vec![pit(3.0, 0.1); 4], vec![pit(0.95, 0.1), pit(1.05, 0.1)]].concat();
    let (verdict, sure) = judged(marks, &lenient);
    assert_eq!(verdict, Verdict::Fail);
    // Phi(0.5) (1 - Phi(0.5)).
    near(sure, 0.691_462 * 0.308_538, 1e-5);
}

#[test]
fn sizes_that_are_exact_are_held_exactly() {
    assert_eq!(judged(vec![pit(5.0, 0.0)], &criteria()), (Verdict::Pass, 1.0));
    assert_eq!(judged(vec![pit(5.001, 0.0)], &criteria()), (Verdict::Fail, 0.0));
    assert_eq!(judged(vec![], &criteria()), (Verdict::Pass, 1.0));
    // At the limit with an uncertainty it is as likely above as below.
    near(judged(vec![pit(5.0, 0.2)], &criteria()).1, 0.5, 1e-9);
}

/// A scratch of 3.1 um in zone B lies in a band that the criteria do not decide.
#[test]
fn a_band_that_is_not_decided_is_not_held() {
    let scratch = Feature { u: Um(0.1), ..feature(Kind::Scratch, 3.1, 20.0, 50.0) };
    let (verdict, sure) = judged(vec![scratch], &criteria());
    assert_eq!(verdict, Verdict::Ungraded);
    near(sure, 0.158_655, 1e-6);
}

#[test]
fn what_is_not_measured_or_not_shown_has_no_probability() {
    let unknown = grade(&with(vec![pit(4.0, f64::NAN)]), &criteria());
    assert_eq!((unknown.verdict, unknown.positions[0].conformity), (Verdict::Ungraded, None));
    let hidden =
        terms::Fibre { flaws: crate::faces::every_flaw(), ..crate::faces::fibre(vec![pit(4.0, 0.1)]) };
    assert_eq!(grade(&crate::faces::lone(hidden), &criteria()).positions[0].conformity, None);
}

/// Against none over 5 um and a risk of 5 %, a size of u = 0.3 um is accepted up to 5 - 0.4935 um.
#[test]
fn a_guard_band_draws_the_limit_in() {
    let by = |size: f64, how: Acceptance| grade_by(&with(vec![pit(size, 0.3)]), &criteria(), how);
    assert_eq!(by(4.50, guarded(0.05)).verdict, Verdict::Pass);
    let refused = by(4.51, guarded(0.05));
    assert_eq!(refused.verdict, Verdict::Fail);
    let reasons = &refused.positions[0].reasons;
    assert!(reasons.iter().any(|r| r.code == "guard-band" && r.text.contains("95 %")), "{reasons:?}");
    assert_eq!(refused.acceptance, guarded(0.05));
    assert_eq!(by(4.99, Acceptance::Simple).verdict, Verdict::Pass);
    assert_eq!(by(4.99, guarded(0.5)).verdict, Verdict::Pass, "a risk of one half is simple acceptance");
    let plain = by(5.3, guarded(0.05));
    assert!(plain.positions[0].reasons.iter().all(|r| r.code != "guard-band"), "fails as measured as well");
}

/// At most 4 of 1 um and more: a fifth of 0.95 um counts if it may be 1 um.
#[test]
fn a_guard_band_draws_counts_in_as_well() {
    let mut lenient = criteria();
    lenient.counting.smallest_counted = Um(1.0);
    let marks = [vec![pit(3.0, 0.1); 4], vec![pit(0.95, 0.1)]].concat();
    assert_eq!(grade(&with(marks.clone()), &lenient).verdict, Verdict::Pass);
    assert_eq!(grade_by(&with(marks), &lenient, guarded(0.05)).verdict, Verdict::Fail);
    let far = [vec![pit(3.0, 0.1); 4], vec![pit(0.80, 0.1)]].concat();
    assert_eq!(grade_by(&with(far), &lenient, guarded(0.05)).verdict, Verdict::Pass);
}

/// What a guard band accepts, simple acceptance accepts.
#[test]
fn a_guard_band_never_accepts_more() {
    for k in 0..400 {
        let size = |n: i32| 0.4 + f64::from((k * 37 + n * 101) % 97) * 0.06;
        let marks: Vec<Feature> = (0..5).map(|n| pit(size(n), 0.05 + 0.1 * f64::from(n))).collect();
        let strict = grade_by(&with(marks.clone()), &criteria(), guarded(0.1)).verdict;
        let simple = grade(&with(marks), &criteria()).verdict;
        assert!(strict != Verdict::Pass || simple == Verdict::Pass, "{k}");
    }
}
