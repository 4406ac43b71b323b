//! The ratio of two pictures of one fibre on a common grid, once light, focus and place are matched.

use super::Shot;
use crate::level::level;
use crate::mosaic::shrunk;
use crate::solve::{median, spread32};
use imaging::Plane;
use imaging::blur::gaussian;

/// The glass is compared out to this share of the radius: farther out the edge itself differs with the focus.
const WITHIN: f64 = 0.95;

/// Least width of a pixel of the grid, um: half the smallest mark that is told.
const PIXEL_UM: f64 = 0.3;

/// Added to levels, of 1, so that the ratio of dark ones stays within what 8 bits tell.
const DARKEST: f32 = 0.004;

/// How far, um, standard deviation, a fitted centre lies off before anything else is known; dirt on the edge pulls it.
const SHIFT_UM: f64 = 0.1;

/// Cores that differ in light by more than this are evened out ring by ring within this radius, um: no core is wider.
const CORE: (f64, f64) = (0.04, 34.0);
/// Rings of a smaller radius, um, are too short for it.
const INNERMOST_UM: f64 = 3.0;

/// Logarithm of the first picture over the second.
pub(super) struct Ratio {
    /// On the grid; not a number off the glass that is compared.
    pub plane: Plane<f32>,
    /// Logarithm of each picture, its own light taken off: so are marks told from what lies about them.
    pub own: [Plane<f32>; 2],
    /// Pixel of the grid that the fibre's centre lies at, in x and in y.
    pub middle: f64,
    /// Width of a pixel of the grid, um.
    pub pixel: f64,
    /// The wider of the two blurs, um.
    pub blur: f64,
    /// Radius of the glass that is compared, um.
    pub radius: f64,
    /// Scatter of a pixel of the plane.
    pub noise: f64,
    /// Radius about the core in which the pictures' light was evened out, um; 0 where the cores are alike.
    pub evened: f64,
}

impl Ratio {
    /// None if the pictures show too little of the fibre, or if a number is no number.
    pub fn new(before: &Shot, after: &Shot) -> Option<Ratio> {
        let blur = before.blur.0.max(after.blur.0);
        let radius = WITHIN * 0.5 * before.diameter.0.min(after.diameter.0) - blur;
        let sizes = [before, after].map(|shot| um_per_px(shot));
        let pixel = sizes[0].max(sizes[1]).max(PIXEL_UM);
        if !(radius > 10.0 && radius < 500.0 && blur >= 0.0 && pixel < 3.0) {
            return None;
        }
        let half = (radius / pixel).ceil() + 2.0;
        let grid = Grid { middle: half, size: 2 * half as usize + 1, pixel };
        let first = grid.see(before, (blur.powi(2) - before.blur.0.powi(2)).sqrt(), (0.0, 0.0))?;
        let mut shift = (0.0, 0.0);
        let evened = if cores_differ(before, after) { CORE.1 } else { 0.0 };
        for last in [false, false, true] {
            let second = grid.see(after, (blur.powi(2) - after.blur.0.powi(2)).sqrt(), shift)?;
            let inside = |x: usize, y: usize| {
                let r = grid.um(x).hypot(grid.um(y));
                r < radius && (evened == 0.0 || r > INNERMOST_UM)
            };
            let ratio = |x: usize, y: usize| match inside(x, y) {
                true => first.at(x, y) - second.at(x, y),
                false => f32::NAN,
            };
            let mut plane = Plane::from_fn(grid.size, grid.size, ratio);
            let middle = (grid.middle, grid.middle);
            level(&mut plane, middle, radius / pixel)?;
            grid.even(&mut plane, evened);
            if last {
                let own = [first, second].map(|own| {
                    let mut own = Plane::from_fn(grid.size, grid.size, |x, y| {
                        if inside(x, y) { own.at(x, y) } else { f32::NAN }
                    });
                    level(&mut own, middle, radius / pixel);
                    own
                });
                let glass: Vec<f32> = plane.data().iter().copied().filter(|v| v.is_finite()).collect();
                let noise = f64::from(spread32(&glass));
                return Some(Ratio { noise, plane, own, middle: grid.middle, pixel, blur, radius, evened });
            }
            let more = moved(&plane, &second, pixel);
            shift = (shift.0 + more.0, shift.1 + more.1);
        }
        None
    }

    /// Place on the grid of a place about the fibre's centre, um.
    pub fn place(&self, (x, y): (f64, f64)) -> (f64, f64) {
        (self.middle + x / self.pixel, self.middle + y / self.pixel)
    }

    /// Place about the fibre's centre, um, of a place on the grid.
    pub fn um(&self, (x, y): (f64, f64)) -> (f64, f64) {
        ((x - self.middle) * self.pixel, (y - self.middle) * self.pixel)
    }
}

fn um_per_px(shot: &Shot) -> f64 {
    let [[a, b], [c, d]] = shot.matrix;
    1.0 / (a * d - b * c).abs().sqrt()
}

fn cores_differ(before: &Shot, after: &Shot) -> bool {
    match (before.core_light, after.core_light) {
        (Some(a), Some(b)) => ((1.0 + a) / (1.0 + b)).ln().abs() > CORE.0,
        (a, b) => a != b,
    }
}

/// A square grid about a fibre's centre, its axes those of the fibre frame.
struct Grid {
    middle: f64,
    size: usize,
    pixel: f64,
}

impl Grid {
    fn um(&self, at: usize) -> f64 {
        (at as f64 - self.middle) * self.pixel
    }

    /// Takes off each ring within `reach`, um, the median along it.
    fn even(&self, plane: &mut Plane<f32>, reach: f64) {
        let ring = |x: usize, y: usize| (self.um(x).hypot(self.um(y)) / self.pixel) as usize;
        let mut rings = vec![Vec::new(); (reach / self.pixel) as usize];
        for (x, y) in (0..self.size).flat_map(|y| (0..self.size).map(move |x| (x, y))) {
            let v = plane.at(x, y);
            if let Some(on) = rings.get_mut(ring(x, y)).filter(|_| v.is_finite()) {
                on.push(f64::from(v));
            }
        }
        let usual: Vec<f64> =
            rings.iter_mut().map(|on| if on.is_empty() { 0.0 } else { median(on) }).collect();
        for (x, y) in (0..self.size).flat_map(|y| (0..self.size).map(move |x| (x, y))) {
            if let Some(usual) = usual.get(ring(x, y)) {
                plane.set(x, y, plane.at(x, y) - *usual as f32);
            }
        }
    }

    /// The logarithm of what a shot shows, blurred by `more` um; its fibre lies `shift`, um, beside where it was fitted.
    /// None unless all of the grid's circle is in the picture.
    fn see(&self, shot: &Shot, more: f64, shift: (f64, f64)) -> Option<Plane<f32>> {
        let [[a, b], [c, d]] = shot.matrix;
        let um = um_per_px(shot);
        let k = (self.pixel / um).floor().max(1.0);
        let reach = self.middle * self.pixel / um + 2.0 * k + 2.0;
        let span = |middle: f64, size: usize| {
            let (low, high) = ((middle - reach).floor().max(0.0), (middle + reach).ceil().min(size as f64));
            (high - low > 4.0 * k).then_some((low as usize, (high - low) as usize))
        };
        let (left, width) = span(shot.centre.x, shot.frame.width())?;
        let (top, height) = span(shot.centre.y, shot.frame.height())?;
        let plane = shrunk(&shot.frame.patch(left, top, width, height)?, k as usize);
        let on = |at: f64, from: usize| (at - from as f64 + 0.5) / k - 0.5;
        let (right, bottom) = (plane.width() as f64 - 1.0, plane.height() as f64 - 1.0);
        let mut lost = false;
        let seen = Plane::from_fn(self.size, self.size, |i, j| {
            let (x, y) = (self.um(i) + shift.0, self.um(j) + shift.1);
            let u = on(shot.centre.x + a * x + b * y, left);
            let v = on(shot.centre.y + c * x + d * y, top);
            let within = x.hypot(y) < self.middle * self.pixel;
            lost |= within && !(u >= 0.0 && v >= 0.0 && u <= right && v <= bottom);
            plane.sample(u, v)
        });
        if lost {
            return None;
        }
        let even = if more > 0.1 * self.pixel { gaussian(&seen, more / self.pixel) } else { seen };
        Some(even.map(|v| (v + DARKEST).ln()))
    }
}

/// How much farther the second picture lies off, um: the shift that the slopes of what both show tell of the rest
/// between them (Lucas and Kanade, 1981, "An iterative image registration technique"), by least squares with what is
/// known beforehand; what one picture alone shows is left out.
fn moved(ratio: &Plane<f32>, second: &Plane<f32>, pixel: f64) -> (f64, f64) {
    let rest: Vec<f32> = ratio.data().iter().copied().filter(|v| v.is_finite()).collect();
    let scatter = f64::from(spread32(&rest)).max(1e-4);
    let own = (scatter / SHIFT_UM).powi(2);
    let (mut n, mut right) = ([own, 0.0, own], [0.0, 0.0]);
    for y in 1..ratio.height() - 1 {
        for x in 1..ratio.width() - 1 {
            let v = f64::from(ratio.at(x, y));
            let slope = |a: f32, b: f32| f64::from(a - b) / (2.0 * pixel);
            let gx = slope(second.at(x + 1, y), second.at(x - 1, y));
            let gy = slope(second.at(x, y + 1), second.at(x, y - 1));
            let limit = 4.0 * scatter + 0.3 * gx.hypot(gy);
            if v.is_nan() || v.abs() >= limit {
                continue;
            }
            n[0] += gx * gx;
            n[1] += gx * gy;
            n[2] += gy * gy;
            right[0] += gx * v;
            right[1] += gy * v;
        }
    }
    let det = n[0] * n[2] - n[1] * n[1];
    match det > 0.0 {
        true => ((right[0] * n[2] - right[1] * n[1]) / det, (right[1] * n[0] - right[0] * n[1]) / det),
        false => (0.0, 0.0),
    }
}
