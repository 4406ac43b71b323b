//! The program as its users meet it, and the walls between its crates. Pictures are made by `synth`, by other
//! programs (`fixtures/`) or byte by byte.

#![allow(clippy::panic, clippy::unwrap_used)]

mod advice;
mod bad_input;
mod book;
mod book_proof;
mod book_unsaid;
mod criteria;
mod door;
mod faces;
mod guard;
mod handed_doubts;
mod handmade;
mod handover;
mod help;
mod hostile;
mod killed;
mod led;
mod made_up;
mod outside;
mod pages;
mod pairs;
mod printing;
mod properties;
mod readme;
mod run;
mod same_face;
mod stepped;
mod study;
mod supply;
mod unwritable;
mod walls;
