//! Made-up array end faces with known truth, for the demo, tests and benches. A [`Face`] is a thing in
//! micrometres, a [`Camera`] one view of it; [`render_face`] makes the picture and its [`Truth`], [`render`]
//! does so from a scene file. Knows nothing of how pictures are graded.

mod camera;
mod check;
pub mod demo;
mod error;
mod face;
mod mark;
mod noise;
mod normal;
mod optics;
mod paint;
mod path;
mod random;
mod render;
mod scene;
mod sensor;
mod shape;
mod stepped;
pub mod study;
mod truth;

pub use camera::{Bits, Camera, FocusTilt, Lens, Light};
pub use check::Wrong;
pub use error::{Fault, SceneError};
pub use face::{Bore, CoreBody, CoreLook, Cores, Face, FacePlan, Ferrule, FibreBody, FibreType, GuideLook};
pub use mark::{DirtLevel, Mark, On, What};
pub use path::Path;
pub use render::{Rendered, render, render_face};
pub use scene::{Dirt, Framing, Scene, StatedMark, parse_scene};
pub use shape::{Form, Outline, Spot};
pub use stepped::{LensSpot, StepPlan, StepRun};
pub use truth::{FaceMarkTruth, MarkTruth, PositionTruth, SCHEMA, Truth, ViewTruth};
