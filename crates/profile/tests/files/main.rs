//! The files under profiles/ against the standards that they restate, and bad files against the sentences
//! that a user is to read.

#![allow(clippy::unwrap_used, clippy::panic)]

mod advice;
mod applications;
mod bad_criteria;
mod bad_others;
mod cables;
mod chains;
#[path = "../../../grade/tests/grading/faces.rs"]
mod faces;
mod flips;
mod guide;
mod layouts;
mod mangled;
mod never_a_pass;
mod random;
mod refused;
mod tables;
mod tables_test;
mod traced;
