//! What a disc of the coarse plane looks like within, off its core: light and texture, for telling glass,
//! empty bores, bare ferrule and dirt apart where there is no edge to go by.

use super::rim::{Circle, median};
use imaging::Plane;

/// The look of a disc between 0.5 and 0.85 of its radius.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Disc {
    /// Median luminance.
    pub light: f32,
    /// Luminance that four fifths of it stay below.
    pub bright: f32,
    /// Mean of the absolute second differences from pixel to pixel.
    pub texture: f32,
}

impl Disc {
    /// The look of a disc; none unless the plane holds at least half of the samples.
    pub fn new(plane: &Plane<f32>, c: Circle) -> Option<Disc> {
        let (right, bottom) = (plane.width().saturating_sub(1), plane.height().saturating_sub(1));
        let reach = (0.85 * c.radius) as isize;
        let stride = (reach / 8).max(1);
        let (mut values, mut texture, mut all) = (Vec::with_capacity(256), 0.0, 0usize);
        for dy in (-reach..=reach).step_by(stride as usize) {
            for dx in (-reach..=reach).step_by(stride as usize) {
                let distance = ((dx * dx + dy * dy) as f64).sqrt();
                if distance > 0.85 * c.radius || distance < 0.5 * c.radius {
                    continue;
                }
                all += 1;
                let (x, y) = (c.x.round() as isize + dx, c.y.round() as isize + dy);
                if x < 1 || y < 1 || x >= right as isize || y >= bottom as isize {
                    continue;
                }
                let (x, y) = (x as usize, y as usize);
                let here = plane.at(x, y);
                let bends = (plane.at(x - 1, y) + plane.at(x + 1, y) - 2.0 * here).abs()
                    + (plane.at(x, y - 1) + plane.at(x, y + 1) - 2.0 * here).abs();
                if bends.is_finite() {
                    values.push(here);
                    texture += bends;
                }
            }
        }
        if values.is_empty() || 2 * values.len() < all {
            return None;
        }
        let count = values.len();
        let light = median(values.clone());
        let bright = *values.select_nth_unstable_by(count * 4 / 5, f32::total_cmp).1;
        Some(Disc { light, bright, texture: texture / (2 * count) as f32 })
    }
}

/// The ferrule beside a row, as seen at discs on both sides of it.
pub(crate) struct Ground {
    beside: Vec<(i32, Disc)>,
}

impl Ground {
    /// From discs with their places along the row.
    pub fn new(beside: Vec<(i32, Disc)>) -> Ground {
        Ground { beside }
    }

    /// Median light and texture of the ferrule near place `k`; none where none was seen.
    pub fn near(&self, k: i32) -> Option<(f32, f32)> {
        let near: Vec<&Disc> =
            self.beside.iter().filter(|(at, _)| (at - k).abs() <= 2).map(|(_, d)| d).collect();
        let some = |f: fn(&&Disc) -> f32| median(near.iter().map(f).collect());
        (near.len() >= 2).then(|| (some(|d| d.light), some(|d| d.texture)))
    }
}
