//! Looking: pictures in, a catalogue of positions and features out. Finds the lattice of fibres, fits each
//! cladding's edge, measures blur and noise, and lists the marks on the glass. Knows no limit.

mod again;
mod alarm;
mod arcs;
mod arms;
pub mod blobs;
mod corridor;
pub mod edge;
mod elsewhere;
mod error;
pub mod ferrule;
pub mod fibre;
pub mod glass;
mod ground;
pub mod hints;
mod level;
pub mod lines;
mod lint;
mod lit;
pub mod locate;
pub mod marks;
mod mend;
mod mosaic;
mod near;
mod normal;
mod outline;
mod pieces;
mod reach;
mod reblur;
mod register;
mod rim;
mod seam;
pub mod settings;
mod shadow;
pub mod sizes;
mod slender;
mod smooth;
pub mod solve;
mod survey;
mod touching;

pub use again::{Shot, held};
pub use error::SurveyError;
pub use fibre::REFERENCE_CONTRAST;
pub use mosaic::{FacePicture, face_picture};
pub use settings::Settings;
pub use survey::survey;
