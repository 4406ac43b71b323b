//! Which zone a feature is held to, by each rule for features across zones.

use crate::faces::{feature, with};
use crate::rules::criteria;
use grade::{Criteria, CrossingRule, Verdict, grade};
use terms::{Kind, Um};

fn held_to(kind: Kind, inner: f64, outer: f64, criteria: &Criteria) -> Option<String> {
    grade(&with(vec![feature(kind, 1.0, inner, outer)]), criteria).positions[0].zones[0].1.clone()
}

fn by(rule: CrossingRule) -> Criteria {
    let mut criteria = criteria();
    criteria.counting.defects_across = rule;
    criteria.counting.scratches_across = rule;
    criteria
}

#[test]
fn the_innermost_zone_that_is_touched_holds() {
    let innermost = by(CrossingRule::Innermost);
    let cases = [
        (0.0, 0.0, Some("A")),
        (0.0, 3.0, Some("A")),
        (12.0, 20.0, Some("A")),
        (12.5, 20.0, Some("A")),
        (12.5, 12.5, Some("A")),
        (12.501, 20.0, Some("B")),
        (57.0, 70.0, Some("B")),
        (57.5, 70.0, Some("B")),
        (57.501, 70.0, None),
        (0.0, 200.0, Some("A")),
    ];
    for (inner, outer, zone) in cases {
        assert_eq!(
            held_to(Kind::Pit, inner, outer, &innermost).as_deref(),
            zone,
            "defect {inner} to {outer}"
        );
        assert_eq!(
            held_to(Kind::Scratch, inner, outer, &innermost).as_deref(),
            zone,
            "scratch {inner} to {outer}"
        );
    }
}

#[test]
fn the_centre_holds_where_the_file_says_so() {
    let centre = by(CrossingRule::Centre);
    let cases =
        [(0.0, 25.0, Some("A")), (10.0, 15.1, Some("B")), (50.0, 65.0, Some("B")), (52.0, 65.0, None)];
    for (inner, outer, zone) in cases {
        assert_eq!(held_to(Kind::Pit, inner, outer, &centre).as_deref(), zone, "{inner} to {outer}");
    }
}

#[test]
fn every_zone_holds_where_the_file_says_so() {
    let counted = |criteria: &Criteria| {
        let array = grade(&with(vec![feature(Kind::Scratch, 2.0, 5.0, 40.0)]), criteria);
        let zones = array.positions[0].findings.iter().filter(|f| f.observed() > 0).map(|f| f.zone.clone());
        zones.collect::<Vec<_>>()
    };
    assert_eq!(counted(&by(CrossingRule::Every)), ["A", "B"]);
    assert_eq!(counted(&by(CrossingRule::Innermost)), ["A"]);
    assert_eq!(counted(&by(CrossingRule::Centre)), ["B"]);
}

#[test]
fn scratches_and_defects_across_zones_go_by_their_own_rules() {
    let mut mixed = criteria();
    mixed.counting.defects_across = CrossingRule::Centre;
    assert_eq!(held_to(Kind::Pit, 10.0, 30.0, &mixed).as_deref(), Some("B"));
    assert_eq!(held_to(Kind::Scratch, 10.0, 30.0, &mixed).as_deref(), Some("A"));
}

#[test]
fn a_mark_outside_every_zone_is_listed_and_not_counted() {
    let array = grade(&with(vec![feature(Kind::Chip, 12.0, 58.0, 64.0)]), &criteria());
    assert_eq!(array.verdict, Verdict::Pass);
    assert_eq!(array.positions[0].zones, [(terms::FeatureId(1), None)]);
    assert!(array.positions[0].findings.iter().all(|finding| finding.observed() == 0));
}

#[test]
fn a_zone_that_does_not_begin_at_the_centre_leaves_its_hole_alone() {
    let mut ring = criteria();
    ring.zones.remove(0);
    ring.zones[0].from = Um(25.0);
    assert_eq!(held_to(Kind::Pit, 0.0, 12.5, &ring), None);
    assert_eq!(held_to(Kind::Pit, 0.0, 12.6, &ring).as_deref(), Some("B"));
}
