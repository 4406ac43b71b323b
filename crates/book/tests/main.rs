//! Histories of our own invention with a known culprit, and chains changed in every way.

#![allow(clippy::panic, clippy::unwrap_used)]

mod chain;
mod schema;
mod store;
mod trace;
