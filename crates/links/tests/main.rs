//! Tables and traces: read, refused and joined.

#![allow(clippy::unwrap_used, reason = "a fixture that is not there fails the test")]

mod damage;
mod joining;
mod tables;
mod traces;
mod writer;
