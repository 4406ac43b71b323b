//! The book of a job: records chained by hash in one SQLite file, and what follows from them: what a dirty face touched,
//! what must be looked at before hand-over, whether all is as it was written. Reading pictures, grading and the clock are
//! left to others.

mod audit;
mod chain;
mod drawing;
mod face;
mod ferrule;
mod hash;
mod history;
mod moment;
mod owed;
mod record;
mod register;
pub mod schema;
mod shared;
mod store;
mod tell_owed;
mod tell_past;
mod tell_trace;
mod trace;

pub use audit::{Audit, Flaw, Flawed, audit};
pub use chain::{Link, link};
pub use drawing::trace_svg;
pub use face::{End, Face, NoFace};
pub use ferrule::{Stranger, strangers};
pub use hash::{Hash, NoHash};
pub use history::{Event, History};
pub use moment::{Moment, NoMoment};
pub use owed::{Debt, Owed, owed};
pub use record::{
    Adapter, By, Cleaning, Found, How, Inspection, Mating, NoRecord, Pictured, Record, Role, Withdrawal,
};
pub use register::{Known, Past, Register, Withdrawn};
pub use shared::{Shared, shared, sharing};
pub use store::{Access, Added, BookError, Entry, NoWithdrawal, Noted, Recorded, Seal, Store};
pub use tell_owed::{FaceOwed, OWED_FORMAT, OwedRecord, Reason, exposed_to};
pub use tell_trace::{Evidence, ExposureRecord, TRACE_FORMAT, TraceRecord};
pub use trace::{Exposure, Finding, Trace, trace, traces};
