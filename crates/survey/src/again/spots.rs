//! What one of two pictures alone shows: where their ratio stands out.

use super::aperture::Aperture;
use super::marks::AT_CORE;
use super::ratio::Ratio;
use crate::solve::spread32;
use imaging::Plane;
use imaging::blur::gaussian;
use imaging::regions::{Connectivity, Region, iso_contour, region_at, regions};
use terms::geometry::enclosing_circle;
use terms::{Point, Spot, Um};

/// The ratio is smoothed by this, um, and must exceed this many of its scatters and this height.
const SMOOTH_UM: f64 = 0.4;
const CLEAR: f32 = 7.0;
const LEAST: f32 = 0.05;

/// What a misplaced or unevenly focused edge leaves, by the slope of the pictures there: a shift, um.
const MISPLACED_UM: f32 = 0.1;

/// What stands out brightly must do so by this, logarithm.
const BRIGHT: f64 = 0.08;

/// Least area that stands out, um^2: that of a disc of 1.4 um.
const AREA_UM: f64 = 1.5;

/// What stands out of the ratio of two pictures: what the first alone shows, and what the second.
pub(super) fn spots(ratio: &Ratio) -> (Vec<Spot>, Vec<Spot>) {
    let filled = ratio.plane.map(|v| if v.is_finite() { v } else { 0.0 });
    let smooth = gaussian(&filled, SMOOTH_UM / ratio.grid.pixel);
    let glass: Vec<f32> = smooth
        .data()
        .iter()
        .zip(ratio.plane.data())
        .filter_map(|(v, d)| d.is_finite().then_some(*v))
        .collect();
    let noise = CLEAR * spread32(&glass);
    let [one, other] = [0, 1].map(|k| {
        gaussian(&ratio.own[k].map(|v| if v.is_finite() { v } else { 0.0 }), SMOOTH_UM / ratio.grid.pixel)
    });
    let step = 2.0 * ratio.grid.pixel as f32;
    // How far each pixel stands above what noise, place and focus may leave there; 0 off the glass.
    let above = Plane::from_fn(smooth.width(), smooth.height(), |x, y| {
        let (i, j) = (x as isize, y as isize);
        let off = ratio.plane.get(i, j).is_none_or(|v| !v.is_finite());
        let slope = |plane: &Plane<f32>| {
            let along = |a: Option<f32>, b: Option<f32>| a.zip(b).map_or(0.0, |(a, b)| (a - b) / step);
            let gx = along(plane.get(i + 1, j), plane.get(i - 1, j));
            let gy = along(plane.get(i, j + 1), plane.get(i, j - 1));
            gx.hypot(gy)
        };
        let limit = noise.max(LEAST) + MISPLACED_UM * slope(&one).min(slope(&other));
        let v = smooth.at(x, y);
        if off || v.abs() < limit { 0.0 } else { v }
    });
    let (mut gone, mut come) = (Vec::new(), Vec::new());
    for sign in [-1.0f32, 1.0] {
        let upright = smooth.map(|v| sign * v);
        for (region, height) in summits(&above.map(|v| sign * v), &upright, ratio.grid.pixel) {
            let Some((spot, first)) = spot(&region, height, &upright, [&one, &other], ratio, sign) else {
                continue;
            };
            if first { gone.push(spot) } else { come.push(spot) }
        }
    }
    (gone, come)
}

/// What is higher than half a summit about it, with the summit's height: the highest first, and none that lies in a
/// higher one's.
fn summits(above: &Plane<f32>, upright: &Plane<f32>, pixel: f64) -> Vec<(Region, f32)> {
    let enough = |r: &Region| r.area() as f64 * pixel.powi(2) >= AREA_UM;
    let summit =
        |r: Region| r.pixels().map(|(x, y)| ((x, y), upright.at(x, y))).max_by(|a, b| a.1.total_cmp(&b.1));
    let regions = regions(above, Connectivity::Eight, |v| v > 0.0);
    let mut summits: Vec<_> = regions.into_iter().filter(enough).filter_map(summit).collect();
    summits.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut found: Vec<(Region, f32)> = Vec::new();
    for ((x, y), height) in summits {
        if !found.iter().any(|(half, _)| half.contains(x, y)) {
            let half = region_at(upright, (x, y), Connectivity::Eight, |v| v > 0.5 * height);
            found.extend(half.map(|half| (half, height)));
        }
    }
    found
}

/// A region as a spot, and whether it is the first picture that shows it.
fn spot(
    half: &Region,
    height: f32,
    upright: &Plane<f32>,
    own: [&Plane<f32>; 2],
    ratio: &Ratio,
    sign: f32,
) -> Option<(Spot, bool)> {
    let contour = iso_contour(upright, 0.5 * height, half);
    let aperture = Aperture::new(&contour, 0.0, ratio)?;
    let [a, b] = own.map(|plane| stands(plane, &aperture));
    let (a, b) = (a?, b?);
    let outline: Vec<(f64, f64)> = contour.into_iter().map(|p| ratio.grid.um(p)).collect();
    let circle = enclosing_circle(&outline)?;
    // Dirt is dark; what is bright in one picture must be clean glass in the other.
    let (dark, bright, first) = if sign < 0.0 { (a, b, true) } else { (b, a, false) };
    let first = first ^ (bright > BRIGHT && dark.abs() < 0.5 * bright);
    let contrast = f64::from((if first { sign * height } else { -sign * height }).exp() - 1.0);
    if circle.x.hypot(circle.y) - circle.r < ratio.grid.evened && contrast.abs() < AT_CORE {
        return None;
    }
    let spot = Spot {
        size: Um(2.0 * circle.r),
        centre: Point::new(circle.x, circle.y),
        contrast,
        outline: outline.into_iter().map(|(x, y)| Point::new(x, y)).collect(),
    };
    Some((spot, first))
}

/// How far a picture's spot stands over what lies about it, on average.
fn stands(own: &Plane<f32>, aperture: &Aperture) -> Option<f64> {
    let heights = aperture.heights(own, (0, 0))?;
    let finite = || heights.iter().filter(|v| v.is_finite());
    Some(finite().sum::<f64>() / finite().count() as f64)
}
