//! What two pictures of one fibre say of each other, held against one another pixel by pixel: without pixels.

use crate::place::{FibreFrame, Point};
use crate::units::Um;

/// Two pictures of one fibre held against each other.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Held {
    /// Of each feature of the first picture, in order, the natural logarithm of the odds that the second lacks it, by
    /// the pixels alone; none where they do not tell.
    pub before: Vec<Option<f64>>,
    /// The same of each feature of the second picture.
    pub after: Vec<Option<f64>>,
    /// What the first picture alone shows.
    pub gone: Vec<Spot>,
    /// What the second picture alone shows.
    pub come: Vec<Spot>,
}

/// A place that two pictures show differently: a mark or a part of one.
#[derive(Clone, Debug, PartialEq)]
pub struct Spot {
    /// Diameter of the smallest circle about its outline at half height.
    pub size: Um,
    /// Middle of that circle.
    pub centre: Point<FibreFrame>,
    /// Contrast of the picture that shows it against the other.
    pub contrast: f64,
    /// Its outline, a closed polygon.
    pub outline: Vec<Point<FibreFrame>>,
}
