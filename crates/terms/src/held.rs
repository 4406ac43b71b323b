//! What two pictures of one fibre say of each other, held against one another pixel by pixel: without pixels.

use crate::place::{FibreFrame, Point};
use crate::units::Um;

/// Two pictures of one fibre held against each other.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Held {
    /// Of each feature of the first picture, in order, whether the second lacks it, by the pixels alone.
    pub before: Vec<Lacks>,
    /// The same of each feature of the second picture.
    pub after: Vec<Lacks>,
    /// What the first picture alone shows.
    pub gone: Vec<Spot>,
    /// What the second picture alone shows.
    pub come: Vec<Spot>,
}

/// What the pixels of two pictures say of whether the other lacks a feature.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Lacks {
    /// They do not tell.
    #[default]
    Untold,
    /// As likely as this: natural logarithm of the odds that the other lacks it.
    Odds(f64),
    /// As likely as this, and more likely than not: its border shows between the two nearly all around, as no light
    /// that bends about a film makes one.
    Bordered(f64),
}

impl Lacks {
    /// Natural logarithm of the odds that the other picture lacks it; none where the pixels do not tell.
    pub fn odds(self) -> Option<f64> {
        match self {
            Lacks::Untold => None,
            Lacks::Odds(odds) | Lacks::Bordered(odds) => Some(odds),
        }
    }
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
