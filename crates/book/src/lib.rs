//! The history of a job as plain values, and what follows from it: what a dirty face touched, what must be looked at
//! before hand-over, whether the chain of records is whole. Storing it, reading pictures and grading are left to others.

mod chain;
mod history;
mod owed;
mod trace;

pub use chain::{Broken, Link, walk};
pub use history::{Event, History};
pub use owed::{Debt, Owed, owed};
pub use trace::{Exposure, Finding, Trace, trace};
