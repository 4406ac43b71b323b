//! What is told of two pictures of one face: the versioned record, terminal text and a map of both sides.

mod build;
mod marks;
mod page;
mod record;
mod series;
pub(crate) mod tell;

pub use build::CompareInputs;
pub use page::map;
pub use record::*;
pub use series::{LookPosition, LookRecord};
pub use tell::{advice, sameness, summary, totals, why};
