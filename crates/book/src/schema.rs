//! JSON Schemas of the documents, made from their types. The committed files are compared with these in a test.

use crate::tell_owed::OwedRecord;
use crate::tell_trace::TraceRecord;

/// The schema of what `pitchline book trace --json` prints, as the text of `profiles/schema/trace.schema.json`.
///
/// # Errors
/// `serde_json`'s; none is known for a schema.
pub fn trace() -> Result<String, serde_json::Error> {
    serde_json::to_string_pretty(&schemars::schema_for!(TraceRecord)).map(|text| text + "\n")
}

/// The schema of what `pitchline book owed --json` prints, as the text of `profiles/schema/owed.schema.json`.
///
/// # Errors
/// As [`trace`].
pub fn owed() -> Result<String, serde_json::Error> {
    serde_json::to_string_pretty(&schemars::schema_for!(OwedRecord)).map(|text| text + "\n")
}
