//! What a mark stands on. A particle in a film is darker than the film by less than it is darker than clean glass; its
//! outline runs half way up from the film, not from the glass, or it would be the film's.

use crate::blobs::Field;
use crate::reach::Distances;
use crate::solve;
use imaging::Plane;
use imaging::regions::{Connectivity, region_at};

/// The surroundings are looked at from and to so many blurs from where a mark is at three quarters of its height: the
/// blurred edge of a mark on clean glass has fallen to a fifteenth there.
const RING: (f64, f64) = (2.2, 4.0);

/// Share of the surroundings that may be lower than what is taken for the level of all of them.
const LOWER: f64 = 0.25;

/// Levels below this share of the height are what the edge of any mark leaves.
const LEAST: f32 = 0.15;

/// Share of its height by which a mark stands above its surroundings, and in scatters: as two peaks are two marks.
const STANDS: (f32, f32) = (0.3, 4.0);

/// Wider marks, share of the glass's radius, are films themselves.
const WIDEST: f64 = 0.27;

/// Farthest that the contour at half height lies outside that at three quarters, blurs: an edge has 0.67, the waves of a
/// film more.
const SOFTEST: f64 = 1.3;

/// The level of the film about a mark and the mark's height, both counted with `sign`; none if it stands on clean glass,
/// or is but the strongest part of a film. `peak` is the height of its highest pixel. `basin` holds the mark's own
/// pixels, its pixel (0, 0) is pixel `corner` of the field; `seed` is the mark's peak in it.
pub fn below(
    basin: &Plane<f32>,
    corner: (isize, isize),
    seed: (usize, usize),
    peak: f32,
    field: &Field,
    sign: f32,
) -> Option<(f32, f32)> {
    let at_level = |level: f32| region_at(basin, seed, Connectivity::Eight, |v| v > level);
    // The highest pixel owes some of its height to noise.
    let near_top = basin.data().iter().copied().filter(|v| *v > 0.75 * peak);
    let peak = solve::quantile32(&mut near_top.collect::<Vec<f32>>(), 0.9);
    let upper = at_level(0.75 * peak)?;
    let widest = WIDEST * field.disc.2;
    let bounds = upper.bounds();
    if bounds.x1 - bounds.x0 > widest as usize || bounds.y1 - bounds.y0 > widest as usize {
        return None;
    }
    let places: Vec<(isize, isize)> =
        upper.pixels().map(|(x, y)| (x as isize + corner.0, y as isize + corner.1)).collect();
    let (from, to) = (RING.0 * field.blur, RING.1 * field.blur);
    let on_glass =
        |x: usize, y: usize| (x as f64 - field.disc.0).hypot(y as f64 - field.disc.1) < field.disc.2;
    let mut about: Vec<f32> = Distances::from(&places, to)
        .within(&field.plane)
        .filter(|&(x, y, d)| d > from && d < to && on_glass(x, y))
        .map(|(x, y, _)| field.plane.at(x, y) * sign)
        .collect();
    let base = solve::quantile32(&mut about, LOWER);
    let stands = peak - base;
    if about.is_empty()
        || base < LEAST * peak
        || stands < (STANDS.0 * peak).max(STANDS.1 * field.scatter as f32)
    {
        return None;
    }
    let (half, upper) = (at_level(base + 0.5 * stands)?, at_level(base + 0.75 * stands)?);
    let bounds = half.bounds();
    let wide = (bounds.x1 - bounds.x0).max(bounds.y1 - bounds.y0) as f64;
    let radius = |area: usize| (area as f64 / std::f64::consts::PI).sqrt();
    let soft = radius(half.area()) - radius(upper.area()) > SOFTEST * field.blur;
    // Of the film's pixels none may have a say in the height.
    let mut own: Vec<f32> = half.pixels().map(|(x, y)| basin.at(x, y)).collect();
    (wide < widest && !soft).then(|| (base, solve::quantile32(&mut own, 0.9)))
}
