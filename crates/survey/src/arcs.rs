//! Arcs of one rim: where a scratch crosses a droplet's rim or noise breaks it, its parts do not meet. Arcs that lie on
//! one circle and leave little of it open are one mark (circle by least squares of its equation: Kåsa, 1976, "A circle
//! fitting procedure and its error analysis"). What of the circle lies beyond the cladding's edge is not held against
//! them: a droplet over the edge shows on the glass alone.

use crate::blobs::{Blob, alike};
use crate::marks::thickness;
use crate::pieces::On;
use crate::solve;
use std::f64::consts::TAU;
use terms::geometry::largest_extent;

/// Widest rim, um; what is wider is a film.
const WIDEST: f64 = 25.0;

/// An arc is thinner than this share of its extent.
const THIN: f64 = 0.6;

/// Heights of the arcs of one rim agree within this factor, or what is left of them where a rim is thinner than the blur
/// and each was found at another smoothing: heights times blurs.
const ALIKE: f64 = 2.0;

/// Pixels scatter about the circle by no more than these shares of the arcs' width and the circle's radius: the band
/// itself, and how far from round a rim may be.
const ROUND: (f64, f64) = (0.35, 0.12);

/// Least share of the circle on the glass that the arcs show, and the widest share that they leave open at one place.
const SHOWN: f64 = 0.6;
const OPEN: f64 = 0.3;

/// Least share of the circle that lies on the glass.
const ON_GLASS: f64 = 0.35;

/// Directions in which a rim is looked at.
const SECTORS: usize = 36;

/// Makes one mark of arcs of one rim.
pub fn close(found: &mut Vec<Blob>, on: On) {
    let mut i = 0;
    while i < found.len() {
        let other = (i + 1..found.len()).find_map(|j| rim_of(&found[i], &found[j], on).map(|rim| (j, rim)));
        match other {
            Some((j, rim)) => {
                let other = found.remove(j);
                found[i].pixels.extend(other.pixels);
                found[i].outline = rim.outline;
                found[i].across |= rim.across;
            }
            None => i += 1,
        }
    }
}

/// A rim made of arcs.
struct Closed {
    outline: Vec<(f64, f64)>,
    /// Whether it lies across the edge of the glass.
    across: bool,
}

/// The rim that two blobs are arcs of.
fn rim_of(a: &Blob, b: &Blob, on: On) -> Option<Closed> {
    let thin = |blob: &Blob| thickness(blob) < THIN * largest_extent(&blob.outline);
    let as_high = alike(a.height, b.height, ALIKE) || alike(a.height * a.blur, b.height * b.blur, ALIKE);
    if !(as_high && thin(a) && thin(b)) {
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
    let on_circle = |k: usize, far: f64| {
        let turn = TAU * (k as f64 + 0.5) / SECTORS as f64;
        (x + far * turn.cos(), y + far * turn.sin())
    };
    let (cx, cy, glass) = on.disc;
    let on_glass: [bool; SECTORS] = std::array::from_fn(|k| {
        let p = on_circle(k, radius);
        reach[k] > 0.0 || (p.0 - cx).hypot(p.1 - cy) < glass - a.blur
    });
    let due = on_glass.iter().filter(|on| **on).count() as f64;
    let shown = reach.iter().filter(|r| **r > 0.0).count() as f64;
    let band = pixels.len() as f64 / (TAU * radius * shown / SECTORS as f64);
    let off = pixels.iter().map(|p| ((p.0 - x).hypot(p.1 - y) - radius).powi(2)).sum::<f64>();
    let scatter = (off / pixels.len() as f64).sqrt();
    let fits = 2.0 * radius < WIDEST * on.px_per_um
        && scatter < ROUND.0 * band + ROUND.1 * radius
        && due >= ON_GLASS * SECTORS as f64
        && shown > SHOWN * due
        && widest_gap(&reach, &on_glass) as f64 <= OPEN * due;
    fits.then(|| Closed {
        outline: (0..SECTORS).map(|k| on_circle(k, closed(&reach, k))).collect(),
        across: due < SECTORS as f64,
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

/// The longest run of empty sectors on the glass, round the circle.
fn widest_gap(reach: &[f64; SECTORS], on_glass: &[bool; SECTORS]) -> usize {
    let (mut longest, mut run) = (0, 0);
    for k in (0..SECTORS).chain(0..SECTORS) {
        run = if reach[k] > 0.0 || !on_glass[k] { 0 } else { run + 1 };
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
        Blob {
            peak,
            height,
            base: 0.0,
            strength: 9.0,
            blur: 1.5,
            pixels,
            outline,
            dip: 0.0,
            across: false,
            rim: None,
        }
    }

    /// Glass that ends at x = `x`, nearly.
    fn glass_to(x: f64) -> On {
        On { disc: (x - 500.0, 30.0, 500.0), px_per_um: 1.0 }
    }

    /// Glass that all of the rim lies on.
    fn all_glass() -> On {
        glass_to(100.0)
    }

    /// Of a rim about the edge two arcs show, and what is open lies beyond the glass; on glass it would be open.
    #[test]
    fn what_lies_beyond_the_glass_is_not_open() {
        let arcs = || vec![arc(95.0, 190.0, -0.1), arc(200.0, 265.0, -0.1)];
        for (on, marks, across) in [(glass_to(30.0), 1, true), (all_glass(), 2, false)] {
            let mut found = arcs();
            close(&mut found, on);
            assert_eq!((found.len(), found[0].across), (marks, across));
            let wide = largest_extent(&found[0].outline);
            assert!(!across || (22.0..24.0).contains(&wide), "{wide}");
        }
    }

    /// What a wider smoothing found of a thin rim is as much lower.
    #[test]
    fn arcs_found_at_other_smoothings_are_of_one_rim() {
        let other = Blob { blur: 3.5, ..arc(180.0, 310.0, -0.04) };
        let mut found = vec![arc(0.0, 150.0, -0.1), other];
        close(&mut found, all_glass());
        assert_eq!(found.len(), 1);
    }

    #[test]
    fn arcs_of_one_rim_are_one_mark_as_wide_as_the_rim() {
        let mut found = vec![arc(0.0, 150.0, -0.1), arc(180.0, 310.0, -0.08)];
        close(&mut found, all_glass());
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
            close(&mut found, all_glass());
            assert_eq!(found.len(), 2, "{what}");
        }
    }
}
