//! The hand-over of made-up jobs: what the pages say and hold, what stands out, what machines get.

#![allow(clippy::unwrap_used, reason = "a part that is not there fails the test")]

mod figures;
mod made;
mod pages;
mod paper;
mod rows;
