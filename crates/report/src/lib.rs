//! Records, schema, terminal text and maps.
