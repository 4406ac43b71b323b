//! Arcs of one rim: where a scratch crosses a droplet's rim or noise breaks it, its parts do not meet. Arcs that lie on
//! one circle and leave little of it open are one mark (circle by least squares of its equation: Kåsa, 1976, "A circle
//! fitting procedure and its error analysis").

use crate::blobs::{Blob, alike};
use crate::marks::thickness;
use crate::solve;
use std::f64::consts::TAU;
use terms::geometry::largest_extent;

/// Widest rim, um; what is wider is a film.
const WIDEST: f64 = 25.0;

/// An arc is thinner than this share of its extent.
const THIN: f64 = 0.6;

/// Heights of the arcs of one rim agree within this factor.
const ALIKE: f64 = 2.0;

/// Pixels scatter about the circle by no more than these shares of the arcs' width and the circle's radius: the band
/// itself, and how far from round a rim may be.
const ROUND: (f64, f64) = (0.35, 0.12);

/// Least share of the circle that the arcs show, and the widest share that they leave open at one place.
const SHOWN: f64 = 0.6;
const OPEN: f64 = 0.3;

/// Directions in which a rim is looked at.
const SECTORS: usize = 36;

/// Makes one mark of arcs of one rim.
pub fn close(found: &mut Vec<Blob>, px_per_um: f64) {
    let mut i = 0;
    while i < found.len() {
        let other = (i + 1..found.len())
            .find_map(|j| rim_of(&found[i], &found[j], px_per_um).map(|outline| (j, outline)));
        match other {
            Some((j, outline)) => {
                let other = found.remove(j);
                let strong = &mut found[i];
                strong.pixels.extend(other.pixels);
                strong.outline = outline;
            }
            None => i += 1,
        }
    }
}

/// The outline of the rim that two blobs are arcs of.
fn rim_of(a: &Blob, b: &Blob, px_per_um: f64) -> Option<Vec<(f64, f64)>> {
    let thin = |blob: &Blob| thickness(blob) < THIN * largest_extent(&blob.outline);
    if !(alike(a.height, b.height, ALIKE) && thin(a) && thin(b)) {
        return None;
    }
    let pixels: Vec<(f64, f64)> =
        a.pixels.iter().chain(&b.pixels).map(|p| (p.0 as f64, p.1 as f64)).collect();
    let (x, y, radius) = circle(&pixels)?;
    let mut reach = [0.0f64; SECTORS];
    for p in a.outline.iter().chain(&b.outline) {
        let sector = &mut reach[sector((p.0 - x, p.1 - y))];
        *sector = sector.max((p.0 - x).hypot(p.1 - y));
    }
    let shown = reach.iter().filter(|r| **r > 0.0).count() as f64 / SECTORS as f64;
    let band = pixels.len() as f64 / (TAU * radius * shown);
    let off = pixels.iter().map(|p| ((p.0 - x).hypot(p.1 - y) - radius).powi(2)).sum::<f64>();
    let scatter = (off / pixels.len() as f64).sqrt();
    let fits = 2.0 * radius < WIDEST * px_per_um
        && scatter < ROUND.0 * band + ROUND.1 * radius
        && shown > SHOWN
        && widest_gap(&reach) as f64 <= OPEN * SECTORS as f64;
    fits.then(|| {
        let at = |k: usize| {
            let (turn, far) = (TAU * (k as f64 + 0.5) / SECTORS as f64, closed(&reach, k));
            (x + far * turn.cos(), y + far * turn.sin())
        };
        (0..SECTORS).map(at).collect()
    })
}

/// How far the outline reaches in a sector; in an empty one as far as in the nearest ones on its sides.
fn closed(reach: &[f64; SECTORS], k: usize) -> f64 {
    let side =
        |step: usize| (0..SECTORS).map(|s| reach[(k + s * step) % SECTORS]).find(|r| *r > 0.0).unwrap_or(0.0);
    0.5 * (side(1) + side(SECTORS - 1))
}

fn sector((dx, dy): (f64, f64)) -> usize {
    (dy.atan2(dx).rem_euclid(TAU) / TAU * SECTORS as f64) as usize % SECTORS
}

/// The longest run of empty sectors, round the circle.
fn widest_gap(reach: &[f64; SECTORS]) -> usize {
    let (mut longest, mut run) = (0, 0);
    for r in reach.iter().chain(reach) {
        run = if *r > 0.0 { 0 } else { run + 1 };
        longest = longest.max(run);
    }
    longest.min(SECTORS)
}

/// Middle and radius of the circle through points, in the least squares of x^2 + y^2 + ax + by + c.
fn circle(points: &[(f64, f64)]) -> Option<(f64, f64, f64)> {
    let n = points.len() as f64;
    let mean = points.iter().fold((0.0, 0.0), |m, p| (m.0 + p.0 / n, m.1 + p.1 / n));
    let (mut a, mut b, mut square) = ([0.0; 4], [0.0; 2], 0.0);
    for p in points {
        let from = [p.0 - mean.0, p.1 - mean.1];
        let far = (from[0].powi(2) + from[1].powi(2)) / n;
        square += far;
        for (i, x) in from.into_iter().enumerate() {
            b[i] += x * far / 2.0;
            from.into_iter().enumerate().for_each(|(j, y)| a[2 * i + j] += x * y / n);
        }
    }
    let middle = solve::cholesky(&mut a, &b)?;
    Some((mean.0 + middle[0], mean.1 + middle[1], (square + middle[0].powi(2) + middle[1].powi(2)).sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The part of a ring of radius 10 about (30, 30), 3 wide, between two directions, degrees.
    fn arc(from: f64, to: f64, height: f64) -> Blob {
        let within = |p: &(usize, usize)| {
            let (dx, dy) = (p.0 as f64 - 30.0, p.1 as f64 - 30.0);
            let turn = dy.atan2(dx).to_degrees().rem_euclid(360.0);
            (8.5..11.5).contains(&dx.hypot(dy)) && (from..to).contains(&turn)
        };
        let all = (0..60).flat_map(|y| (0..60).map(move |x| (x, y)));
        let pixels: Vec<(usize, usize)> = all.filter(within).collect();
        let outline = pixels.iter().map(|p| (p.0 as f64, p.1 as f64)).collect();
        let peak = pixels[0];
        Blob { peak, height, base: 0.0, strength: 9.0, blur: 1.5, pixels, outline, dip: 0.0, across: false }
    }

    #[test]
    fn arcs_of_one_rim_are_one_mark_as_wide_as_the_rim() {
        let mut found = vec![arc(0.0, 150.0, -0.1), arc(180.0, 310.0, -0.08)];
        close(&mut found, 1.0);
        assert_eq!(found.len(), 1);
        let wide = largest_extent(&found[0].outline);
        assert!((22.0..24.0).contains(&wide), "{wide}");
    }

    #[test]
    fn marks_that_are_no_rim_stay_apart() {
        let dot = |x: usize| {
            let pixels: Vec<(usize, usize)> =
                (28..33).flat_map(|y| (x..x + 5).map(move |x| (x, y))).collect();
            let outline = pixels.iter().map(|p| (p.0 as f64, p.1 as f64)).collect();
            Blob { pixels, outline, ..arc(0.0, 150.0, -0.1) }
        };
        for (what, a, b) in [
            ("the other sign", arc(0.0, 150.0, -0.1), arc(180.0, 310.0, 0.1)),
            ("much darker", arc(0.0, 150.0, -0.1), arc(180.0, 310.0, -0.3)),
            ("half open", arc(0.0, 90.0, -0.1), arc(100.0, 190.0, -0.1)),
            ("two short parts", arc(0.0, 60.0, -0.1), arc(180.0, 240.0, -0.1)),
            ("two dots", dot(20), dot(30)),
        ] {
            let mut found = vec![a, b];
            close(&mut found, 1.0);
            assert_eq!(found.len(), 2, "{what}");
        }
    }
}
