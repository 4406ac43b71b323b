//! What is recorded, and the bytes that are hashed: JSON without blanks, keys in the order of the types, the version
//! first. Neither the machine nor how long it took is part of a record: two runs over the same pictures agree.

use crate::chain::Link;
use crate::face::Face;
use crate::hash::Hash;
use crate::moment::Moment;
use grade::Verdict;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The version of every record that this program writes.
pub const VERSION: u32 = 1;

/// One record of the book.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "lowercase", deny_unknown_fields)]
pub enum Record {
    /// The first of every chain.
    Book {
        /// What the book is called.
        name: String,
    },
    /// A face that belongs to the job, or a cord of its crew.
    Connector {
        /// The face.
        face: Face,
        /// What it is for.
        role: Role,
    },
    /// A look at a face.
    Inspection(Inspection),
    /// Two faces that met.
    Mating(Mating),
    /// A face that was cleaned.
    Cleaning(Cleaning),
    /// A record that was entered by mistake.
    Withdrawal(Withdrawal),
    /// Another book whose records were taken over.
    Merge {
        /// The last link of that book's own chain.
        head: Link,
    },
}

/// What a face is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Role {
    /// It is handed over.
    Connector,
    /// It belongs to a reference cord, which is not handed over and touches many.
    Cord,
}

/// How a face was cleaned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum How {
    /// Without solvent.
    Dry,
    /// With solvent, and then dry.
    Wet,
}

/// How two faces meet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum Adapter {
    /// Key up to key down.
    #[serde(rename = "type-a")]
    TypeA,
    /// Key up to key up.
    #[serde(rename = "type-b")]
    TypeB,
}

/// Two faces that met.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Mating {
    /// One of them.
    pub a: Face,
    /// The other.
    pub b: Face,
    /// Through which adapter, if it was told.
    pub adapter: Option<Adapter>,
    /// When.
    pub when: Moment,
    /// By whom, if it was told.
    pub who: Option<String>,
}

/// A face that was cleaned.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cleaning {
    /// The face.
    pub face: Face,
    /// With solvent or without, if it was told.
    pub how: Option<How>,
    /// When.
    pub when: Moment,
    /// By whom, if it was told.
    pub who: Option<String>,
}

/// That a record counts no more. The record itself stays in the chain: nothing that was once told is hidden.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Withdrawal {
    /// The link of that record.
    pub record: Link,
    /// Why it was a mistake.
    pub why: String,
    /// When it was withdrawn.
    pub when: Moment,
    /// By whom, if it was told.
    pub who: Option<String>,
}

/// A look at a face.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Inspection {
    /// The face.
    pub face: Face,
    /// When its picture was taken.
    pub when: Moment,
    /// By whom, if it was told.
    pub who: Option<String>,
    /// The pictures in order of step, each stored by its hash.
    pub pictures: Vec<Pictured>,
    /// By what it was graded.
    pub by: By,
    /// What was found.
    pub verdict: Found,
    /// The hash of face.json, which is stored beside the records.
    pub document: Hash,
    /// The version of the program that graded.
    pub tool: String,
}

/// A picture of a look.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Pictured {
    /// The name of its file, without folders.
    pub file: String,
    /// The hash of its bytes.
    pub sha256: Hash,
}

/// By what a face was graded. Texts of layout and criteria are stored by their hashes.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct By {
    /// The layout's text.
    pub layout: Hash,
    /// The criteria's text.
    pub criteria: Hash,
    /// Whether the key is down in the picture.
    pub key_down: bool,
    /// Whether left and right are exchanged in the picture.
    pub mirrored: bool,
    /// Micrometres per pixel, if stated: the shortest decimals that give the number back.
    pub scale: Option<String>,
    /// The risk for which limits are drawn in, if stated, likewise.
    pub guard: Option<String>,
}

/// The word of a verdict.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Found {
    /// Every position passes.
    Pass,
    /// A position fails.
    Fail,
    /// Not all positions could be graded, and none fails.
    Ungraded,
}

impl From<Verdict> for Found {
    fn from(verdict: Verdict) -> Found {
        match verdict {
            Verdict::Pass => Found::Pass,
            Verdict::Fail => Found::Fail,
            Verdict::Ungraded => Found::Ungraded,
        }
    }
}

impl From<Found> for Verdict {
    fn from(found: Found) -> Verdict {
        match found {
            Found::Pass => Verdict::Pass,
            Found::Fail => Verdict::Fail,
            Found::Ungraded => Verdict::Ungraded,
        }
    }
}

/// Why bytes are no record.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoRecord {
    /// Written by a later program.
    #[error("it is of version {0}, and this program reads version {VERSION}; use a newer pitchline")]
    Newer(u32),
    /// Anything else.
    #[error("it is damaged: {0}")]
    Damaged(String),
}

#[derive(Serialize, Deserialize)]
struct Versioned<R> {
    version: u32,
    #[serde(flatten)]
    record: R,
}

#[derive(Deserialize)]
struct OnlyVersion {
    version: u32,
}

impl Record {
    /// The faces that something happened to.
    pub fn faces(&self) -> Vec<&Face> {
        match self {
            Record::Inspection(look) => vec![&look.face],
            Record::Mating(mating) => vec![&mating.a, &mating.b],
            Record::Cleaning(cleaning) => vec![&cleaning.face],
            Record::Book { .. } | Record::Connector { .. } | Record::Merge { .. } | Record::Withdrawal(_) => {
                vec![]
            }
        }
    }

    /// Whether it tells of a face: what happened to it, or what it is for.
    pub fn tells_of(&self, wanted: &Face) -> bool {
        match self {
            Record::Connector { face, .. } => face == wanted,
            other => other.faces().contains(&wanted),
        }
    }

    /// The bytes that are stored and hashed.
    ///
    /// # Errors
    /// `serde_json`'s; none is known for a record, but half a record must never be chained.
    pub fn bytes(&self) -> Result<Vec<u8>, serde_json::Error> {
        serde_json::to_vec(&Versioned { version: VERSION, record: self })
    }

    /// The record that bytes hold.
    ///
    /// # Errors
    /// [`NoRecord`], one sentence.
    pub fn parse(bytes: &[u8]) -> Result<Record, NoRecord> {
        let damaged = |e: serde_json::Error| NoRecord::Damaged(e.to_string());
        let OnlyVersion { version } = serde_json::from_slice(bytes).map_err(damaged)?;
        if version != VERSION {
            return Err(NoRecord::Newer(version));
        }
        serde_json::from_slice::<Versioned<Record>>(bytes).map(|v| v.record).map_err(damaged)
    }
}

impl Inspection {
    /// What makes a look the same look: the face, the pictures' bytes and by what they were graded.
    ///
    /// # Errors
    /// `serde_json`'s, as [`Record::bytes`].
    pub fn key(face: &Face, pictures: &[Pictured], by: &By) -> Result<Hash, serde_json::Error> {
        let pictures: Vec<&Hash> = pictures.iter().map(|p| &p.sha256).collect();
        serde_json::to_vec(&(face, pictures, by)).map(|bytes| Hash::of(&bytes))
    }

    /// What it was graded from, whatever it was graded by.
    pub fn shown(&self) -> Vec<Hash> {
        let mut shown: Vec<Hash> = self.pictures.iter().map(|told| told.sha256).collect();
        shown.sort();
        shown
    }
}
