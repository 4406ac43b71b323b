//! Verdicts of positions and arrays: what fails, what stays ungraded, and that nothing else passes.

use crate::faces::{every_flaw, feature, fibre, lone, survey, with};
use crate::rules::criteria;
use grade::{Criteria, Verdict, grade};
use terms::{Feature, FeatureId, Fibre, Flaw, Kind, Look, Survey, Um};

/// Verdict and reason codes of the only position.
fn verdict_of(survey: &Survey, criteria: &Criteria) -> (Verdict, Vec<String>) {
    let array = grade(survey, criteria);
    let position = &array.positions[0];
    assert_eq!(array.verdict, position.verdict, "an array of one is its position");
    (position.verdict, position.reasons.iter().map(|reason| reason.code.clone()).collect())
}

#[test]
fn a_clean_fibre_passes_with_every_rule_told() {
    let array = grade(&with(vec![]), &criteria());
    assert_eq!(array.verdict, Verdict::Pass);
    assert!(array.reasons.is_empty() && array.positions[0].reasons.is_empty());
    let told: Vec<String> =
        array.positions[0].findings.iter().map(|f| format!("{}: {}, {}", f.zone, f.rule, f.limit)).collect();
    let due = [
        "A: scratches up to 3 um wide, at most 2",
        "A: scratches over 3 um wide, none",
        "A: defects up to 5 um, at most 4",
        "A: defects over 5 um, none",
        "B: scratches up to 3 um wide, any number",
        "B: scratches over 3 and up to 6 um wide, not decided",
        "B: scratches over 6 um wide, none",
        "B: defects up to 5 um, any number",
        "B: defects over 5 um, none",
    ];
    assert_eq!(told, due);
}

#[test]
fn findings_hold_what_was_counted() {
    let marks = vec![
        feature(Kind::Particle, 5.5, 2.0, 7.5),
        feature(Kind::Pit, 4.0, 4.0, 8.0),
        feature(Kind::Chip, 9.0, 53.0, 62.0),
    ];
    let array = grade(&with(marks), &criteria());
    let counted: Vec<(String, Vec<u32>, Verdict)> = array.positions[0]
        .findings
        .iter()
        .filter(|finding| finding.observed() > 0)
        .map(|f| (format!("{} {}", f.zone, f.rule), f.counted.iter().map(|id| id.0).collect(), f.verdict))
        .collect();
    assert_eq!(
        counted,
        [
            ("A defects up to 5 um".to_owned(), vec![2], Verdict::Pass),
            ("A defects over 5 um".to_owned(), vec![1], Verdict::Fail),
            ("B defects over 5 um".to_owned(), vec![3], Verdict::Fail),
        ]
    );
}

#[test]
fn an_undecided_band_is_neither_pass_nor_fail_unless_another_rule_fails() {
    let open = feature(Kind::Scratch, 4.0, 20.0, 50.0);
    let bad = feature(Kind::Particle, 7.0, 30.0, 37.0);
    let codes = |codes: &[&str]| codes.iter().map(|code| code.to_string()).collect::<Vec<_>>();
    let criteria = criteria();
    assert_eq!(
        verdict_of(&with(vec![open.clone()]), &criteria),
        (Verdict::Ungraded, codes(&["undecided-by-criteria"]))
    );
    assert_eq!(verdict_of(&with(vec![open, bad]), &criteria), (Verdict::Fail, codes(&["too-large"])));
}

/// Whether the picture or the criteria left a position open is told as such.
#[test]
fn the_picture_suffices_unless_it_is_unfit_or_a_mark_was_not_measured() {
    let suffices = |survey| grade(&survey, &criteria()).positions[0].picture_suffices;
    assert!(suffices(with(vec![])));
    assert!(suffices(with(vec![feature(Kind::Particle, 30.0, 0.0, 30.0)])));
    assert!(suffices(with(vec![feature(Kind::Scratch, 4.0, 20.0, 50.0)])), "an undecided band");
    assert!(!suffices(with(vec![feature(Kind::Pit, f64::NAN, 1.0, 2.0)])), "not measured");
    assert!(every_flaw().into_iter().all(|flaw| !suffices(survey(vec![Look::Missing(flaw)]))));
}

/// Uneven light hides films and makes none of what stands out of it; what fails without a doubt fails in it, too.
#[test]
fn what_stands_out_of_uneven_light_fails() {
    let of = |kind, size, contrast| Feature { contrast, ..feature(kind, size, 0.0, 30.0) };
    let clear = || of(Kind::Particle, 30.0, -0.4);
    let veiled = |feature| Fibre { flaws: vec![Flaw::Veiled], ..fibre(vec![feature]) };
    let coarse = Fibre { smallest_visible: Um(30.0), ..veiled(clear()) };
    let smeared = Fibre { flaws: vec![Flaw::Veiled, Flaw::Smeared { ratio: 3.0 }], ..veiled(clear()) };
    for (what, seen, verdict) in [
        ("a particle", veiled(clear()), Verdict::Fail),
        ("a faint one", veiled(of(Kind::Particle, 30.0, -0.1)), Verdict::Ungraded),
        ("a film", veiled(of(Kind::Film, 30.0, -0.4)), Verdict::Ungraded),
        ("an allowed one", veiled(of(Kind::Particle, 0.5, -0.4)), Verdict::Ungraded),
        ("another flaw", smeared, Verdict::Ungraded),
        ("a coarse picture", coarse, Verdict::Ungraded),
    ] {
        assert_eq!(verdict_of(&lone(seen), &criteria()).0, verdict, "{what}");
    }
    let mut dim = lone(veiled(clear()));
    dim.quality.flaws = vec![Flaw::TooDark { signal_to_noise: 2.0 }];
    assert_eq!(verdict_of(&dim, &criteria()).0, Verdict::Ungraded);
}

#[test]
fn a_missing_or_flawed_position_is_ungraded_whatever_shows_on_it() {
    let bad = || fibre(vec![feature(Kind::Particle, 30.0, 0.0, 30.0)]);
    for flaw in every_flaw() {
        let code = vec![flaw.code().to_owned()];
        let missing = survey(vec![Look::Missing(flaw.clone())]);
        assert_eq!(verdict_of(&missing, &criteria()), (Verdict::Ungraded, code.clone()));
        let flawed = terms::Fibre { flaws: vec![flaw.clone()], ..bad() };
        assert_eq!(verdict_of(&lone(flawed), &criteria()), (Verdict::Ungraded, code.clone()));
        let mut picture = lone(bad());
        picture.quality.flaws = vec![flaw.clone()];
        assert_eq!(verdict_of(&picture, &criteria()), (Verdict::Ungraded, code.clone()));
        let array = grade(&picture, &criteria());
        assert_eq!(array.reasons[0].text, flaw.to_string(), "the array says why none can be graded");
        assert_eq!(array.positions[0].zones.len(), 1, "zones are told for ungraded positions too");
        assert!(array.positions[0].findings.is_empty());
    }
}

#[test]
fn a_picture_that_could_not_show_the_mark_allows_no_verdict() {
    let of = |smallest_visible, blur| {
        let soft = terms::Fibre { smallest_visible: Um(smallest_visible), blur: Um(blur), ..fibre(vec![]) };
        verdict_of(&lone(soft), &criteria())
    };
    let refused = (Verdict::Ungraded, vec!["not-sharp-enough".to_owned()]);
    assert_eq!(of(2.0, 2.0).0, Verdict::Pass, "at the limit it is still seen");
    for (smallest_visible, blur) in
        [(2.001, 0.5), (0.5, 2.001), (f64::INFINITY, 0.5), (f64::NAN, 0.5), (0.5, f64::NAN)]
    {
        assert_eq!(of(smallest_visible, blur), refused, "{smallest_visible} {blur}");
    }
}

#[test]
fn a_feature_without_a_size_is_never_passed_over() {
    let marks = |change: fn(&mut terms::Feature)| {
        let mut mark = feature(Kind::Pit, 1.0, 30.0, 31.0);
        change(&mut mark);
        verdict_of(&with(vec![mark]), &criteria())
    };
    let refused = (Verdict::Ungraded, vec!["unmeasured-feature".to_owned()]);
    assert_eq!(marks(|_| ()).0, Verdict::Pass);
    assert_eq!(marks(|mark| mark.size = Um(f64::NAN)), refused);
    assert_eq!(marks(|mark| mark.size = Um(-1.0)), refused);
    assert_eq!(marks(|mark| mark.u = Um(f64::INFINITY)), refused);
    assert_eq!(marks(|mark| mark.reach.inner = Um(f64::NAN)), refused);
    assert_eq!(marks(|mark| mark.reach.outer = Um(2.0)), refused, "reaches less far than it begins");
    assert_eq!(marks(|mark| mark.centre.x = f64::NAN), refused);
}

#[test]
fn a_gap_in_the_criteria_never_lets_a_feature_through() {
    let mut gap = criteria();
    gap.rules[3].bands.remove(0);
    let small = with(vec![feature(Kind::Pit, 1.0, 30.0, 31.0)]);
    let refused = (Verdict::Ungraded, vec!["undecided-by-criteria".to_owned()]);
    assert_eq!(verdict_of(&small, &gap), refused);
    let no_rule = Criteria { rules: vec![], ..criteria() };
    assert_eq!(verdict_of(&with(vec![]), &no_rule), refused);
}

#[test]
fn one_failing_position_fails_the_array_and_one_ungraded_keeps_it_from_passing() {
    let good = || Look::Found(Box::new(fibre(vec![])));
    let bad = || Look::Found(Box::new(fibre(vec![feature(Kind::Pit, 9.0, 0.0, 9.0)])));
    let gone = || Look::Missing(Flaw::NotFound);
    let array = |looks| grade(&survey(looks), &criteria()).verdict;
    assert_eq!(array(vec![good(), good()]), Verdict::Pass);
    assert_eq!(array(vec![good(), gone()]), Verdict::Ungraded);
    assert_eq!(array(vec![gone(), good(), bad()]), Verdict::Fail);
    assert_eq!(array(vec![bad(), gone()]), Verdict::Fail);
    let none = grade(&survey(vec![]), &criteria());
    assert_eq!((none.verdict, none.reasons[0].code.as_str()), (Verdict::Ungraded, "no-positions"));
}

#[test]
fn features_below_the_smallest_counted_are_listed_and_not_counted() {
    let mut lenient = criteria();
    lenient.counting.smallest_counted = Um(1.5);
    let marks = |size| with((0..5).map(|_| feature(Kind::Pit, size, 2.0, 4.0)).collect());
    let below = grade(&marks(1.499), &lenient);
    assert_eq!(below.verdict, Verdict::Pass);
    assert!(below.positions[0].zones.iter().all(|(_, zone)| zone.as_deref() == Some("A")));
    assert_eq!(
        grade(&marks(1.5), &lenient).verdict,
        Verdict::Fail,
        "five at the limit count, four are allowed"
    );
}

/// A mark that may be dirt on the camera never fails a fibre alone, and never keeps one from failing.
#[test]
fn marks_where_the_optics_are_dirty_leave_a_fibre_ungraded_only_if_it_hangs_on_them() {
    let criteria = criteria();
    let graded = |sizes: &[f64], at_optics: &[u32]| {
        let features = sizes.iter().map(|s| feature(Kind::Particle, *s, 10.0, 10.0 + s)).collect();
        let fibre =
            Fibre { at_optics: at_optics.iter().map(|id| FeatureId(*id)).collect(), ..fibre(features) };
        let grade = grade(&lone(fibre), &criteria).positions.remove(0);
        (grade.verdict, grade.reasons.first().map(|r| r.code.clone()))
    };
    let large = 200.0;
    assert_eq!(graded(&[large], &[]).0, Verdict::Fail);
    assert_eq!(graded(&[large], &[1]), (Verdict::Ungraded, Some("dirty-optics".to_owned())));
    assert_eq!(graded(&[large, large], &[1]).0, Verdict::Fail);
    assert_eq!(graded(&[0.1], &[1]).0, Verdict::Pass);
}
