//! The commands, each from its arguments to an exit status.

pub mod chain;
pub mod compare;
pub mod criteria;
pub mod demo;
pub mod extras;
pub mod grade;
pub mod handover;
pub mod mated;
pub mod polarity;
pub mod study;
pub mod synth;
