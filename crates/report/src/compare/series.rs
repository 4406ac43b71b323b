//! A face pictured more than twice: its verdicts from picture to picture and what each step took away and brought.

use super::record::CompareRecord;
use crate::record::{FaceRecord, SourceInfo, Verdict};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One look at the face, and what became of its marks since the look before.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LookRecord {
    /// Its pictures.
    pub sources: Vec<SourceInfo>,
    /// Verdict of the array.
    pub verdict: Verdict,
    /// One for every populated position of the layout, in order of position.
    pub positions: Vec<LookPosition>,
    /// The comparison with the look before, a document beside this one; null for the first.
    pub compared: Option<String>,
}

/// One position at one look.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct LookPosition {
    /// The standard's number.
    pub position: u16,
    /// Its verdict.
    pub verdict: Verdict,
    /// Marks gone since the look before.
    pub removed: usize,
    /// Marks that stayed since then.
    pub remaining: usize,
    /// Marks that came since then.
    pub new: usize,
}

impl LookRecord {
    /// The first look at a face.
    pub fn first(face: &FaceRecord) -> LookRecord {
        let position = |p: &crate::record::PositionRecord| LookPosition {
            position: p.position,
            verdict: p.verdict,
            removed: 0,
            remaining: 0,
            new: 0,
        };
        LookRecord {
            sources: face.sources.clone(),
            verdict: face.verdict,
            positions: face.positions.iter().map(position).collect(),
            compared: None,
        }
    }

    /// A later look, from its comparison with the one before, which is written under the name `file`.
    pub fn later(step: &CompareRecord, file: &str) -> LookRecord {
        let position = |p: &super::record::ChangesRecord| LookPosition {
            position: p.position,
            verdict: p.verdict_after,
            removed: p.removed.len(),
            remaining: p.remaining.len(),
            new: p.new.len(),
        };
        LookRecord {
            sources: step.after.sources.clone(),
            verdict: step.verdict_after,
            positions: step.positions.iter().map(position).collect(),
            compared: Some(file.to_owned()),
        }
    }
}
