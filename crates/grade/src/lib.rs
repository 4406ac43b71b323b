//! Grading: a survey's catalogue and a set of criteria in, verdicts out. Pure; knows no pixel, file or clock.

pub mod criteria;
pub mod verdict;

pub use criteria::{
    Allowed, Band, ConnectorClass, Counting, Criteria, CrossingRule, Faith, Measure, Mode, Rule, Source,
    Subject, Zone,
};
pub use verdict::{ArrayGrade, FibreGrade, Finding, Reason, Verdict};
