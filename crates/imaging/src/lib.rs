//! Planes of pixels, the door through which pictures come in, and pure operations on pixels. Knows nothing
//! of fibres, files or limits.

pub mod blur;
pub mod coding;
pub mod door;
pub mod edges;
pub mod frame;
pub mod plane;
pub mod regions;
pub mod vectors;

pub use coding::Coding;
pub use frame::{Frame, Samples};
pub use plane::Plane;
