//! `face.json` as types. The schema is made from them; a key is added freely, and none is renamed or removed
//! without a new version.

mod advice;
mod build;
mod faults;
pub(crate) mod number;
mod position;
mod read;
mod seen;
mod source;
mod wiring;
mod words;

pub(crate) use advice::spot;
pub use advice::{AdviceRecord, Care, StepRecord};
pub use build::FaceInputs;
pub use position::{FeatureRecord, FindingRecord, HintRecord, PositionRecord, ReasonRecord, SourceNote};
pub use read::ReadError;
pub use source::SourceInfo;
pub use wiring::{
    ApplicationRecord, ChannelRecord, DuplexRecord, LaneRecord, PolarityRecord, SeenAt, Wiring,
};
pub use words::{
    CleanedWord, Core, Crossing, Faith, Guides, Key, Kind, Measure, ScaleMethod, Subject, Verdict,
};

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Name and version of the format of [`FaceRecord`].
pub const FACE_FORMAT: &str = "pitchline.face/1";

/// Name of the composed picture of a stepped run, beside its `face.json`.
pub const FACE_PICTURE: &str = "face.png";

/// One graded face. Lengths are micrometres, places in a picture pixels; numbers are finite or null.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "Graded face")]
pub struct FaceRecord {
    /// Name and version of this format.
    #[schemars(extend("const" = FACE_FORMAT))]
    pub schema: String,
    /// The program that wrote it.
    pub tool: Tool,
    /// The pictures, in order of step.
    pub sources: Vec<SourceInfo>,
    /// Id of the layout.
    pub layout: String,
    /// What the user stated of the view.
    pub view: ViewRecord,
    /// The criteria and the counting rules chosen in them.
    pub criteria: CriteriaRecord,
    /// The scale; the same for every source.
    pub scale: ScaleRecord,
    /// How well the picture shows the face.
    pub quality: QualityRecord,
    /// Fails if a position fails; else ungraded if one is; else passes.
    pub verdict: Verdict,
    /// The risk of accepting a mark exactly at a limit for which the limits were drawn in by a guard band; null for
    /// simple acceptance, which holds sizes to the limits as they were measured.
    pub guard_risk: Option<f64>,
    /// One for every populated position of the layout, in order of position.
    pub positions: Vec<PositionRecord>,
    /// The array's verdict told by channel; null if no cable was stated.
    pub polarity: Option<PolarityRecord>,
    /// The array's verdict told by lane; null if no application was stated.
    pub application: Option<ApplicationRecord>,
    /// What shows at the guide holes.
    pub guides: Guides,
    /// Marks on the ferrule, off the fibres, largest first: a reason to clean.
    pub face_marks: Vec<FaceMarkRecord>,
    /// What to do about what was found.
    #[serde(default)]
    pub advice: AdviceRecord,
    /// How the face was cleaned before the picture, in order, as it was stated; left out where nothing was.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cleaned: Vec<CleanedWord>,
    /// Where the face lies in each source.
    pub poses: Vec<PoseRecord>,
    /// How the pictures of a stepped run were put together; null for a single picture.
    pub stitch: Option<StitchRecord>,
}

/// How the pictures of a stepped run were put together to one.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct StitchRecord {
    /// The file of the composed picture, beside this document; null if none could be composed.
    pub picture: Option<String>,
    /// SHA-256 of that file's bytes, lower-case hexadecimal; null if it is not known.
    #[serde(default)]
    #[schemars(regex(pattern = r"^[0-9a-f]{64}$"))]
    pub picture_sha256: Option<String>,
    /// Where the face lies in it.
    pub pose: Option<PoseRecord>,
    /// Share of the face half a pitch about the sites that some picture shows, 0 to 1.
    pub coverage: Option<f64>,
    /// One for each source, in the same order.
    pub placements: Vec<PlacementRecord>,
    /// Dirt on the camera's optics: it stays at the same pixels whatever the pictures show.
    #[serde(default)]
    pub optics: Vec<OpticsRecord>,
    /// Marks that one picture shows and another does not, or that lie where the optics are dirty; in order of position.
    #[serde(default)]
    pub disagreements: Vec<DisagreementRecord>,
}

/// A spot at the same pixels of the pictures.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct OpticsRecord {
    /// Its middle in every source, pixel frame.
    pub centre_px: Option<[f64; 2]>,
    /// Its diameter, pixels.
    pub size_px: Option<f64>,
    /// Signed contrast against what lies about it, the median of the pictures.
    pub contrast: Option<f64>,
    /// Number of sources in which it shows.
    pub pictures: usize,
}

/// A mark on which the pictures do not agree.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct DisagreementRecord {
    /// The position.
    pub position: u16,
    /// The feature of the position that it is; null if it was left out of its features.
    pub feature: Option<u32>,
    /// What it looks like.
    pub kind: Kind,
    /// As a feature's, um.
    pub size_um: Option<f64>,
    /// As a feature's: fibre frame, um.
    pub centre_um: Option<[f64; 2]>,
    /// Closed polygon about it in the fibre frame, um.
    pub outline_um: Vec<[f64; 2]>,
    /// Index into `sources` of the picture that shows it.
    pub shown_in: usize,
    /// Index into `sources` of the picture that shows its place and not the mark; null if none tells.
    pub absent_in: Option<usize>,
    /// Index into `optics` of the spot that lies there; null if the optics are clean there: it has moved.
    pub optics: Option<usize>,
}

/// How one picture of a stepped run was put in its place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PlacementRecord {
    /// Whether its place on the face is known.
    pub placed: bool,
    /// Indices into `sources` of the pictures that it was found to overlap.
    pub linked: Vec<usize>,
    /// Root mean square of what is left between it and them, um; null without any.
    pub residual_um: Option<f64>,
}

/// The program that wrote a document.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Tool {
    /// Its name.
    pub name: String,
    /// Its version.
    pub version: String,
}

/// How the camera shows the face, as stated.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct ViewRecord {
    /// Where the key is.
    pub key: Key,
    /// Whether left and right are exchanged.
    pub mirrored: bool,
}

/// The criteria graded by.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CriteriaRecord {
    /// Id of the file.
    pub id: String,
    /// A line for people.
    pub title: String,
    /// The document.
    pub document: String,
    /// Its edition.
    pub edition: String,
    /// How sure the least sure of the limits is.
    pub faith: Faith,
    /// Whether all limits are known from memory only; false in documents of versions that did not tell it.
    #[serde(default)]
    pub all_from_memory: bool,
    /// Zones from the inside out.
    pub zones: Vec<ZoneRecord>,
    /// Rules that the document leaves open, as chosen.
    pub counting: CountingRecord,
}

/// A ring about the cladding's centre.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ZoneRecord {
    /// Its name.
    pub name: String,
    /// Inner diameter, um.
    pub from_um: f64,
    /// Outer diameter, um.
    pub to_um: f64,
}

/// The rules of counting that the document leaves open.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CountingRecord {
    /// Defects that touch two zones.
    pub defects_across: Crossing,
    /// Scratches that touch two zones.
    pub scratches_across: Crossing,
    /// How defects are sized.
    pub measure: Measure,
    /// Features smaller than this are listed and not counted, um.
    pub smallest_counted_um: f64,
    /// The smallest mark that the picture must be able to show, um.
    pub must_see_um: f64,
    /// Where these choices come from.
    pub source: SourceNote,
}

/// Micrometres per pixel.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ScaleRecord {
    /// Micrometres per pixel.
    pub um_per_px: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty: f64,
    /// Where it came from.
    pub method: ScaleMethod,
    /// Median cladding diameter over its nominal 125 um: 1 where it agrees with the scale; null without fibres.
    pub cladding_ratio: Option<f64>,
    /// Distance of the guide holes over its nominal: 1 where it agrees; null unless both show.
    pub guide_ratio: Option<f64>,
}

/// How well the picture as a whole shows the face.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct QualityRecord {
    /// Width of the cladding's edge from 10 % to 90 % of its step (median over the fibres), um; null without
    /// fibres.
    pub edge_width_um: Option<f64>,
    /// The smallest mark that is seen nine times in ten on every gradable fibre, um; null without one.
    pub smallest_gradable_um: Option<f64>,
    /// Whether the picture allows a verdict on at least one position.
    pub gradable: bool,
    /// Why it does not, or does for some positions only.
    pub reasons: Vec<ReasonRecord>,
    /// Standard deviation of the blur (median over the fibres), um; null without fibres.
    pub blur_um: Option<f64>,
}

/// A mark on the ferrule, off the fibres.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct FaceMarkRecord {
    /// Index into `sources`.
    pub source: usize,
    /// Where on the face, face frame, um: x right, y up with the key up, from the middle between the guide holes.
    pub centre_um: Option<[f64; 2]>,
    /// Smallest enclosing circle (diameter), um.
    pub size_um: Option<f64>,
    /// Signed contrast against the ferrule about it.
    pub contrast: Option<f64>,
    /// Whether it lies at a guide hole.
    pub at_guide: bool,
}

/// Carries the face frame into a source: pixel = origin + matrix * face.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PoseRecord {
    /// Pixel place of the face frame's origin.
    pub origin_px: Option<[f64; 2]>,
    /// Pixels per um: rows picture x, picture y; columns face x, face y; null if it is not known.
    pub px_per_um: Option<[[f64; 2]; 2]>,
}

impl FaceRecord {
    /// The document as JSON text: indented, keys in the order of the contract, a newline at the end.
    ///
    /// # Errors
    /// `serde_json`'s; none is known for a record, but half a document must never be written.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        crate::json::to_text(self)
    }

    /// Positions of that verdict, in order.
    pub fn with_verdict(&self, verdict: Verdict) -> impl Iterator<Item = &PositionRecord> {
        self.positions.iter().filter(move |p| p.verdict == verdict)
    }
}
