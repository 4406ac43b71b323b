//! The words that every other crate shares: lengths, places tagged by their frame of reference,
//! layouts of arrays, and the catalogue of what was seen on a face. Holds no pixel and no limit.

pub mod catalogue;
pub mod geometry;
pub mod layout;
pub mod normal;
pub mod place;
pub mod units;

pub use catalogue::{
    Ambiguity, Canvas, Core, FaceMark, Feature, FeatureId, Fibre, Flaw, Guides, Kind, Look, Placement,
    Quality, Reach, ScaleChecks, ScaleSource, Site, Stitch, Survey,
};
pub use layout::{GuidePair, Layout, LayoutError, Place};
pub use place::{Face, FibreFrame, Key, Pixel, Point, Pose, View};
pub use units::{Scale, Um, UnitError};
