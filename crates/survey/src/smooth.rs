//! Gaussian means over the glass: what lies outside it has no weight (normalised convolution: Knutsson and
//! Westin, 1993, "Normalized and differential convolution").

use crate::glass::Glass;
use crate::normal::cdf;
use imaging::Plane;
use imaging::blur::{gaussian, gaussian_within};
use std::ops::Range;

/// Weights below this are taken for it, so that the very rim is not blown up.
const LEAST_WEIGHT: f32 = 0.2;

/// Blurs wider than this, pixels, are done on a shrunken plane.
const WIDE: f64 = 6.0;

/// Mean of `values` about each pixel of a fibre's glass with the weights `inside`, by a Gaussian of `sigma` pixels; 0 where
/// `inside` is 0. `values` must be 0 there too.
pub fn mean_inside(values: &Plane<f32>, inside: &Plane<f32>, glass: &Glass, sigma: f64) -> Plane<f32> {
    let (mut means, weights) = (blurred(values, sigma, glass), blurred(inside, sigma, glass));
    for ((v, w), m) in means.data_mut().iter_mut().zip(weights.data()).zip(inside.data()) {
        *v = if *m > 0.0 { *v / w.max(LEAST_WEIGHT) } else { 0.0 };
    }
    means
}

/// The same on the whole disc of a fibre's glass, where the weight at a distance from the rim is known: that of
/// a half plane, which the disc is nearly at the scale of the blur.
pub fn mean_on_glass(values: &Plane<f32>, glass: &Glass, sigma: f64) -> Plane<f32> {
    let mut means = blurred(values, sigma, glass);
    let (cx, cy) = glass.centre;
    let full = (glass.radius - 3.5 * sigma).max(0.0);
    // Weights by tenths of a sigma from the rim inwards.
    let weights: Vec<f32> = (0..=36).map(|k| (cdf(f64::from(k) / 10.0) as f32).max(LEAST_WEIGHT)).collect();
    let width = means.width();
    for y in 0..means.height() {
        let dy = y as f64 - cy;
        let half = |radius: f64| (radius * radius - dy * dy).max(0.0).sqrt();
        let row = means.row_mut(y);
        let mut weigh = |columns: Range<usize>| {
            for (x, v) in columns.clone().zip(&mut row[columns]) {
                let dx = x as f64 - cx;
                let r2 = dx * dx + dy * dy;
                if r2 > glass.radius * glass.radius {
                    *v = 0.0;
                } else if r2 > full * full {
                    let depth = (glass.radius - r2.sqrt()) / sigma * 10.0;
                    *v /= weights[(depth as usize).min(36)];
                }
            }
        };
        // What lies in the full disc stays, most of it without a look.
        let column = |x: f64| x.clamp(0.0, width as f64) as usize;
        let whole = half(full) - 1.0;
        let (from, to) = (column((cx - whole).ceil()), column((cx + whole).floor()));
        weigh(0..from);
        weigh(to.max(from)..width);
    }
    means
}

/// A Gaussian blur of what a fibre's glass shows, right on its disc.
fn blurred(plane: &Plane<f32>, sigma: f64, glass: &Glass) -> Plane<f32> {
    let ((cx, cy), radius) = (glass.centre, glass.radius);
    let columns = |y: usize| {
        let half = (radius * radius - (y as f64 - cy).powi(2)).max(0.0).sqrt() + 1.0;
        ((cx - half).max(0.0) as usize)..((cx + half + 1.0).clamp(0.0, plane.width() as f64) as usize)
    };
    if sigma < WIDE { gaussian_within(plane, sigma, columns) } else { widely_blurred(plane, sigma) }
}

/// A wide blur on a plane shrunk by whole pixels, whose own widening is taken off first.
fn widely_blurred(plane: &Plane<f32>, sigma: f64) -> Plane<f32> {
    let factor = ((sigma / 3.0) as usize).clamp(2, 8);
    let f = factor as f64;
    // Means over blocks widen by (f^2 - 1) / 12, straight lines between their middles by about f^2 / 6.
    let rest = (sigma * sigma - (f * f - 1.0) / 12.0 - f * f / 6.0).max(1.0).sqrt();
    let small = plane.shrunk(factor, plane.width().div_ceil(factor), plane.height().div_ceil(factor));
    let small = gaussian(&small, rest / f);
    widened(&small, factor, plane.width(), plane.height())
}

/// Straight lines between the middles of blocks.
fn widened(small: &Plane<f32>, factor: usize, width: usize, height: usize) -> Plane<f32> {
    let place = |i: usize, n: usize| {
        let t = ((i as f32 + 0.5) / factor as f32 - 0.5).clamp(0.0, (n - 1) as f32);
        let k = (t as usize).min(n.saturating_sub(2));
        (k, (k + 1).min(n - 1), t - k as f32)
    };
    let columns: Vec<(usize, usize, f32)> = (0..width).map(|x| place(x, small.width())).collect();
    let mut out = Vec::with_capacity(width * height);
    let mut line = vec![0.0f32; small.width()];
    for y in 0..height {
        let (a, b, t) = place(y, small.height());
        for ((l, u), v) in line.iter_mut().zip(small.row(a)).zip(small.row(b)) {
            *l = u * (1.0 - t) + v * t;
        }
        out.extend(columns.iter().map(|&(a, b, t)| line[a] * (1.0 - t) + line[b] * t));
    }
    Plane::from_vec(width, height, out).unwrap_or_else(|| Plane::filled(0, 0, 0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wide_blur_is_the_same_on_the_shrunken_plane() {
        let plane = Plane::from_fn(160, 150, |x, y| {
            f32::from(u8::from((40..70).contains(&x) && (60..75).contains(&y)))
        });
        for sigma in [6.5, 12.0, 20.0] {
            let (a, b) = (gaussian(&plane, sigma), widely_blurred(&plane, sigma));
            let most = a.data().iter().fold(0.0f32, |m, v| m.max(*v));
            let gap = a.data().iter().zip(b.data()).map(|(x, y)| (x - y).abs()).fold(0.0, f32::max);
            assert!(gap < 0.04 * most, "{sigma}: {gap} of {most}");
        }
    }
}
