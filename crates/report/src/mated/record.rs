//! `mated.json` as types. The schema is made from them; a key is added freely, and none is renamed or removed
//! without a new version.

use crate::compare::SideRecord;
use crate::record::{AdviceRecord, CriteriaRecord, Kind, ReasonRecord, Tool, Verdict};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Name and version of the format of [`MatedRecord`].
pub const MATED_FORMAT: &str = "pitchline.mated/1";

/// Two faces that were mated, or are to be. Lengths are micrometres; places are in the fibre frame of each face, x
/// right and y up with its own key up.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "Two mated faces")]
pub struct MatedRecord {
    /// Name and version of this format.
    #[schemars(extend("const" = MATED_FORMAT))]
    pub schema: String,
    /// The program that wrote it.
    pub tool: Tool,
    /// Id of the layout of both.
    pub layout: String,
    /// The criteria that both were graded by.
    pub criteria: CriteriaRecord,
    /// How they meet.
    pub adapter: AdapterWord,
    /// Whether that was stated; where it was not, the marks that lie on both faces tell it.
    pub adapter_stated: bool,
    /// Marks of the one face that lie on marks of the other, likelier one dirt than two; in order of `position_a`.
    pub transfers: Vec<TransferRecord>,
    /// Positions that the dirt of the other face endangers, those of face a first. What is said of a position
    /// holds if all of that dirt went over.
    pub at_risk: Vec<AtRiskRecord>,
    /// Verdict of face a.
    pub verdict_a: Verdict,
    /// Verdict of face b.
    pub verdict_b: Verdict,
    /// Which position faces which, in order of `position_a`.
    pub facing: Vec<FacingRecord>,
    /// How the faces lie against each other beyond the adapter's map, as the transfers tell it.
    pub meeting: MeetingRecord,
    /// Whether both faces are angled and their keys aligned: two like angles then leave a wedge between them, so
    /// that one of the two must be of the other angle.
    pub wedge: bool,
    /// Another adapter that the marks tell of, a thousand to one against the one that was stated; null if none.
    pub otherwise: Option<OtherwiseRecord>,
    /// Positions of face a that its picture does not show well enough to count anything: nothing is told of their dirt.
    #[serde(default)]
    pub unseen_a: Vec<u16>,
    /// The same of face b.
    #[serde(default)]
    pub unseen_b: Vec<u16>,
    /// What to mind before the faces are touched.
    #[serde(default)]
    pub cautions: Vec<String>,
    /// What to do; its steps name the positions of both faces in words.
    #[serde(default)]
    pub advice: AdviceRecord,
    /// The first face's pictures.
    pub a: SideRecord,
    /// The second face's pictures.
    pub b: SideRecord,
}

/// How the faces would agree by the other adapter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct OtherwiseRecord {
    /// The other adapter.
    pub adapter: AdapterWord,
    /// Marks that would lie on both faces by it.
    pub transfers: usize,
}

/// How the keys of two connectors lie in an adapter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum AdapterWord {
    /// Key up to key down: the point (x, y) of one face lies on (x, -y) of the other.
    TypeA,
    /// Key up to key up: (x, y) lies on (-x, y).
    TypeB,
}

/// A mark of each face, likely one dirt.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct TransferRecord {
    /// Position on face a.
    pub position_a: u16,
    /// Position on face b, which it faces.
    pub position_b: u16,
    /// Where the mark lies on face a, um.
    pub centre_um_a: [f64; 2],
    /// Where it lies on face b, um.
    pub centre_um_b: [f64; 2],
    /// Its size on face a, um.
    pub size_um_a: f64,
    /// Its size on face b, um.
    pub size_um_b: f64,
    /// How likely it is that the two are one dirt and not two marks that happen to lie so, 0 to 1.
    pub likelihood: f64,
    /// Its number in the face.json of face a.
    pub id_a: u32,
    /// Its number in the face.json of face b.
    pub id_b: u32,
    /// What it looks like on face a.
    pub kind_a: Kind,
    /// What it looks like on face b.
    pub kind_b: Kind,
    /// How far it lies on face b from where the mark of face a is pressed to, um.
    pub apart_um: f64,
    /// Whether a broken rule counts it on face a.
    pub breaks_limit_a: bool,
    /// Whether a broken rule counts it on face b.
    pub breaks_limit_b: bool,
}

/// A position that the other face's dirt endangers.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct AtRiskRecord {
    /// The face that is endangered.
    pub face: FaceWord,
    /// Its position.
    pub position: u16,
    /// Why: `facing-dirt` (the dirt of the facing fibre alone would break a limit here) or `ferrule-dirt` (a mark on
    /// the other ferrule lies near this fibre).
    pub reasons: Vec<ReasonRecord>,
    /// The marks of the facing fibre that would break the limit.
    pub marks: Vec<RiskRecord>,
    /// The marks on the other ferrule that would lie near.
    #[serde(default)]
    pub ferrule: Vec<FerruleRecord>,
}

/// A mark on the other ferrule that would lie near an endangered position.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct FerruleRecord {
    /// Its size, um.
    pub size_um: Option<f64>,
    /// How far from the fibre's centre its own would lie, um.
    pub gap_um: Option<f64>,
}

/// A mark of the other face that endangers a position.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct RiskRecord {
    /// Its position on the other face.
    pub position: u16,
    /// Its number in the other face's face.json.
    pub id: u32,
    /// Where it would be pressed to, fibre frame of the endangered position, um.
    pub centre_um: Option<[f64; 2]>,
}

/// Which of the two faces.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum FaceWord {
    /// The first.
    A,
    /// The second.
    B,
}

/// Two positions that face each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct FacingRecord {
    /// Position on face a.
    pub position_a: u16,
    /// Its row on face a, from 1 at the top.
    pub row_a: u16,
    /// Its column on face a, from 1 at the left.
    pub column_a: u16,
    /// Its verdict.
    pub verdict_a: Verdict,
    /// Position on face b.
    pub position_b: u16,
    /// Its verdict.
    pub verdict_b: Verdict,
    /// The position that `position_a` reaches at the other end of the cable behind face a; null if no cable was
    /// stated.
    pub far_a: Option<u16>,
}

/// Shift and turn of face b against where the adapter's map puts it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct MeetingRecord {
    /// Shift to the right on face b, um.
    pub x_um: Option<f64>,
    /// Shift up, um.
    pub y_um: Option<f64>,
    /// Turn from x towards y, degrees.
    pub turn_deg: Option<f64>,
    /// Standard uncertainty of the shift along each axis, um.
    pub u_um: Option<f64>,
}

impl MatedRecord {
    /// The document as JSON text, a newline at the end.
    ///
    /// # Errors
    /// `serde_json`'s; none is known for a record, but half a document must never be written.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        crate::json::to_text(self)
    }

    /// Positions of a face that are at risk, in order.
    pub fn risky(&self, face: FaceWord) -> impl Iterator<Item = &AtRiskRecord> {
        self.at_risk.iter().filter(move |risk| risk.face == face)
    }

    /// Positions of a face of which its picture tells nothing, in order.
    pub fn unseen(&self, face: FaceWord) -> &[u16] {
        match face {
            FaceWord::A => &self.unseen_a,
            FaceWord::B => &self.unseen_b,
        }
    }

    /// Positions of a face of whose risk nothing is known, for what faces them was not seen; in order.
    pub fn unknown(&self, face: FaceWord) -> Vec<u16> {
        let not_at_risk = |at: &u16| !self.risky(face).any(|risk| risk.position == *at);
        let pairs = self.facing.iter().map(|f| match face {
            FaceWord::A => (f.position_a, f.position_b),
            FaceWord::B => (f.position_b, f.position_a),
        });
        let other = self.unseen(face.other());
        let mut unknown: Vec<u16> = pairs
            .filter(|(_, there)| other.contains(there))
            .map(|(here, _)| here)
            .filter(not_at_risk)
            .collect();
        unknown.sort_unstable();
        unknown
    }
}

impl FaceWord {
    /// The face that meets this one.
    #[must_use]
    pub const fn other(self) -> FaceWord {
        match self {
            FaceWord::A => FaceWord::B,
            FaceWord::B => FaceWord::A,
        }
    }

    /// The letter shown to people.
    pub const fn letter(self) -> char {
        match self {
            FaceWord::A => 'A',
            FaceWord::B => 'B',
        }
    }
}

impl AdapterWord {
    /// The word as it stands in the document.
    pub const fn word(self) -> &'static str {
        match self {
            AdapterWord::TypeA => "type-a",
            AdapterWord::TypeB => "type-b",
        }
    }
}
