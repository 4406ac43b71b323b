//! What helps to choose a criteria file and to read one: a line for each built-in file, and a file as the
//! rows of a table.

use crate::builtin::{criteria, criteria_ids};
use crate::criteria_file::CriteriaFile;
use grade::{Criteria, CrossingRule, Faith, Measure};

/// One built-in criteria file, for those who choose.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// What `--criteria` takes.
    pub id: String,
    /// What it is.
    pub title: String,
    /// Which connectors to grade by it, and how sure that advice is.
    pub use_for: String,
}

/// The built-in criteria files in the order of their ids.
pub fn guide() -> Vec<Choice> {
    let choice = |file: CriteriaFile| Choice {
        id: file.criteria.id,
        title: file.criteria.title,
        use_for: file.use_for,
    };
    criteria_ids().iter().filter_map(|id| criteria(id)).map(choice).collect()
}

/// One limit of a criteria file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LimitRow {
    /// The zone with its diameters, "A, 0 to 25 um".
    pub zone: String,
    /// What is limited, with its band of sizes, "scratches over 3 um wide".
    pub band: String,
    /// How many are allowed, "none", "at most 5", "any number", "not decided".
    pub allowed: String,
    /// How sure the limit is.
    pub faith: Faith,
    /// Where it comes from.
    pub source: String,
}

/// The limits of a criteria file, from the inner zone out, scratches before defects, small before large.
pub fn limit_rows(criteria: &Criteria) -> Vec<LimitRow> {
    let mut rows = vec![];
    for rule in &criteria.rules {
        let zone = criteria.zone(&rule.zone).map_or_else(
            || rule.zone.clone(),
            |zone| format!("{}, {} to {} um", zone.name, zone.from.0, zone.to.0),
        );
        rows.extend(rule.bands.iter().map(|band| LimitRow {
            zone: zone.clone(),
            band: band.words(rule.subject),
            allowed: band.allowed.to_string(),
            faith: band.source.faith,
            source: band.source.text.clone(),
        }));
    }
    rows
}

/// One choice of a criteria file where the document leaves it open.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SettingRow {
    /// Its key in the file.
    pub name: &'static str,
    /// Its value, with its unit.
    pub value: String,
    /// What it does, in one sentence.
    pub meaning: &'static str,
}

/// The choices of a criteria file: how it counts, then how it looks.
pub fn setting_rows(file: &CriteriaFile) -> Vec<SettingRow> {
    let row = |name, value, meaning| SettingRow { name, value, meaning };
    let (counting, looking) = (&file.criteria.counting, &file.settings);
    let Measure::EnclosingCircle = counting.measure;
    vec![
        row(
            "defects_across",
            across(counting.defects_across),
            "The zone that a defect across zones is held to.",
        ),
        row(
            "scratches_across",
            across(counting.scratches_across),
            "The zone that a scratch across zones is held to.",
        ),
        row("measure", "smallest enclosing circle".to_owned(), "How a defect is sized, as a diameter."),
        row(
            "smallest_counted",
            um(counting.smallest_counted.0),
            "Anything smaller is listed and not counted.",
        ),
        row(
            "must_see",
            um(counting.must_see.0),
            "The mark that a picture must be able to show to be graded.",
        ),
        row(
            "scratch_aspect",
            looking.scratch_aspect.to_string(),
            "A line at least so many times longer than wide is a scratch.",
        ),
        row(
            "touching_gap",
            um(looking.touching_gap_um),
            "Marks nearer to each other than this count as one.",
        ),
        row(
            "false_calls_per_fibre",
            looking.false_calls_per_fibre.to_string(),
            "Marks called by chance on a clean fibre, on average.",
        ),
    ]
}

fn across(rule: CrossingRule) -> String {
    match rule {
        CrossingRule::Innermost => "the innermost that it touches",
        CrossingRule::Every => "every one that it touches",
        CrossingRule::Centre => "the one of its centre",
    }
    .to_owned()
}

fn um(length: f64) -> String {
    format!("{length} um")
}
