//! What is told about a graded face: the versioned record and its schema, terminal text, and the map as SVG
//! and PNG. Decides nothing: every verdict comes from `grade`, every number from the survey. Touches no file.

pub mod chain;
pub mod compare;
mod draw;
pub mod json;
pub mod lit;
pub mod map;
pub mod markup;
pub mod mated;
pub mod pairs;
pub mod record;
pub mod schema;
pub mod study;
mod tell;
pub mod terminal;

/// The bundled fonts.
pub mod font {
    pub use crate::draw::font::{UNITS_PER_EM, Weight, bytes, shown, spelled};
}

/// The marks of a face as they are drawn.
pub mod marks {
    pub use crate::pairs::outline;
}

pub use tell::{advice, numbers, percent, retake, ungraded_in_short, unnumbered, view, whys};

pub use record::{Care, FACE_PICTURE, FaceInputs, FaceRecord, ReadError, SourceInfo, Wiring};
