//! The `pitchline` program.
fn main() {}
