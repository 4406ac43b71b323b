//! `compare.json` as types. The schema is made from them; a key is added freely, and none is renamed or removed
//! without a new version.

use super::series::LookRecord;
use crate::record::{
    AdviceRecord, CriteriaRecord, FeatureRecord, ReasonRecord, SourceInfo, Tool, Verdict, ViewRecord,
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Name and version of the format of [`CompareRecord`].
pub const COMPARE_FORMAT: &str = "pitchline.compare/1";

/// Two pictures of one face, before and after it was cleaned or handled. Lengths are micrometres; places are in
/// the fibre frame, x right and y up with the key up.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "Face before and after")]
pub struct CompareRecord {
    /// Name and version of this format.
    #[schemars(extend("const" = COMPARE_FORMAT))]
    pub schema: String,
    /// The program that wrote it.
    pub tool: Tool,
    /// Id of the layout.
    pub layout: String,
    /// The criteria that both were graded by.
    pub criteria: CriteriaRecord,
    /// True if the pictures prove to be of one face, with odds of a thousand to one or better; false if they do
    /// not tell. Pictures that cannot be of one face are refused and give no document.
    pub same_face: bool,
    /// Verdict of the array before.
    pub verdict_before: Verdict,
    /// Verdict of the array after.
    pub verdict_after: Verdict,
    /// One for every populated position of the layout, in order of position.
    pub positions: Vec<ChangesRecord>,
    /// What `same_face` rests on.
    pub evidence: EvidenceRecord,
    /// Numbers over all positions.
    pub totals: TotalsRecord,
    /// Every look of a series of more than two, of which this compares the first with the last; else empty.
    #[serde(default)]
    pub series: Vec<LookRecord>,
    /// What to do about what stayed and what came.
    #[serde(default)]
    pub advice: AdviceRecord,
    /// The first face's pictures.
    pub before: SideRecord,
    /// The second face's pictures.
    pub after: SideRecord,
}

/// Where one of the two was seen.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SideRecord {
    /// Its pictures.
    pub sources: Vec<SourceInfo>,
    /// How the camera shows the face: as stated, or turned as `evidence.turned` says.
    pub view: ViewRecord,
}

/// Why the two pictures are taken to be of one face.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct EvidenceRecord {
    /// Decimal logarithm of the odds for one face, by the fibres' places and widths and by marks found again.
    pub log10_odds: Option<f64>,
    /// Fibres that were found in both.
    pub fibres: usize,
    /// Median over them of how far a centre lies elsewhere than before, what is common to the row taken away, um.
    pub apart_um: Option<f64>,
    /// Median distance of the fibres from their sites, um: so much would two ferrules differ.
    pub eccentricity_um: Option<f64>,
    /// Marks that were found again.
    pub marks: usize,
    /// Fibres whose pictures were held against each other pixel by pixel. 0 where a face came without its pictures, and
    /// in documents of versions that did not do so: then the marks alone tell what became of them.
    #[serde(default)]
    pub pictures: usize,
    /// How the second picture shows the face against what was stated.
    pub turned: Turned,
}

/// How a picture shows the face against what was stated.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Turned {
    /// As stated.
    AsStated,
    /// Turned by 180 degrees.
    HalfTurn,
    /// With left and right exchanged.
    Mirrored,
    /// Mirrored and turned.
    MirroredHalfTurn,
}

/// Numbers of marks.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct TotalsRecord {
    /// Gone.
    pub removed: usize,
    /// There both times.
    pub remaining: usize,
    /// Of those, larger than before.
    pub grown: usize,
    /// Come.
    pub new: usize,
    /// Of those gone and come, the same mark elsewhere.
    pub moved: usize,
    /// Not to be told.
    pub unsure: usize,
}

/// What changed at one position.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ChangesRecord {
    /// The standard's number.
    pub position: u16,
    /// Its verdict before.
    pub verdict_before: Verdict,
    /// Its verdict after.
    pub verdict_after: Verdict,
    /// Marks that went, as they were before.
    pub removed: Vec<ChangedFeature>,
    /// Marks that stayed, as they are after.
    pub remaining: Vec<KeptFeature>,
    /// Marks that went from here and lie elsewhere; each is among `removed` here and among `new` there too.
    pub moved: Vec<MovedFeature>,
    /// Marks that came, as they are after.
    pub new: Vec<ChangedFeature>,
    /// Marks of one picture of which the other tells nothing.
    pub unsure: Vec<UnsureFeature>,
    /// Why it fails or could not be graded after; empty on a pass.
    pub reasons: Vec<ReasonRecord>,
    /// Probability after that the true sizes hold every limit, as in its face.json; null if nothing could be counted,
    /// and in documents of versions that did not tell it.
    #[serde(default)]
    pub conformity_after: Option<f64>,
    /// Row from 1 at the top.
    pub row: u16,
    /// Column from 1 at the left; unpopulated columns count.
    pub column: u16,
    /// The position at the other end of the cable; null if no cable was stated.
    pub far: Option<u16>,
}

/// A mark that came or went: the feature, and how likely that is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ChangedFeature {
    /// The feature as in its face.json.
    #[serde(flatten)]
    pub feature: FeatureRecord,
    /// How likely it is that it came or went, rather than was not seen in the other picture, 0 to 1.
    pub likelihood: f64,
    /// Whether a broken rule counts it on its own face; of a part never, as the whole is counted.
    pub breaks_limit: bool,
    /// Whether it is a part of the mark of that id in its face.json: what touches or lies on something that stayed,
    /// or, where the whole is listed too, a lobe of it behind a neck, which is mostly a mark of its own that
    /// touches the rest.
    #[serde(default)]
    pub part: bool,
}

/// A mark that stayed: the feature, and what it was.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct KeptFeature {
    /// The feature as in the second face.json.
    #[serde(flatten)]
    pub feature: FeatureRecord,
    /// Ids that it has in the first face.json; several where marks are seen as one afterwards, none
    /// where it was not told there and the first picture shows it in its place all the same.
    pub before_ids: Vec<u32>,
    /// Size of the first of them, um.
    pub size_before_um: Option<f64>,
    /// Larger than it was, beyond what the pictures leave open.
    pub grown: bool,
    /// A particle or film now, and smaller than it was, likewise.
    #[serde(default)]
    pub shrunk: bool,
    /// Whether a broken rule counts it after.
    pub breaks_limit: bool,
}

/// A mark that went from one place and lies at another.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct MovedFeature {
    /// As it was before.
    pub from: FeatureRecord,
    /// As it is after.
    pub to: FeatureRecord,
    /// The position where it lies now.
    pub to_position: u16,
    /// How likely it is that it is the same, 0 to 1.
    pub likelihood: f64,
}

/// A mark of one picture of which the other tells nothing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct UnsureFeature {
    /// The feature as in its face.json.
    #[serde(flatten)]
    pub feature: FeatureRecord,
    /// The picture that shows it.
    pub seen: Seen,
    /// Why the other one tells nothing.
    pub doubt: Doubt,
    /// Whether a broken rule counts it on its own face.
    pub breaks_limit: bool,
}

/// Which picture shows a mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Seen {
    /// The first.
    Before,
    /// The second.
    After,
}

/// Why nothing is told of a mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Doubt {
    /// It is so faint that the other picture need not show it.
    Faint,
    /// In the other picture something else lies over its place.
    Covered,
    /// A film on the same fibre is so much stronger that this may be what the film does to the light about it.
    Film,
    /// The other picture does not show this fibre.
    NotShown,
}

impl CompareRecord {
    /// The document as JSON text, a newline at the end.
    ///
    /// # Errors
    /// `serde_json`'s; none is known for a record, but half a document must never be written.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        crate::json::to_text(self)
    }
}
