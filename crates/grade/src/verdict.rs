//! What grading says: findings rule by rule, a verdict for each position and one for the array.

use crate::conformity::Acceptance;
use crate::criteria::{Allowed, Source, Subject};
use terms::{FeatureId, Um};

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

    /// The verdict of a whole: fails if a part fails; else ungraded if a part is, or if there is no part;
    /// else passes.
    pub fn of_parts(parts: impl IntoIterator<Item = Verdict>) -> Verdict {
        let mut whole = None;
        for part in parts {
            whole = Some(match (whole, part) {
                (Some(Verdict::Fail), _) | (_, Verdict::Fail) => Verdict::Fail,
                (Some(Verdict::Ungraded), _) | (_, Verdict::Ungraded) => Verdict::Ungraded,
                _ => Verdict::Pass,
            });
        }
        whole.unwrap_or(Verdict::Ungraded)
    }
}

/// Why a position or the array fails or is ungraded.
#[derive(Clone, Debug, PartialEq)]
pub struct Reason {
    /// A stable code: `too-many` (more than a number allowed above zero, or any where none of any size is),
    /// `too-large` (any in a band of sizes where none is allowed), `undecided-by-criteria`, `not-sharp-enough`,
    /// `dirty-optics` (it fails only with marks that may be on the camera), `other-mode` (the cores are not those that
    /// the criteria are for), `unmeasured-feature`, `guard-band` (held as measured, and not with the limits drawn in),
    /// `no-positions`, or a flaw's code.
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
    /// The smallest size in the band, or the one that it lies above.
    pub low: Um,
    /// The limit.
    pub limit: Allowed,
    /// Features of the band that count.
    pub counted: Vec<FeatureId>,
    /// Pass, fail, or ungraded where the criteria do not decide.
    pub verdict: Verdict,
    /// Probability that the true sizes hold this limit.
    pub conformity: f64,
    /// Where the limit comes from; a limit from memory says so here.
    pub source: Source,
}

impl Finding {
    /// How many features of the band were observed.
    pub fn observed(&self) -> usize {
        self.counted.len()
    }
}

/// The grade of one position.
#[derive(Clone, Debug, PartialEq)]
pub struct FibreGrade {
    /// The standard's number.
    pub position: u16,
    /// The verdict.
    pub verdict: Verdict,
    /// Whether the picture allowed a verdict; the criteria may still have left it open.
    pub picture_suffices: bool,
    /// Why it fails or could not be graded; empty on a pass.
    pub reasons: Vec<Reason>,
    /// Each rule of the criteria, held or broken; empty if nothing could be counted.
    pub findings: Vec<Finding>,
    /// The zone whose limit each feature is held to, by feature; the innermost where the criteria hold it to
    /// several; none if it is held to no zone. Told for ungraded positions too.
    pub zones: Vec<(FeatureId, Option<String>)>,
    /// Features whose size lies within its standard uncertainty of a limit that decides the verdict, in
    /// order of id: a size within that uncertainty would give this position another verdict.
    pub near_limit: Vec<FeatureId>,
    /// Probability that the true sizes hold every limit; none if nothing could be counted or a feature could not be
    /// measured. A position that passes is sure by this much, one that fails by what is left to 1.
    pub conformity: Option<f64>,
}

/// The grade of the array.
#[derive(Clone, Debug, PartialEq)]
pub struct ArrayGrade {
    /// Fails if a position fails; else ungraded if one is; else passes.
    pub verdict: Verdict,
    /// Why the whole cannot be graded; empty otherwise.
    pub reasons: Vec<Reason>,
    /// How sizes were held to the limits.
    pub acceptance: Acceptance,
    /// One for every populated position, in order.
    pub positions: Vec<FibreGrade>,
}
