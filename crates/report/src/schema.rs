//! JSON Schemas of the documents, made from their types. The committed files are compared with these in a test.

use crate::chain::ChainRecord;
use crate::compare::CompareRecord;
use crate::lit::LitRecord;
use crate::mated::MatedRecord;
use crate::record::FaceRecord;
use crate::study::StudyRecord;

/// The schema of `face.json` (draft 2020-12), as the text of `profiles/schema/face.schema.json`.
///
/// # Errors
/// `serde_json`'s, as [`crate::json::to_text`].
pub fn face() -> Result<String, serde_json::Error> {
    crate::json::to_text(&schemars::schema_for!(FaceRecord))
}

/// The schema of `compare.json`, as the text of `profiles/schema/compare.schema.json`.
///
/// # Errors
/// As [`face`].
pub fn compare() -> Result<String, serde_json::Error> {
    crate::json::to_text(&schemars::schema_for!(CompareRecord))
}

/// The schema of `mated.json`, as the text of `profiles/schema/mated.schema.json`.
///
/// # Errors
/// As [`face`].
pub fn mated() -> Result<String, serde_json::Error> {
    crate::json::to_text(&schemars::schema_for!(MatedRecord))
}

/// The schema of `study.json`, as the text of `profiles/schema/study.schema.json`.
///
/// # Errors
/// As [`face`].
pub fn study() -> Result<String, serde_json::Error> {
    crate::json::to_text(&schemars::schema_for!(StudyRecord))
}

/// The schema of what `pitchline chain --json` prints, as the text of `profiles/schema/chain.schema.json`.
///
/// # Errors
/// As [`face`].
pub fn chain() -> Result<String, serde_json::Error> {
    crate::json::to_text(&schemars::schema_for!(ChainRecord))
}

/// The schema of what `pitchline polarity --json` prints, as the text of `profiles/schema/polarity.schema.json`.
///
/// # Errors
/// As [`face`].
pub fn polarity() -> Result<String, serde_json::Error> {
    crate::json::to_text(&schemars::schema_for!(LitRecord))
}
