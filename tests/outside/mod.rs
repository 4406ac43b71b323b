//! Geometry and pixel operations against other programs and published values: `fixtures/outside` holds the
//! values with program, version and recipe, and computes them anew.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a stored value that is not there fails the test")]

mod circles;
mod enclosing;
mod filters;
mod regions;
mod standouts;
mod store;
mod study;
mod widths;
