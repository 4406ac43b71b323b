//! Tests of what the crate says, over its public items.

mod record;
mod sample;
mod terminal;
