//! Criteria, layouts and settings as checked TOML files.
