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

/// How often the shift is looked for.
const ROUNDS: usize = 2;

/// Logarithm of the first picture over the second.
pub(super) struct Ratio {
    /// On the grid; not a number off the glass that is compared.
    pub plane: Plane<f32>,
    /// Logarithm of each picture, its own light taken off: so are marks told from what lies about them.
    pub own: [Plane<f32>; 2],
    /// The grid of all three.
    pub grid: Grid,
    /// The wider of the two blurs, um.
    pub blur: f64,
    /// Scatter of a pixel of the plane.
    pub noise: f64,
}

impl Ratio {
    /// None if the pictures show too little of the fibre, or if a number is no number.
    pub fn new(before: &Shot, after: &Shot) -> Option<Ratio> {
        let blur = before.blur.0.max(after.blur.0);
        let radius = WITHIN * 0.5 * before.diameter.0.min(after.diameter.0) - blur;
        let pixel = um_per_px(before).max(um_per_px(after)).max(PIXEL_UM);
        if !(radius > 10.0 && radius < 500.0 && blur >= 0.0 && pixel < 3.0) {
            return None;
        }
        let evened = if cores_differ(before, after) { CORE.1 } else { 0.0 };
        let grid = Grid { middle: (radius / pixel).ceil() + 2.0, pixel, radius, evened };
        let [first, second] = [before, after].map(|shot| View::new(shot, &grid));
        let (first, second) = (first?.seen(&grid, blur, (0.0, 0.0))?, second?);
        let mut shift = (0.0, 0.0);
        for _ in 0..ROUNDS {
            let seen = second.seen(&grid, blur, shift)?;
            let (x, y) = moved(&grid.ratio(&first, &seen)?, &seen, pixel);
            shift = (shift.0 + x, shift.1 + y);
        }
        let second = second.seen(&grid, blur, shift)?;
        let plane = grid.ratio(&first, &second)?;
        let glass: Vec<f32> = plane.data().iter().copied().filter(|v| v.is_finite()).collect();
        let noise = f64::from(spread32(&glass));
        let own = [grid.levelled(|x, y| first.at(x, y))?, grid.levelled(|x, y| second.at(x, y))?];
        Some(Ratio { plane, own, grid, blur, noise })
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
pub(super) struct Grid {
    /// Pixel that the fibre's centre lies at, in x and in y.
    pub middle: f64,
    /// Width of a pixel, um.
    pub pixel: f64,
    /// Radius of the glass that is compared, um.
    pub radius: f64,
    /// Radius about the core in which the pictures' light is evened out, um; 0 where the cores are alike.
    pub evened: f64,
}

impl Grid {
    /// Place of a place about the fibre's centre, um.
    pub fn place(&self, (x, y): (f64, f64)) -> (f64, f64) {
        (self.middle + x / self.pixel, self.middle + y / self.pixel)
    }

    /// Place about the fibre's centre, um, of a place.
    pub fn um(&self, (x, y): (f64, f64)) -> (f64, f64) {
        ((x - self.middle) * self.pixel, (y - self.middle) * self.pixel)
    }

    fn size(&self) -> usize {
        2 * self.middle as usize + 1
    }

    /// Distance of a pixel from the fibre's centre, um.
    fn off(&self, x: usize, y: usize) -> f64 {
        let (x, y) = self.um((x as f64, y as f64));
        x.hypot(y)
    }

    /// A plane without its light; not a number off the glass that is compared. None if too little is left.
    fn levelled(&self, of: impl Fn(usize, usize) -> f32) -> Option<Plane<f32>> {
        let innermost = if self.evened > 0.0 { INNERMOST_UM } else { -1.0 };
        let inside = |x, y| (innermost..self.radius).contains(&self.off(x, y));
        let value = |x, y| if inside(x, y) { of(x, y) } else { f32::NAN };
        let mut plane = Plane::from_fn(self.size(), self.size(), value);
        level(&mut plane, (self.middle, self.middle), self.radius / self.pixel)?;
        Some(plane)
    }

    /// The logarithm of a ratio, from the logarithms of two pictures.
    fn ratio(&self, first: &Plane<f32>, second: &Plane<f32>) -> Option<Plane<f32>> {
        let mut plane = self.levelled(|x, y| first.at(x, y) - second.at(x, y))?;
        self.even(&mut plane);
        Some(plane)
    }

    /// Takes off each ring about the core, where the cores differ, the median along it.
    fn even(&self, plane: &mut Plane<f32>) {
        let ring = |x: usize, y: usize| (self.off(x, y) / self.pixel) as usize;
        let pixels = || (0..self.size()).flat_map(|y| (0..self.size()).map(move |x| (x, y)));
        let mut rings = vec![Vec::new(); (self.evened / self.pixel) as usize];
        for (x, y) in pixels() {
            let v = plane.at(x, y);
            if let Some(on) = rings.get_mut(ring(x, y)).filter(|_| v.is_finite()) {
                on.push(f64::from(v));
            }
        }
        let usual: Vec<f64> =
            rings.iter_mut().map(|on| if on.is_empty() { 0.0 } else { median(on) }).collect();
        for (x, y) in pixels() {
            if let Some(usual) = usual.get(ring(x, y)) {
                plane.set(x, y, plane.at(x, y) - *usual as f32);
            }
        }
    }
}

/// What a shot shows about its fibre, blocks of it averaged where the grid is coarser.
struct View<'a> {
    shot: &'a Shot<'a>,
    plane: Plane<f32>,
    corner: (usize, usize),
    /// Pixels of the picture along one of the plane.
    factor: f64,
}

impl<'a> View<'a> {
    /// None if the picture shows nothing of it.
    fn new(shot: &'a Shot<'a>, grid: &Grid) -> Option<View<'a>> {
        let um = um_per_px(shot);
        let factor = (grid.pixel / um).floor().max(1.0);
        let reach = grid.middle * grid.pixel / um + 2.0 * factor + 2.0;
        let span = |middle: f64, size: usize| {
            let (low, high) = ((middle - reach).floor().max(0.0), (middle + reach).ceil().min(size as f64));
            (high - low > 4.0 * factor).then_some((low as usize, (high - low) as usize))
        };
        let (left, width) = span(shot.centre.x, shot.frame.width())?;
        let (top, height) = span(shot.centre.y, shot.frame.height())?;
        let plane = shrunk(&shot.frame.patch(left, top, width, height)?, factor as usize);
        Some(View { shot, plane, corner: (left, top), factor })
    }

    /// The logarithm of the levels on the grid, as blurred as `blur`, um; the fibre lies `shift`, um, beside where it was
    /// fitted. None unless all of the grid's circle is in the picture.
    fn seen(&self, grid: &Grid, blur: f64, shift: (f64, f64)) -> Option<Plane<f32>> {
        let ([[a, b], [c, d]], centre) = (self.shot.matrix, self.shot.centre);
        let on = |at: f64, from: usize| (at - from as f64 + 0.5) / self.factor - 0.5;
        let (right, bottom) = (self.plane.width() as f64 - 1.0, self.plane.height() as f64 - 1.0);
        let mut lost = false;
        let seen = Plane::from_fn(grid.size(), grid.size(), |i, j| {
            let (x, y) = grid.um((i as f64, j as f64));
            let (x, y) = (x + shift.0, y + shift.1);
            let u = on(centre.x + a * x + b * y, self.corner.0);
            let v = on(centre.y + c * x + d * y, self.corner.1);
            let within = x.hypot(y) < grid.middle * grid.pixel;
            lost |= within && !(u >= 0.0 && v >= 0.0 && u <= right && v <= bottom);
            self.plane.sample(u, v)
        });
        if lost {
            return None;
        }
        let more = (blur.powi(2) - self.shot.blur.0.powi(2)).sqrt();
        let even = if more > 0.1 * grid.pixel { gaussian(&seen, more / grid.pixel) } else { seen };
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
