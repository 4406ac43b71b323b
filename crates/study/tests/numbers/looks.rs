//! What was seen against what is there, and repeated looks, by hand.

use crate::near;
use grade::{
    Allowed, Band, ConnectorClass, Counting, Criteria, CrossingRule, Faith, Measure, Mode, Rule, Source,
    Subject, Verdict, Zone,
};
use study::against::{Against, Counted};
use study::binomial::Share;
use study::pairing::{gather, pair};
use study::repeats::{Repeated, Sort, repeatability};
use study::seen::{SeenFace, SeenFibre, SeenMark};
use study::truth::{TrueFace, TrueFibre, TrueMark};
use terms::{Kind, Um};

fn there(kind: Kind, size: f64, centre: (f64, f64)) -> TrueMark {
    let r = centre.0.hypot(centre.1);
    let reach = ((r - size / 2.0).max(0.0), r + size / 2.0);
    TrueMark { kind, size, length: size, contrast: -0.3, reach, centre, path: vec![] }
}

fn line(width: f64, from: (f64, f64), to: (f64, f64)) -> TrueMark {
    let centre = ((from.0 + to.0) / 2.0, (from.1 + to.1) / 2.0);
    let length = (from.0 - to.0).hypot(from.1 - to.1);
    TrueMark { length, path: vec![from, to], ..there(Kind::Scratch, width, centre) }
}

fn seen(kind: Kind, size: f64, centre: (f64, f64)) -> SeenMark {
    SeenMark { kind, size, u: 0.2, centre }
}

#[test]
fn marks_are_paired_one_to_one_the_nearest_first() {
    let truth = [there(Kind::Particle, 2.0, (10.0, 0.0)), there(Kind::Particle, 2.0, (12.0, 0.0))];
    let found = [
        seen(Kind::Particle, 2.0, (11.9, 0.0)),
        seen(Kind::Particle, 2.0, (10.4, 0.0)),
        seen(Kind::Pit, 1.0, (30.0, 0.0)),
    ];
    let pairs = pair(&truth, &found);
    assert_eq!(pairs.of_true, [Some(1), Some(0)]);
    assert_eq!(pairs.explained, [true, true, false]);
    // One seen mark is no two.
    assert_eq!(pair(&truth, &found[..1]).of_true, [None, Some(0)]);
    // Within 2.5 um of a small centre, half the size and 1 um of a large one, 3 um of a line.
    assert_eq!(pair(&truth[..1], &[seen(Kind::Particle, 2.0, (12.6, 0.0))]).of_true, [None]);
    let large = [there(Kind::Film, 40.0, (0.0, 0.0))];
    assert_eq!(pair(&large, &[seen(Kind::Film, 30.0, (0.0, 20.9))]).of_true, [Some(0)]);
    let scratch = [line(1.0, (-20.0, 0.0), (20.0, 0.0))];
    assert_eq!(pair(&scratch, &[seen(Kind::Scratch, 1.0, (19.0, 2.9))]).of_true, [Some(0)]);
    assert_eq!(pair(&scratch, &[seen(Kind::Scratch, 1.0, (19.0, 3.1))]).of_true, [None]);
}

#[test]
fn marks_of_several_looks_are_gathered() {
    let a = seen(Kind::Particle, 3.0, (5.0, 5.0));
    let b = SeenMark { size: 3.2, centre: (5.5, 5.0), ..a };
    let scratch = seen(Kind::Scratch, 1.0, (5.0, 6.0));
    let marks = gather(&[vec![a], vec![scratch, b], vec![]]);
    assert_eq!(marks, [vec![Some(a), Some(b), None], vec![None, Some(scratch), None]]);
}

/// Zone A to 65 um, B to 115 um; no defect over 5 um in either, no scratch at all in A.
fn criteria() -> Criteria {
    let source = || Source { faith: Faith::House, text: String::new() };
    let zone =
        |name: &str, from, to| Zone { name: name.into(), from: Um(from), to: Um(to), source: source() };
    let band = |low: f64, high: Option<f64>, allowed| Band {
        low: Um(low),
        low_included: low == 0.0,
        high: high.map(Um),
        high_included: true,
        allowed,
        source: source(),
    };
    let rule = |zone: &str, subject, bands| Rule { zone: zone.into(), subject, bands };
    let defects = || vec![band(0.0, Some(5.0), Allowed::Any), band(5.0, None, Allowed::AtMost(0))];
    Criteria {
        id: String::new(),
        title: String::new(),
        document: String::new(),
        edition: String::new(),
        class: ConnectorClass { mode: Mode::Multi, angled: false, return_loss_db: None },
        zones: vec![zone("A", 0.0, 65.0), zone("B", 65.0, 115.0)],
        rules: vec![
            rule("A", Subject::Scratches, vec![band(0.0, None, Allowed::AtMost(0))]),
            rule("A", Subject::Defects, defects()),
            rule("B", Subject::Scratches, vec![band(0.0, None, Allowed::Any)]),
            rule("B", Subject::Defects, defects()),
        ],
        counting: Counting {
            defects_across: CrossingRule::Innermost,
            scratches_across: CrossingRule::Innermost,
            measure: Measure::EnclosingCircle,
            smallest_counted: Um(0.0),
            must_see: Um(2.0),
            source: source(),
        },
    }
}

fn fibre(position: u16, marks: Vec<TrueMark>) -> TrueFibre {
    TrueFibre { position, must_refuse: false, centre_px: (100.0, 50.0), blur: 0.5, marks }
}

#[test]
fn a_truth_is_clear_if_small_changes_do_not_turn_it() {
    let of = |marks| fibre(1, marks).clear_verdict(&criteria());
    assert_eq!(of(vec![]), Some(Verdict::Pass));
    assert_eq!(of(vec![there(Kind::Particle, 9.0, (5.0, 0.0))]), Some(Verdict::Fail));
    assert_eq!(of(vec![there(Kind::Particle, 4.9, (5.0, 0.0))]), None, "15 % larger it fails");
    let beside = |r: f64| {
        vec![line(1.0, (r, -10.0), (r, 10.0))]
            .into_iter()
            .map(|m| TrueMark { reach: (r, r + 1.5), ..m })
            .collect::<Vec<_>>()
    };
    assert_eq!(of(beside(40.0)), Some(Verdict::Pass));
    assert_eq!(of(beside(32.9)), None, "0.4 um off the zone that it fails in");
    assert_eq!(of(beside(20.0)), Some(Verdict::Fail));
    let faint = TrueMark { contrast: -0.07, ..there(Kind::Film, 30.0, (0.0, 0.0)) };
    assert_eq!(of(vec![faint]), None, "it may not be seen");
    let mut strict = criteria();
    strict.rules[1].bands =
        vec![Band { allowed: Allowed::AtMost(0), high: None, ..strict.rules[1].bands[0].clone() }];
    let tiny = |size| fibre(1, vec![there(Kind::Pit, size, (5.0, 0.0))]).clear_verdict(&strict);
    assert_eq!(
        (tiny(1.9), tiny(2.4)),
        (None, Some(Verdict::Fail)),
        "the criteria ask for marks of 2 um to be shown"
    );
}

fn saw(position: u16, verdict: Verdict, marks: Vec<SeenMark>) -> SeenFibre {
    SeenFibre { position, verdict, centre_px: Some((100.03, 50.04)), marks }
}

#[test]
fn a_picture_is_counted_against_its_truth() {
    let truth = TrueFace {
        um_per_px: 0.5,
        fibres: vec![
            fibre(1, vec![there(Kind::Particle, 9.0, (5.0, 0.0)), there(Kind::Particle, 1.0, (30.0, 0.0))]),
            fibre(2, vec![]),
            TrueFibre { must_refuse: true, ..fibre(3, vec![]) },
            fibre(4, vec![there(Kind::Particle, 2.0, (0.0, 0.0)), there(Kind::Pit, 2.0, (5.0, 0.0))]),
        ],
    };
    let looked = SeenFace {
        smallest_gradable: Some(2.0),
        fibres: vec![
            saw(1, Verdict::Fail, vec![seen(Kind::Particle, 9.3, (5.1, 0.0))]),
            saw(2, Verdict::Fail, vec![seen(Kind::Particle, 6.0, (5.0, 0.0))]),
            saw(3, Verdict::Ungraded, vec![]),
            saw(4, Verdict::Pass, vec![]),
        ],
    };
    let mut against = Against::default();
    against.add("x", &truth, &looked, &criteria(), Counted::All);
    assert_eq!(against.verdicts.agree(), Share { count: 2, of: 3 });
    assert_eq!(against.verdicts.overkill(), Share { count: 1, of: 2 });
    assert_eq!((against.wrong.len(), against.wrong[0].position), (1, 2));
    assert_eq!(against.on_clean, [1]);
    assert_eq!(against.unexplained, Share { count: 1, of: 2 });
    assert_eq!(
        (against.refused, against.refused_gradable),
        (Share { count: 1, of: 1 }, Share { count: 0, of: 3 })
    );
    near(against.centre_error(0.5).unwrap(), 0.025, 1e-12);
    // The two marks of fibre 4 lie 3 um from edge to edge: neither is isolated.
    assert_eq!(against.sights.len(), 2);
    assert_eq!(against.promised(0.3), (Share { count: 1, of: 1 }, Share::default()));
    let sizing = against.sizing(&[Kind::Particle], 5.0, f64::INFINITY, true).unwrap();
    assert_eq!((sizing.count, sizing.within_u.count, sizing.within_2u.count), (1, 0, 1));
}

#[test]
fn which_marks_count_for_detection_is_the_callers_choice() {
    let marks = vec![there(Kind::Particle, 2.0, (20.0, 0.0)), there(Kind::Pit, 2.0, (-20.0, 0.0))];
    let truth = TrueFace { um_per_px: 0.5, fibres: vec![fibre(1, marks)] };
    let sights = |counted| {
        let mut against = Against::default();
        against.add("x", &truth, &SeenFace::default(), &criteria(), counted);
        against.sights.iter().map(|s| s.kind).collect::<Vec<_>>()
    };
    assert_eq!(sights(Counted::All), [Kind::Particle, Kind::Pit]);
    assert_eq!(sights(Counted::PitsAndFilms), [Kind::Pit]);
    assert_eq!(sights(Counted::None), []);
}

/// A picture in which no row was found shows nothing: every target is missed, every fibre refused.
#[test]
fn a_picture_without_a_row_misses_everything() {
    let truth = TrueFace { um_per_px: 0.5, fibres: vec![fibre(1, vec![there(Kind::Pit, 2.0, (5.0, 0.0))])] };
    let mut against = Against::default();
    against.add("x", &truth, &SeenFace::default(), &criteria(), Counted::All);
    assert_eq!((against.sights.len(), against.sights[0].target.hit), (1, false));
    assert_eq!(against.refused_gradable, Share { count: 1, of: 1 });
    assert_eq!(against.verdicts.ungraded(), Share { count: 1, of: 1 });
}

#[test]
fn repeated_looks_are_summed_up() {
    let mark = |size: f64| seen(Kind::Particle, size, (5.0, 5.0));
    let other = |size: f64| seen(Kind::Particle, size, (-20.0, 5.0));
    let look = |size: f64, second: Verdict, third: Vec<SeenMark>| SeenFace {
        smallest_gradable: None,
        fibres: vec![
            saw(1, Verdict::Pass, vec![mark(size), other(size + 4.0)]),
            saw(2, second, third),
            saw(3, Verdict::Ungraded, vec![]),
        ],
    };
    let looks = vec![look(2.9, Verdict::Fail, vec![]), look(3.1, Verdict::Pass, vec![mark(1.0)])];
    let face = Repeated { looks: vec![looks], left_out: vec![3], clear: Some(vec![1]) };
    let found = repeatability(&[face]).unwrap();
    assert_eq!((found.faces, found.set_ups, found.trials), (1, 1, 2));
    assert_eq!(found.all.always_same, Share { count: 1, of: 2 });
    near(found.all.modal_share, 0.75, 1e-12);
    assert_eq!(found.clear.unwrap().always_same, Share { count: 1, of: 1 });
    assert_eq!(found.always_seen, Share { count: 2, of: 3 });
    assert_eq!((found.gauges.len(), found.gauges[0].sort, found.gauges[0].marks), (1, Sort::Small, 2));
    near(found.gauges[0].anova.spread.repeatability, 0.02f64.sqrt(), 1e-12);
    near(found.scatter[0].1, 3.0, 1e-12);
    assert_eq!(repeatability(&[]), None);
}
