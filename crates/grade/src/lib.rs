//! Grading: a survey's catalogue and a set of criteria in, verdicts out; the verdicts told by the channels of a
//! cable; one face compared with itself later, or with the face it was mated to. Pure; knows no pixel, file or
//! clock.

pub mod advice;
pub mod chain;
pub mod compare;
pub mod conformity;
mod cores;
mod count;
pub mod criteria;
mod engine;
pub mod lanes;
pub mod mated;
pub mod polarity;
pub mod traced;
pub mod verdict;
mod words;
mod zones;

pub use conformity::{Acceptance, Risk};
pub use cores::OTHER_MODE;
pub use criteria::{
    Allowed, Band, ConnectorClass, Counting, Criteria, CrossingRule, Faith, Measure, Mode, Rule, Source,
    Subject, Zone,
};
pub use engine::{grade, grade_by, grade_marks};
pub use polarity::{CableError, CableMap, Channel, Duplex, Strand, channels};
pub use verdict::{ArrayGrade, FibreGrade, Finding, Reason, Verdict};
