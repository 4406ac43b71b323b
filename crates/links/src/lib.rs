//! What was measured through a cable rather than seen on its faces: tier 1, loss and length, from tables; tier 2,
//! OTDR traces, from exchange files; and both joined to the cables of a job by identifier. Judges nothing: a verdict
//! here is what the instrument's file says. Touches no file.

pub mod join;
pub mod loss;
pub mod mapping;
mod number;
pub mod sor;

pub use join::{Joined, Known, Measured, join};
pub use loss::{LossRow, LossTable, TableError, Told, read_table};
pub use mapping::{Mapping, MappingError};
pub use sor::{SorError, Trace, read_trace};
