//! Plane geometry shared by looking and measuring: polygons, circles that enclose and circles that fit.
//! Works on bare numbers in whatever unit and frame the caller's points are; the caller keeps the frame.

mod enclosing;
mod fit;
mod linear;
mod polygon;

pub use enclosing::enclosing_circle;
pub use fit::{CircleFit, FitError, fit_circle_algebraic, fit_circle_geometric};
pub use polygon::{
    convex_hull, equivalent_diameter, largest_extent, lies_left_of, point_in_polygon, point_segment_distance,
    point_segment_distance_squared, polygon_area,
};

use crate::place::Point;

/// Anything with two coordinates in one frame and one unit.
pub trait Xy: Copy {
    /// The coordinates (x, y).
    fn xy(self) -> (f64, f64);
}

impl Xy for (f64, f64) {
    fn xy(self) -> (f64, f64) {
        self
    }
}

impl<F> Xy for Point<F> {
    fn xy(self) -> (f64, f64) {
        (self.x, self.y)
    }
}

/// A circle in the frame and unit of the points that it was made from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Circle {
    /// Centre, x.
    pub x: f64,
    /// Centre, y.
    pub y: f64,
    /// Radius, >= 0.
    pub r: f64,
}

impl Circle {
    /// Twice the radius.
    pub fn diameter(self) -> f64 {
        2.0 * self.r
    }

    /// Signed distance of a point from the circle's line: above 0 outside, below 0 inside.
    pub fn distance(self, point: impl Xy) -> f64 {
        let (x, y) = point.xy();
        (x - self.x).hypot(y - self.y) - self.r
    }
}
