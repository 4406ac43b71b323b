//! The outline that a mark had before it was blurred, by blurring again what was seen: where the outline of the
//! twice blurred mark lies inside the seen one, the true one lies as far outside it (one step of van Cittert's
//! iteration, 1931, "Zum Einfluss der Spaltbreite auf die Intensitaetsverteilung in Spektrallinien II", on the
//! outline instead of the levels). Corners, which blur takes off, come back by a third to a half; the rest stands in
//! the size that `marks` states.

use crate::solve;
use imaging::Plane;
use imaging::blur::gaussian;
use std::f64::consts::TAU;
use terms::geometry::polygon_area;

/// Rows into which a pixel is cut to fill an outline.
const CUTS: usize = 4;

/// The outline, freed of a blur of standard deviation `blur`, as evenly turned points about its middle; lengths in
/// pixels. It must run at half of its mark's height, the height that nine tenths of the upper half lie below.
/// None if a ray from the middle meets the outline more than once over much of it, or it is too small to show
/// a shape.
pub fn outline(seen: &[(f64, f64)], blur: f64) -> Option<Vec<(f64, f64)>> {
    let area = polygon_area(seen).abs();
    let mean = (area / std::f64::consts::PI).sqrt();
    if mean < 0.8 * blur {
        return None;
    }
    let middle = middle(seen);
    let count = ((1.2 * TAU * mean / blur) as usize).clamp(24, 96);
    let shown = radii(seen, middle, count)?;
    let star = points(&shown, (0.0, 0.0));
    if (polygon_area(&star).abs() / area - 1.0).abs() > 0.08 {
        return None;
    }
    let again = blurred_radii(&star, &shown, blur)?;
    let freed: Vec<f64> =
        shown.iter().zip(&again).map(|(s, a)| (2.0 * s - a).clamp(0.2 * s, 1.6 * s)).collect();
    Some(points(&freed, middle))
}

/// Centre of the area.
fn middle(outline: &[(f64, f64)]) -> (f64, f64) {
    let (ox, oy) = outline[0];
    let (mut area, mut x, mut y) = (0.0, 0.0, 0.0);
    for (p, q) in outline.iter().zip(outline.iter().cycle().skip(1)) {
        let (ax, ay, bx, by) = (p.0 - ox, p.1 - oy, q.0 - ox, q.1 - oy);
        let cross = ax * by - bx * ay;
        area += cross;
        x += (ax + bx) * cross;
        y += (ay + by) * cross;
    }
    (ox + x / (3.0 * area), oy + y / (3.0 * area))
}

fn way(k: usize, count: usize) -> (f64, f64) {
    let (sin, cos) = (TAU * k as f64 / count as f64).sin_cos();
    (cos, sin)
}

/// Points at the radii about a middle.
fn points(radii: &[f64], (x, y): (f64, f64)) -> Vec<(f64, f64)> {
    radii
        .iter()
        .enumerate()
        .map(|(k, r)| {
            let (cos, sin) = way(k, radii.len());
            (x + r * cos, y + r * sin)
        })
        .collect()
}

/// How far out each ray from the middle last meets the outline.
fn radii(outline: &[(f64, f64)], middle: (f64, f64), count: usize) -> Option<Vec<f64>> {
    (0..count)
        .map(|k| {
            let (cos, sin) = way(k, count);
            let sides = outline.iter().zip(outline.iter().cycle().skip(1));
            let met = sides.filter_map(|(p, q)| {
                let (ax, ay, bx, by) = (p.0 - middle.0, p.1 - middle.1, q.0 - middle.0, q.1 - middle.1);
                let (a, b) = (ay * cos - ax * sin, by * cos - bx * sin);
                let t = a / (a - b);
                ((a <= 0.0) != (b <= 0.0))
                    .then_some((ax + t * (bx - ax)) * cos + (ay + t * (by - ay)) * sin)
                    .filter(|r| *r > 0.0)
            });
            met.max_by(f64::total_cmp)
        })
        .collect()
}

/// The filled outline about (0, 0), blurred, and how far out each ray last meets half its height.
fn blurred_radii(star: &[(f64, f64)], radii: &[f64], blur: f64) -> Option<Vec<f64>> {
    let far = radii.iter().copied().fold(0.0, f64::max);
    let half = (far + 3.5 * blur).ceil() as usize + 1;
    let image = gaussian(&filled(star, half), blur);
    let top = image.data().iter().copied().fold(0.0f32, f32::max);
    let mut upper: Vec<f32> = image.data().iter().copied().filter(|v| *v > 0.5 * top).collect();
    let level = f64::from(0.5 * solve::quantile32(&mut upper, 0.9));
    let centre = half as f64;
    (0..radii.len())
        .map(|k| {
            let (cos, sin) = way(k, radii.len());
            let value = |r: f64| f64::from(image.sample(centre + r * cos, centre + r * sin));
            let (step, mut outer) = (0.35, far + 1.5 * blur);
            let mut beyond = value(outer);
            while outer > step {
                let here = value(outer - step);
                if here > level {
                    return Some(outer - step * (level - beyond) / (here - beyond));
                }
                (outer, beyond) = (outer - step, here);
            }
            None
        })
        .collect()
}

/// Share of each pixel inside the outline; (0, 0) is the pixel (`half`, `half`).
fn filled(outline: &[(f64, f64)], half: usize) -> Plane<f32> {
    let size = 2 * half + 1;
    let mut plane = Plane::filled(size, size, 0.0f32);
    let mut met: Vec<f64> = Vec::new();
    for cut in 0..size * CUTS {
        let y = (cut as f64 + 0.5) / CUTS as f64 - 0.5 - half as f64;
        met.clear();
        for (p, q) in outline.iter().zip(outline.iter().cycle().skip(1)) {
            if (p.1 <= y) != (q.1 <= y) {
                met.push(p.0 + (y - p.1) / (q.1 - p.1) * (q.0 - p.0) + half as f64 + 0.5);
            }
        }
        met.sort_by(f64::total_cmp);
        let row = plane.row_mut(cut / CUTS);
        for pair in met.chunks_exact(2) {
            for (x, v) in row.iter_mut().enumerate().take(pair[1] as usize + 1).skip(pair[0] as usize) {
                let part = pair[1].min(x as f64 + 1.0) - pair[0].max(x as f64);
                *v += (part.max(0.0) / CUTS as f64) as f32;
            }
        }
    }
    plane
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::normal::cdf;
    use terms::geometry::enclosing_circle;

    fn diameter(points: &[(f64, f64)]) -> f64 {
        enclosing_circle(points).map_or(0.0, |c| 2.0 * c.r)
    }

    /// A square of side a under a normal blur is a product of two cdf differences; its outline at half height is
    /// found by bisection along rays.
    fn seen_square(a: f64, blur: f64) -> Vec<(f64, f64)> {
        let part = |u: f64| cdf((u + a / 2.0) / blur) - cdf((u - a / 2.0) / blur);
        let half = 0.5 * part(0.0).powi(2);
        (0..180)
            .map(|k| {
                let (cos, sin) = way(k, 180);
                let (mut low, mut high) = (0.0, 2.0 * a);
                for _ in 0..50 {
                    let r = (low + high) / 2.0;
                    if part(r * cos) * part(r * sin) > half { low = r } else { high = r }
                }
                (20.0 + low * cos, 10.0 + low * sin)
            })
            .collect()
    }

    #[test]
    fn corners_that_blur_took_come_back() {
        for (a, blur) in [(10.0, 2.0), (16.0, 1.5)] {
            let seen = seen_square(a, blur);
            let truth = a * std::f64::consts::SQRT_2;
            let (before, after) = (diameter(&seen), diameter(&outline(&seen, blur).unwrap()));
            assert!(truth - before > 1.2 * blur, "{a}: {before} of {truth}");
            assert!(truth - after < (truth - before) * 2.0 / 3.0 && after < truth, "{a}: {after} of {truth}");
        }
    }

    #[test]
    fn a_disc_far_wider_than_the_blur_stays() {
        let disc: Vec<(f64, f64)> = (0..200).map(|k| way(k, 200)).map(|w| (12.0 * w.0, 12.0 * w.1)).collect();
        let freed = diameter(&outline(&disc, 2.0).unwrap());
        // To first order by blur^2 / (2 r) outwards.
        assert!((freed - 24.0 - 2.0 * 4.0 / 24.0).abs() < 0.25, "{freed}");
    }
}
