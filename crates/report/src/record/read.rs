//! Reads a `face.json` written earlier, and refuses one that is foreign, of another version or damaged with
//! one sentence.

use super::{FACE_FORMAT, FaceRecord, PositionRecord, Verdict};
use serde_json::Value;
use std::collections::BTreeSet;

/// Why a text is no record of a graded face.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ReadError {
    /// Not JSON at all, or cut short.
    #[error("it is no JSON or is cut short (line {line}, column {column}); grade the picture again")]
    NotJson {
        /// Line from 1.
        line: usize,
        /// Column.
        column: usize,
    },
    /// JSON of something else.
    #[error("it is no face.json of pitchline: it has no `schema` that says so; grade the picture again")]
    Foreign,
    /// Another version or another document.
    #[error("it says `{found}` where this program reads `{FACE_FORMAT}`; grade the picture again")]
    OtherFormat {
        /// What it says.
        found: String,
    },
    /// A key is missing or holds what it cannot.
    #[error("it is damaged: {what}; grade the picture again")]
    Damaged {
        /// What and where.
        what: String,
    },
}

impl FaceRecord {
    /// The record that a text holds.
    ///
    /// # Errors
    /// [`ReadError`], one sentence.
    pub fn parse(text: &str) -> Result<FaceRecord, ReadError> {
        let document: Value = serde_json::from_str(text.trim_start_matches('\u{feff}'))
            .map_err(|e| ReadError::NotJson { line: e.line(), column: e.column() })?;
        match document.get("schema").and_then(Value::as_str) {
            None => return Err(ReadError::Foreign),
            Some(FACE_FORMAT) => {}
            Some(found) => return Err(ReadError::OtherFormat { found: found.chars().take(60).collect() }),
        }
        let record: FaceRecord =
            serde_json::from_value(document).map_err(|e| ReadError::Damaged { what: e.to_string() })?;
        match fault(&record) {
            Some(what) => Err(ReadError::Damaged { what }),
            None => Ok(record),
        }
    }
}

/// What contradicts itself in a record.
fn fault(record: &FaceRecord) -> Option<String> {
    let numbers: BTreeSet<u16> = record.positions.iter().map(|p| p.position).collect();
    if record.positions.is_empty() || numbers.len() < record.positions.len() {
        return Some("`positions` is empty or names a position twice".to_owned());
    }
    if record.poses.len() != record.sources.len() {
        return Some("`poses` and `sources` are not equally long".to_owned());
    }
    let flat = |m: &[[f64; 2]; 2]| (m[0][0] * m[1][1] - m[0][1] * m[1][0]).abs() < 1e-9;
    if record.poses.iter().filter_map(|pose| pose.px_per_um.as_ref()).any(flat) {
        return Some("`poses` holds a matrix that maps the face to a line".to_owned());
    }
    if record.verdict != whole(record) {
        return Some(format!("its verdict `{}` is not that of its positions", record.verdict.word()));
    }
    record.positions.iter().find_map(|p| fault_at(p, record.sources.len()))
}

/// By the grader's own rule.
fn whole(record: &FaceRecord) -> Verdict {
    grade::Verdict::of_parts(record.positions.iter().map(|p| p.verdict.into())).into()
}

fn fault_at(position: &PositionRecord, sources: usize) -> Option<String> {
    let n = position.position;
    if position.source.is_some_and(|s| s >= sources) {
        return Some(format!("position {n} names a source that there is not"));
    }
    let ids: BTreeSet<u32> = position.features.iter().map(|f| f.id).collect();
    if ids.len() < position.features.len() {
        return Some(format!("position {n} has two features of one id"));
    }
    let negative = position.features.iter().any(|f| f.size_um.is_some_and(|s| s < 0.0));
    negative.then(|| format!("position {n} has a feature of negative size"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(text: &str) -> String {
        FaceRecord::parse(text).unwrap_err().to_string()
    }

    #[test]
    fn what_is_no_face_is_said_in_one_sentence() {
        assert!(said("").starts_with("it is no JSON or is cut short (line 1, column 0)"));
        assert!(said("{\"schema\": \"pitchline.face/1\",").starts_with("it is no JSON or is cut short"));
        assert!(said("[1, 2]").starts_with("it is no face.json of pitchline"));
        assert!(said("{\"schema\": 3}").starts_with("it is no face.json of pitchline"));
        let other = said("{\"schema\": \"pitchline.face/9\"}");
        assert!(other.starts_with("it says `pitchline.face/9` where this program reads `pitchline.face/1`"));
        let bare = said("{\"schema\": \"pitchline.face/1\"}");
        assert!(bare.starts_with("it is damaged: missing field `tool`"), "{bare}");
    }
}
