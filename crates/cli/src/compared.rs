//! Two looks at one face held against each other, for `compare` and for the pages of a hand-over.

use crate::held::held;
use crate::pipeline::Looked;
use grade::CableMap;
use grade::advice::Cleaned;
use grade::compare::{self, Another};
use report::compare::{CompareInputs, CompareRecord};
use report::{Care, FaceRecord};

/// What became of the marks; turns the later face where its picture shows it turned against what was stated.
pub fn compared(
    before: &Looked,
    after: &mut Looked,
    cable: Option<&CableMap>,
    care: Option<Care>,
) -> Result<CompareRecord, Another> {
    let was = before.record.seen();
    let sameness = compare::judge(&was, &after.record.seen())?;
    if let Some(turned) = after.record.flipped(sameness.flip) {
        after.record = turned;
    }
    let is = after.record.seen();
    let held = held((before, &was), (after, &is));
    let comparison = compare::changes(&was, &is, sameness, &held);
    Ok(CompareRecord::new(CompareInputs {
        before: &before.record,
        after: &after.record,
        comparison: &comparison,
        tool_version: env!("CARGO_PKG_VERSION"),
        cable,
        care,
    }))
}

/// How a face was cleaned between two looks, as their records tell it: what the later one was told of goes on from what
/// the earlier one was told of, or else begins anew behind that.
pub fn cleaned(before: &FaceRecord, after: &FaceRecord) -> Vec<Cleaned> {
    let new = after.cleaned.strip_prefix(before.cleaned.as_slice()).unwrap_or(&after.cleaned);
    new.iter().map(|how| (*how).into()).collect()
}

/// Why two looks cannot be of one face.
pub fn why(another: &Another) -> String {
    format!(
        "the {} fibres that both show lie {:.2} um elsewhere in their holes (median), where one face would agree \
         to a few hundredths",
        another.fibres, another.apart
    )
}
