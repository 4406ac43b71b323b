//! JSON Schemas of the documents, made from their types. The committed files are compared with these in a test.

use crate::compare::CompareRecord;
use crate::mated::MatedRecord;
use crate::record::FaceRecord;

/// The schema of `face.json` (draft 2020-12), as the text of `profiles/schema/face.schema.json`.
pub fn face() -> String {
    // A schema holds no map with keys other than strings, so that nothing in it can fail to become JSON.
    crate::json::to_text(&schemars::schema_for!(FaceRecord)).unwrap_or_default()
}

/// The schema of `compare.json`, as the text of `profiles/schema/compare.schema.json`.
pub fn compare() -> String {
    crate::json::to_text(&schemars::schema_for!(CompareRecord)).unwrap_or_default()
}

/// The schema of `mated.json`, as the text of `profiles/schema/mated.schema.json`.
pub fn mated() -> String {
    crate::json::to_text(&schemars::schema_for!(MatedRecord)).unwrap_or_default()
}
