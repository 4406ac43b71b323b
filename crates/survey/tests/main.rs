//! The survey on rendered faces, whose truth the renderer tells. One module for each thing that the survey
//! promises; each fails without the stage of looking that it is about.

#![allow(clippy::unwrap_used, clippy::panic)]

mod again;
mod agreement;
mod bent;
mod centres;
mod clean;
#[path = "../../synth/tests/common/mod.rs"]
mod common;
mod cores;
mod crossings;
mod effects;
mod ferrule;
mod films;
mod flaws;
mod hints;
mod marks;
mod numbering;
mod refused;
mod scale;
mod scene;
mod seams;
mod stepped;
mod threads;
