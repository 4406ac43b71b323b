//! Tests of what the crate says, over its public items.

// Helpers of tests stand outside of test functions, where clippy does not see that they are tests.
#![allow(clippy::unwrap_used)]

mod map;
mod record;
mod sample;
mod schemas;
mod study;
mod terminal;
