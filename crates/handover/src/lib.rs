//! The hand-over of a job: one value that holds everything, and pure functions that make of it a page for the job and
//! one for each cable (HTML, PDF), and tables for machines (CSV, JSON Lines, Parquet). Decides nothing: every verdict comes from
//! the records. Touches no file and no clock: the date is the one that is stated.

mod build;
pub mod columns;
mod drawing;
pub mod html;
pub mod job;
pub mod page;
pub mod pdf;
pub mod standouts;
pub mod tables;

pub use build::{cable_page, file_stem, is_cable_file, is_own_page, job_page, of};
pub use job::{Cable, Connector, Cord, Happening, Inspection, Job, Mating, Origin, Owed, Picture};
pub use page::Page;
