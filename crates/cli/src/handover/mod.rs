//! What `pitchline handover` reads: a folder of graded faces with their pictures, a table of losses, traces.

pub mod folder;
pub mod from_book;
pub mod measured;
mod modes;
mod outline;
mod pictures;
mod since;
