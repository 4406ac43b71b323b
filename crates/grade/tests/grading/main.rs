//! The zone engine and the polarity maps, with criteria made up here. The standard's own tables are checked
//! where their files are read, in `profile`.

#![allow(clippy::unwrap_used, clippy::panic)]

mod channels;
mod conformity;
mod engine;
mod faces;
mod mated;
mod modes;
mod near_limit;
mod reasons;
mod rules;
mod zones;
