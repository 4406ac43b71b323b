//! The pixels of the grid that an outline fills, and those close about it: what it stands on.

use super::ratio::Ratio;
use crate::near::{near, pixels_near};
use crate::solve::median;
use imaging::Plane;

/// What lies so far about an outline, um, is what it stands on.
const ABOUT_UM: f64 = 2.0;
/// Pixels of that, at least.
const LEAST_ABOUT: usize = 8;

/// A step on the grid.
pub(super) type Step = (isize, isize);

/// Pixels in an outline and about it.
pub(super) struct Aperture {
    filled: Vec<(isize, isize)>,
    about: Vec<(isize, isize)>,
}

impl Aperture {
    /// Of an outline on the grid and what lies within `reach` pixels of it; none if it is larger than the glass.
    pub fn new(outline: &[(f64, f64)], reach: f64, ratio: &Ratio) -> Option<Aperture> {
        let on_grid = |v: f64| (-ratio.grid.middle..3.0 * ratio.grid.middle).contains(&v);
        if !outline.iter().all(|p| on_grid(p.0) && on_grid(p.1)) {
            return None;
        }
        let all = pixels_near(outline, reach + ABOUT_UM / ratio.grid.pixel);
        let (filled, about): (Vec<_>, Vec<_>) =
            all.into_iter().partition(|&(x, y)| near(outline, (x as f64, y as f64), reach));
        Some(Aperture { filled, about })
    }

    /// Values of a plane in the outline over what it stands on, moved by a step, in the order of its pixels: not a
    /// number off the glass. None where too much of either is off the glass.
    pub fn heights(&self, plane: &Plane<f32>, (dx, dy): Step) -> Option<Vec<f64>> {
        let value = |(x, y): &(isize, isize)| plane.get(x + dx, y + dy).map_or(f64::NAN, f64::from);
        let mut about: Vec<f64> = self.about.iter().map(value).filter(|v| v.is_finite()).collect();
        if about.len() < LEAST_ABOUT {
            return None;
        }
        let base = median(&mut about);
        let heights: Vec<f64> = self.filled.iter().map(|at| value(at) - base).collect();
        let on_glass = heights.iter().filter(|v| v.is_finite()).count();
        (on_glass > 0 && 10 * on_glass >= 8 * heights.len()).then_some(heights)
    }

    /// The pixels in the outline.
    pub fn filled(&self) -> &[(isize, isize)] {
        &self.filled
    }
}
