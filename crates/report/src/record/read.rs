//! Reads a `face.json` written earlier, and refuses one that is foreign, of another version or damaged with
//! one sentence.

use super::faults::fault;
use super::{FACE_FORMAT, FaceRecord, Verdict};
use serde_json::Value;

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

/// The verdict of a whole by the grader's own rule.
pub(super) fn whole(parts: impl Iterator<Item = Verdict>) -> Verdict {
    grade::Verdict::of_parts(parts.map(Into::into)).into()
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
