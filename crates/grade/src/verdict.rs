//! What grading says: findings rule by rule, a verdict for each position and one for the array.

use crate::criteria::{Allowed, Source, Subject};
use terms::FeatureId;

/// A verdict. An ungraded position or array is never a pass.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Every rule is held.
    Pass,
    /// At least one rule is broken.
    Fail,
    /// The picture or the criteria do not allow a verdict.
    Ungraded,
}

impl Verdict {
    /// The word used in every output.
    pub const fn word(self) -> &'static str {
        match self {
            Verdict::Pass => "pass",
            Verdict::Fail => "fail",
            Verdict::Ungraded => "ungraded",
        }
    }
}

/// Why a position or the array fails or is ungraded.
#[derive(Clone, Debug, PartialEq)]
pub struct Reason {
    /// A stable code: `too-many`, `too-large`, `undecided-by-criteria`, `not-sharp-enough`, or a flaw's code.
    pub code: String,
    /// One sentence.
    pub text: String,
}

/// One band of one rule on one fibre.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// Name of the zone.
    pub zone: String,
    /// What was counted.
    pub subject: Subject,
    /// The band in words, e.g. "scratches over 3 um".
    pub rule: String,
    /// The limit.
    pub limit: Allowed,
    /// Features of the band that count.
    pub counted: Vec<FeatureId>,
    /// Pass, fail, or ungraded where the criteria do not decide.
    pub verdict: Verdict,
    /// Where the limit comes from.
    pub source: Source,
}

/// The grade of one position.
#[derive(Clone, Debug, PartialEq)]
pub struct FibreGrade {
    /// The standard's number.
    pub position: u16,
    /// The verdict.
    pub verdict: Verdict,
    /// Why it fails or could not be graded; empty on a pass.
    pub reasons: Vec<Reason>,
    /// Each rule of the criteria, held or broken; empty if nothing could be counted.
    pub findings: Vec<Finding>,
    /// The zone whose limit each feature is held to, by feature; none if it lies outside every zone.
    pub zones: Vec<(FeatureId, Option<String>)>,
}

/// The grade of the array.
#[derive(Clone, Debug, PartialEq)]
pub struct ArrayGrade {
    /// Fails if a position fails; else ungraded if one is; else passes.
    pub verdict: Verdict,
    /// Why the whole cannot be graded; empty otherwise.
    pub reasons: Vec<Reason>,
    /// One for every populated position, in order.
    pub positions: Vec<FibreGrade>,
}
