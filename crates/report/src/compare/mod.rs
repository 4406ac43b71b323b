//! What is told of two pictures of one face: the versioned record, terminal text and a map of both sides.

mod build;
mod record;

pub use build::CompareInputs;
pub use record::*;
