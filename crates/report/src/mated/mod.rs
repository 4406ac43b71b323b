//! What is told of two faces that were mated, or are to be: the versioned record, terminal text and a map of both.

mod build;
mod page;
mod record;
pub(crate) mod tell;

pub use build::MatedInputs;
pub use page::map;
pub use record::*;
