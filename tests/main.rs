//! The program as its users meet it, and the walls between its crates. Pictures are made by `synth`, by other
//! programs (`fixtures/`) or byte by byte.

#![allow(clippy::unwrap_used)]

mod door;
mod handmade;
mod outside;
