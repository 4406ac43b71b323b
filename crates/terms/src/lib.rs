//! The words that every other crate shares: lengths, places tagged by their frame of reference,
//! layouts of arrays, and the catalogue of what was seen on a face. Holds no pixel and no limit.

pub mod catalogue;
pub mod flaw;
pub mod geometry;
pub mod held;
pub mod layout;
pub mod normal;
pub mod place;
pub mod units;
pub mod words;

pub use catalogue::{
    Canvas, Core, Disagreement, FaceMark, Feature, FeatureId, Fibre, Guides, Hint, Kind, Look, OpticsSpot,
    Placement, Quality, Reach, ScaleChecks, ScaleSource, Site, Stitch, Survey,
};
pub use flaw::{Ambiguity, Flaw};
pub use held::{Held, Lacks, Spot};
pub use layout::{GuidePair, Layout, LayoutError, Place};
pub use place::{Face, FibreFrame, Key, Pixel, Point, Pose, View};
pub use units::{Scale, Um, UnitError};
