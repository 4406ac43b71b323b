//! The record of one position: what was found there, its features, and each rule held or broken.

use super::words::{Core, Faith, Kind, Subject, Verdict};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One populated position of the layout, found or not.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PositionRecord {
    /// The standard's number: key up, 1 is the leftmost of the top row.
    pub position: u16,
    /// Row from 1 at the top.
    pub row: u16,
    /// Column from 1 at the left; unpopulated columns count.
    pub column: u16,
    /// The verdict.
    pub verdict: Verdict,
    /// Why it failed or could not be graded; empty on a pass.
    pub reasons: Vec<ReasonRecord>,
    /// Index into `sources` of the picture it was measured in; null if not found.
    pub source: Option<usize>,
    /// Measured centre of the cladding in that picture, pixel frame: x right, y down, (0, 0) the centre of the
    /// top-left pixel; null if not found.
    pub centre_px: Option<[f64; 2]>,
    /// Standard uncertainty of the centre, um per axis.
    pub centre_u_um: Option<f64>,
    /// Measured diameter of the cladding, um.
    pub cladding_diameter_um: Option<f64>,
    /// Measured centre less the layout's nominal site, face frame, um.
    pub offset_um: Option<[f64; 2]>,
    /// The layout's nominal site, face frame, um.
    pub nominal_um: [f64; 2],
    /// Standard deviation of the picture's blur here, um.
    pub blur_um: Option<f64>,
    /// The smallest mark that would be seen here nine times in ten, um.
    pub smallest_visible_um: Option<f64>,
    /// Height, as a share of the clean glass's level, of the faintest compact mark that would be seen here nine
    /// times in ten; a mark's height is its contrast less what the blur takes from its peak.
    pub faintest_visible: Option<f64>,
    /// What may be marks too faint to be told, where no feature lies: too little to count, enough to know a mark by that
    /// another picture shows there. Null where the fibre was not measured, and in records of versions that did not look
    /// for them.
    #[serde(default)]
    pub hints: Option<Vec<HintRecord>>,
    /// How the core looks.
    pub core: Core,
    /// Level of the core's middle against the clean glass about it: 0.3 is 30 % brighter; null if it was not seen.
    pub core_light: Option<f64>,
    /// Diameter of the core where its light is half the middle's, um; null if it does not stand out from the cladding, and
    /// in records of versions that did not measure it.
    #[serde(default)]
    pub core_width_um: Option<f64>,
    /// What was seen on the glass and its rim, in order of id.
    pub features: Vec<FeatureRecord>,
    /// Each rule of the criteria, held or broken; empty if nothing could be counted.
    pub findings: Vec<FindingRecord>,
    /// Probability that the true sizes hold every limit, the errors of different marks taken to be independent; null
    /// if nothing could be counted.
    pub conformity: Option<f64>,
    /// The colour that a fibre of this number has in its cable, a help for looking; position is not colour, so that
    /// the fibre here may have any other.
    pub colour: Option<String>,
}

/// What may be a mark too faint to be told.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct HintRecord {
    /// Where, fibre frame, um.
    pub at_um: [f64; 2],
    /// Signed height as a share of the clean glass's level, as `faintest_visible` tells it: below 0 it is darker.
    pub height: f64,
}

/// Why a position, or a face, failed or could not be graded.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct ReasonRecord {
    /// A stable code for programs.
    pub code: String,
    /// One sentence for people.
    pub text: String,
}

/// One mark on or beside a fibre.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct FeatureRecord {
    /// Its number on the face.
    pub id: u32,
    /// What it looks like.
    pub kind: Kind,
    /// The zone whose limit it is held to; null if it is held to none.
    pub zone: Option<String>,
    /// What the criteria limit, um: a scratch's width, any other feature's smallest enclosing circle (diameter).
    pub size_um: Option<f64>,
    /// Standard uncertainty of `size_um`.
    pub u_um: Option<f64>,
    /// Length along a scratch, the largest extent of anything else, um.
    pub length_um: Option<f64>,
    /// A scratch's middle, any other feature's centre of its enclosing circle; fibre frame, um: x right and y up
    /// with the key up, from the measured centre of the cladding.
    pub centre_um: Option<[f64; 2]>,
    /// Signed contrast against the clean glass about it: -0.3 is 30 % darker.
    pub contrast: Option<f64>,
    /// Closed polygon about it in the source picture, pixel frame; the last point joins the first.
    pub outline_px: Vec<[f64; 2]>,
    /// Smallest and largest distance from the cladding's centre that it touches (radii), um.
    pub reach_um: Option<[f64; 2]>,
    /// Whether its size lies within `u_um` of a limit that decides the verdict: a size within that uncertainty
    /// would give this position another one.
    pub near_limit: bool,
    /// The size limit that it breaks, um: the broken rule that counts it is for marks from, or over, this size; of
    /// several the largest. Null if no broken rule counts it, and in documents of versions that did not tell it.
    #[serde(default)]
    pub limit_um: Option<f64>,
    /// The two ends of a long and narrow mark, fibre frame, um; null of any other, and in documents of versions that
    /// did not tell them.
    #[serde(default)]
    pub ends_um: Option<[[f64; 2]; 2]>,
}

/// One band of one rule of the criteria on this fibre.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct FindingRecord {
    /// Name of the zone.
    pub zone: String,
    /// The band in words, "scratches over 3 um wide".
    pub rule: String,
    /// How many of the band are allowed on one fibre: `any number`, `none`, `at most N`, or `not decided` where
    /// the document does not say.
    #[schemars(regex(pattern = r"^(any number|none|at most [1-9][0-9]*|not decided)$"))]
    pub limit: String,
    /// How many were counted.
    pub observed: usize,
    /// Pass if the rule is held, fail if it is broken, ungraded where the criteria do not decide.
    pub verdict: Verdict,
    /// What is counted.
    pub subject: Subject,
    /// Probability that the true sizes hold this limit.
    pub conformity: Option<f64>,
    /// Ids of the features counted.
    pub counted: Vec<u32>,
    /// Where the limit comes from.
    pub source: SourceNote,
}

/// Where a value of the criteria comes from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct SourceNote {
    /// How sure it is.
    pub faith: Faith,
    /// The document or restatement, in a few words.
    pub text: String,
}

impl From<&grade::Source> for SourceNote {
    fn from(source: &grade::Source) -> SourceNote {
        SourceNote { faith: source.faith.into(), text: source.text.clone() }
    }
}

impl ReasonRecord {
    /// Whether the face shows fibres of another mode than the criteria are for.
    pub fn is_other_mode(&self) -> bool {
        self.code == grade::OTHER_MODE
    }

    /// Whether the picture does not tell which position this is.
    pub fn is_unnumbered(&self) -> bool {
        self.code == terms::Flaw::Ambiguous(terms::Ambiguity::NoEnd).code()
    }
}

impl PositionRecord {
    /// Rules that are broken.
    pub fn broken(&self) -> impl Iterator<Item = &FindingRecord> {
        self.findings.iter().filter(|f| f.verdict == Verdict::Fail)
    }

    /// The feature of that id.
    pub fn feature(&self, id: u32) -> Option<&FeatureRecord> {
        self.features.iter().find(|f| f.id == id)
    }

    /// Whether a broken rule counts the feature.
    pub fn breaks(&self, id: u32) -> bool {
        self.broken().any(|f| f.counted.contains(&id))
    }

    /// Whether these features would break a rule if they were all that lay here.
    pub fn break_alone(&self, ids: &[u32]) -> bool {
        let left = |f: &FindingRecord| f.counted.iter().filter(|id| ids.contains(id)).count();
        self.broken().any(|f| left(f) > f.at_most())
    }

    /// Whether any rule counts the feature.
    pub fn counts(&self, id: u32) -> bool {
        self.findings.iter().any(|f| f.counted.contains(&id))
    }
}

impl FindingRecord {
    /// How many a limit that can be broken allows.
    pub(super) fn at_most(&self) -> usize {
        let number = self.limit.strip_prefix("at most ").and_then(|n| n.parse().ok());
        number.unwrap_or(0)
    }
}
