//! What a study found, for people and programs: the versioned record, a table for the terminal, and plots.

mod build;
mod plots;
mod record;
mod text;

pub use build::StudyInputs;
pub use plots::{PlotError, plots};
pub use record::*;
pub use text::text;
