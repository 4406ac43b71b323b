//! JSON Schemas of the documents, made from their types. The committed files are compared with these in a test.

use crate::record::FaceRecord;

/// The schema of `face.json` (draft 2020-12), as the text of `profiles/schema/face.schema.json`.
pub fn face() -> String {
    // A schema holds no map with keys other than strings, so that nothing in it can fail to become JSON.
    crate::json::to_text(&schemars::schema_for!(FaceRecord)).unwrap_or_default()
}
