//! Criteria made up for the tests of grading.

use grade::{
    Allowed, Band, ConnectorClass, Counting, Criteria, CrossingRule, Faith, Measure, Mode, Rule, Source,
    Subject, Zone,
};
use terms::Um;

/// Where the made-up limits come from.
pub fn source() -> Source {
    Source { faith: Faith::House, text: "made up for a test".to_owned() }
}

/// A band from `low` (not included, unless it is 0) up to `high` (included).
pub fn band(low: f64, high: Option<f64>, allowed: Allowed) -> Band {
    Band {
        low: Um(low),
        low_included: low == 0.0,
        high: high.map(Um),
        high_included: high.is_some(),
        allowed,
        source: source(),
    }
}

/// Zones A to 25 um and B to 115 um. In A: no scratch over 3 um, at most 2 up to that; no defect over 5 um,
/// at most 4 up to that. In B: scratches up to 3 um free, none over 6 um, undecided between; defects up to
/// 5 um free, none over that.
pub fn criteria() -> Criteria {
    let zone =
        |name: &str, from, to| Zone { name: name.to_owned(), from: Um(from), to: Um(to), source: source() };
    let rule = |zone: &str, subject, bands| Rule { zone: zone.to_owned(), subject, bands };
    let none = Allowed::AtMost(0);
    Criteria {
        id: "test".to_owned(),
        title: "Test".to_owned(),
        document: "none".to_owned(),
        edition: "1".to_owned(),
        class: ConnectorClass { mode: Mode::Multi, angled: false, return_loss_db: None },
        zones: vec![zone("A", 0.0, 25.0), zone("B", 25.0, 115.0)],
        rules: vec![
            rule(
                "A",
                Subject::Scratches,
                vec![band(0.0, Some(3.0), Allowed::AtMost(2)), band(3.0, None, none)],
            ),
            rule(
                "A",
                Subject::Defects,
                vec![band(0.0, Some(5.0), Allowed::AtMost(4)), band(5.0, None, none)],
            ),
            rule(
                "B",
                Subject::Scratches,
                vec![
                    band(0.0, Some(3.0), Allowed::Any),
                    band(3.0, Some(6.0), Allowed::Undecided),
                    band(6.0, None, none),
                ],
            ),
            rule("B", Subject::Defects, vec![band(0.0, Some(5.0), Allowed::Any), band(5.0, None, none)]),
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
