//! Small rims, told from filled marks by their pixels: a disc or a rim under the picture's own blur, whichever fits. Half
//! the height of a smoothed rim says little of its size, the less the fainter it is.
//!
//! A blurred ring has the profile exp(-(r^2 + t^2) / 2 s^2) I0(r t / s^2) t / s^2 (the density of Rice, 1945,
//! "Mathematical Analysis of Random Noise"); discs and rims are its sums over t. Height and ground are fitted by least
//! squares at each outer radius, evenly in its logarithm, and weighed by their likelihood and by what contrasts marks
//! have ([`likely`]); mean and spread of what remains are the size and its uncertainty. All lengths are in pixels.

use crate::sizes::{Sized, likely};
use imaging::Plane;
use std::sync::LazyLock;
use terms::geometry::Circle;

/// Radii of the holes of rims, shares of the outer radius.
const HOLES: [f64; 3] = [0.4, 0.6, 0.8];
/// Outer radii that are tried, and the least of them in blurs.
const RADII: (usize, f64) = (36, 0.3);
/// Every so many of them is tried while the middle is looked for.
const COARSE: usize = 3;
/// Places of the middle that are tried on each side of the last one, and the steps between them in blurs.
const SHIFTS: [(i32, f64); 2] = [(3, 0.5), (2, 0.15)];
/// Steps of the profiles per blur.
const STEPS: f64 = 8.0;
/// Blurs about the outer radius to which a mark shows.
const SKIRT: f64 = 3.0;
/// How far beyond the circle about another mark its light is not looked at, blurs.
const CLEAR: f64 = 1.5;
/// Outer radius of the widest shape that is tried, in radii of the circle about the mark as it shows.
const WIDEST: f64 = 1.5;
/// The circle about a mark whose hole the blur may fill has less than this radius, blurs.
const FILLS: f64 = 7.0;
/// Least share of what is likely that rims must have.
const PROVEN: f64 = 0.9;

/// Where a mark is looked for.
pub struct Scene<'a> {
    /// The glass without its light.
    pub residual: &'a Plane<f32>,
    /// Where it may be looked at.
    pub open: &'a Plane<f32>,
    /// Circles about all marks there.
    pub marks: &'a [Option<Circle>],
    /// Standard deviation of the blur.
    pub blur: f64,
    /// Standard deviation of a pixel's noise.
    pub noise: f64,
}

/// Size of the mark with that number, if it is small and a rim. The circle about it as it shows bounds what is tried.
pub fn rim(scene: &Scene, number: usize) -> Option<Sized> {
    let seen = scene.marks.get(number).copied().flatten().filter(|c| c.r < FILLS * scene.blur)?;
    let most = WIDEST * seen.r;
    let pixels = pixels(scene, number, &seen, most + SKIRT * scene.blur)?;
    let shapes = shapes(most, scene.blur);
    let middle = middle(&shapes, &pixels, scene.blur)?;
    let fits: Vec<Fit> = shapes.iter().map(|s| s.fit(&pixels, middle)).collect();
    let best = fits.iter().map(|f| f.gain).fold(0.0, f64::max);
    let (mut weight, mut rims, mut mean, mut square, mut contrast) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (shape, fit) in shapes.iter().zip(&fits) {
        let w = (0.5 * (fit.gain - best) / scene.noise.powi(2)).exp() * likely(fit.height.abs());
        let size = 2.0 * shape.outer;
        weight += w;
        rims += if shape.hole > 0.0 { w } else { 0.0 };
        mean += w * size;
        square += w * size * size;
        contrast += w * fit.height;
    }
    let size = mean / weight;
    let u = (square / weight - size * size).max(0.0).sqrt();
    let proven = weight > 1e-12 && rims > PROVEN * weight && size + u < 2.0 * most;
    proven.then(|| Sized { size, u, contrast: contrast / weight })
}

/// Pixels about a mark: where they lie from its middle, and their values. None if other marks hide too much.
fn pixels(scene: &Scene, number: usize, seen: &Circle, reach: f64) -> Option<Vec<(f64, f64, f64)>> {
    let apart = |c: &Circle| (c.x - seen.x).hypot(c.y - seen.y) - c.r - CLEAR * scene.blur;
    let others = scene.marks.iter().enumerate().filter(|(k, _)| *k != number).filter_map(|(_, c)| c.as_ref());
    let near: Vec<&Circle> = others.filter(|c| apart(c) < reach).collect();
    let free = |x: f64, y: f64| near.iter().all(|c| (x - c.x).hypot(y - c.y) > c.r + CLEAR * scene.blur);
    let span = |c: f64, size: usize| ((c - reach).max(0.0) as usize)..((c + reach + 1.0) as usize).min(size);
    let (mut pixels, mut all) = (Vec::new(), 0);
    for row in span(seen.y, scene.residual.height()) {
        for column in span(seen.x, scene.residual.width()) {
            let (x, y) = (column as f64, row as f64);
            if (x - seen.x).hypot(y - seen.y) < reach {
                all += 1;
                if scene.open.at(column, row) > 0.0 && free(x, y) {
                    pixels.push((x - seen.x, y - seen.y, f64::from(scene.residual.at(column, row))));
                }
            }
        }
    }
    (3 * pixels.len() > 2 * all).then_some(pixels)
}

/// Where the middle of the mark lies: that of the shape that fits best about the seen one.
fn middle(shapes: &[Shape], pixels: &[(f64, f64, f64)], blur: f64) -> Option<(f64, f64)> {
    let kinds = HOLES.len() + 1;
    let some = shapes.chunks(kinds).step_by(COARSE).flatten();
    let shape = highest(some, |s| s.fit(pixels, (0.0, 0.0)).gain)?;
    let nearer = |(x, y): (f64, f64), (count, step): (i32, f64)| {
        let shift = |k: i32| f64::from(k) * step * blur;
        let places =
            (-count..=count).flat_map(|i| (-count..=count).map(move |j| (x + shift(i), y + shift(j))));
        highest(places, |at| shape.fit(pixels, *at).gain)
    };
    SHIFTS.into_iter().try_fold((0.0, 0.0), nearer)
}

/// What has the highest value of all.
fn highest<T>(of: impl Iterator<Item = T>, value: impl Fn(&T) -> f64) -> Option<T> {
    of.map(|one| (value(&one), one)).max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, one)| one)
}

/// A disc or a rim of contrast 1 under the blur.
struct Shape {
    outer: f64,
    hole: f64,
    /// Levels at evenly spaced distances from the middle.
    profile: Vec<f64>,
    step: f64,
}

/// How high a shape stands at a place, and by how much the squares of what is left fall by it.
struct Fit {
    height: f64,
    gain: f64,
}

impl Shape {
    fn at(&self, r: f64) -> f64 {
        let place = r / self.step;
        let k = place as usize;
        match self.profile.get(k..k + 2) {
            Some([a, b]) => a + (place - k as f64) * (b - a),
            _ => 0.0,
        }
    }

    /// Height on an even ground, by least squares.
    fn fit(&self, pixels: &[(f64, f64, f64)], (x, y): (f64, f64)) -> Fit {
        let n = pixels.len() as f64;
        let (mut p, mut v, mut pp, mut pv) = (0.0, 0.0, 0.0, 0.0);
        for (dx, dy, value) in pixels {
            let (u, w) = (dx - x, dy - y);
            let level = self.at((u * u + w * w).sqrt());
            p += level;
            v += value;
            pp += level * level;
            pv += level * value;
        }
        let (both, own) = (pv - p * v / n, pp - p * p / n);
        let height = if own > 1e-9 { both / own } else { 0.0 };
        Fit { height, gain: height * both }
    }
}

/// Sums over the rings within each radius, at each distance from the middle; both in steps under a blur of 1.
static WITHIN: LazyLock<Vec<Vec<f64>>> = LazyLock::new(|| {
    let far = WIDEST * FILLS;
    let (places, rings) = (((far + SKIRT) * STEPS) as usize + 2, (far * STEPS) as usize + 2);
    let at = |k: f64| k / STEPS;
    let sums = |place: usize| {
        let mut sum = 0.0;
        let up_to = (0..rings).map(|k| {
            sum += ring_at(at(place as f64), at(k as f64 + 0.5)) / STEPS;
            sum
        });
        std::iter::once(0.0).chain(up_to).collect()
    };
    (0..places).map(sums).collect()
});

/// The disc and the rims of each outer radius up to `most`, which is below `WIDEST * FILLS` blurs.
fn shapes(most: f64, blur: f64) -> Vec<Shape> {
    let step = blur / STEPS;
    let places = ((most + SKIRT * blur) / step) as usize + 2;
    let sums = &WITHIN[..places.min(WITHIN.len())];
    let within = |sums: &[f64], radius: f64| {
        let place = radius / step;
        let k = (place as usize).min(sums.len() - 2);
        sums[k] + (place - k as f64) * (sums[k + 1] - sums[k])
    };
    let shape = |outer: f64, hole: f64| {
        let profile = sums.iter().map(|s| within(s, outer) - within(s, hole * outer)).collect();
        Shape { outer, hole, profile, step }
    };
    let (count, least) = RADII;
    let radius = |k: usize| least * blur * (most / (least * blur)).powf(k as f64 / (count - 1) as f64);
    let holes = || std::iter::once(0.0).chain(HOLES);
    (0..count)
        .map(radius)
        .flat_map(|outer| holes().map(move |hole| (outer, hole)))
        .map(|(o, h)| shape(o, h))
        .collect()
}

/// A ring of radius `t` and of width 1 under a blur of 1, seen at a distance `r` from its middle.
fn ring_at(r: f64, t: f64) -> f64 {
    (-0.5 * (r - t) * (r - t)).exp() * scaled_i0(r * t) * t
}

/// exp(-x) times the modified Bessel function I0(x), for x from 0 on; relative error below 2e-7.
///
/// Source: Abramowitz and Stegun, 1964, Handbook of Mathematical Functions, 9.8.1 and 9.8.2.
fn scaled_i0(x: f64) -> f64 {
    let polynomial = |at: f64, terms: &[f64]| terms.iter().rev().fold(0.0, |sum, term| sum * at + term);
    if x < 3.75 {
        let terms = [1.0, 3.515_622_9, 3.089_942_4, 1.206_749_2, 0.265_973_2, 0.036_076_8, 0.004_581_3];
        return polynomial((x / 3.75).powi(2), &terms) * (-x).exp();
    }
    let terms = [
        0.398_942_28,
        0.013_285_92,
        0.002_253_19,
        -0.001_575_65,
        0.009_162_81,
        -0.020_577_06,
        0.026_355_37,
        -0.016_476_33,
        0.003_923_77,
    ];
    polynomial(3.75 / x, &terms) / x.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use imaging::blur::gaussian;

    const BLUR: f64 = 1.2;
    const MIDDLE: (f64, f64) = (24.3, 25.6);

    /// A disc or a rim, filled by parts of pixels and blurred by convolution.
    fn drawn(at: (f64, f64), outer: f64, hole: f64, contrast: f64) -> Plane<f32> {
        let cut = |v: usize, k: i32| v as f64 + (f64::from(k) - 4.5) / 10.0;
        let filled = |x: usize, y: usize| {
            let inside = |i: i32, j: i32| {
                let r = (cut(x, i) - at.0).hypot(cut(y, j) - at.1);
                r < outer && r >= hole
            };
            let parts = (0..10).flat_map(|i| (0..10).map(move |j| (i, j))).filter(|(i, j)| inside(*i, *j));
            (contrast * parts.count() as f64 / 100.0) as f32
        };
        gaussian(&Plane::from_fn(50, 50, filled), BLUR)
    }

    /// With a noise of its own; twelve even numbers make a nearly normal one.
    fn noisy(mut plane: Plane<f32>, noise: f64, seed: u64) -> Plane<f32> {
        let mut state = seed;
        let mut even = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 40) as f64 / (1u64 << 24) as f64 - 0.5
        };
        for v in plane.data_mut() {
            *v += (noise * (0..12).map(|_| even()).sum::<f64>()) as f32;
        }
        plane
    }

    /// The size of the mark in the middle, about which a circle of radius `outer + 1.2` was seen, beside other marks.
    fn rim_in(residual: &Plane<f32>, outer: f64, others: &[Circle], noise: f64) -> Option<Sized> {
        let open = Plane::filled(50, 50, 1.0f32);
        let seen = Circle { x: MIDDLE.0 + 0.5, y: MIDDLE.1 - 0.4, r: outer + 1.2 };
        let marks: Vec<Option<Circle>> =
            std::iter::once(seen).chain(others.iter().copied()).map(Some).collect();
        // A pixel's square widens the blur, as it does that of an edge.
        let blur = BLUR.hypot((1.0f64 / 12.0).sqrt());
        rim(&Scene { residual, open: &open, marks: &marks, blur, noise }, 0)
    }

    fn told(outer: f64, hole: f64, contrast: f64, noise: f64, seed: u64) -> Option<Sized> {
        let residual = noisy(drawn(MIDDLE, outer, hole, contrast), noise, seed);
        rim_in(&residual, outer, &[], noise)
    }

    /// What another mark adds is not looked at, if it is known; where it hides much, nothing is told.
    #[test]
    fn a_mark_beside_it_changes_little() {
        let (outer, noise, beside) = (3.5, 0.01, (MIDDLE.0 + 9.0, MIDDLE.1));
        let mut both = drawn(MIDDLE, outer, 2.5, -0.3);
        for (sum, v) in both.data_mut().iter_mut().zip(drawn(beside, 3.0, 0.0, -0.6).data()) {
            *sum += v;
        }
        let residual = noisy(both, noise, 1);
        let other = |r| Circle { x: beside.0, y: beside.1, r };
        let (alone, known) =
            (told(outer, 2.5, -0.3, noise, 1), rim_in(&residual, outer, &[other(3.5)], noise));
        let gap = |told: Option<Sized>| told.map(|t| (t.size - alone.unwrap().size).abs());
        assert!(gap(known).unwrap() < 0.3, "{known:?} {alone:?}");
        let unknown = rim_in(&residual, outer, &[], noise);
        assert!(gap(unknown).is_none_or(|gap| gap > 0.6), "{unknown:?} {alone:?}");
        assert_eq!(rim_in(&residual, outer, &[other(9.0)], noise), None);
    }

    #[test]
    fn a_faint_rim_is_as_large_as_it_is() {
        for (outer, hole) in [(2.8, 1.7), (3.5, 2.5), (4.2, 3.2)] {
            for seed in 0..8 {
                let sized = told(outer, hole, -0.3, 0.01, seed).unwrap();
                let off = sized.size - 2.0 * outer;
                assert!(off.abs() < (3.0 * sized.u).max(0.4), "{outer}: {sized:?}");
                assert!(sized.contrast < -0.1, "{outer}: {sized:?}");
            }
        }
    }

    #[test]
    fn what_is_filled_or_shows_neither_is_no_rim() {
        for seed in 0..8 {
            for outer in [1.5, 3.0, 4.5] {
                assert_eq!(told(outer, 0.0, -0.3, 0.02, seed), None, "{outer}");
            }
            // As small as the blur, a rim looks like a disc.
            assert_eq!(told(1.2, 0.8, -0.3, 0.02, seed), None);
        }
    }

    /// Handbook of Mathematical Functions, table 9.8: exp(-x) I0(x).
    #[test]
    fn agrees_with_the_table() {
        for (x, value) in [
            (0.0, 1.0),
            (1.0, 0.465_759_608),
            (2.0, 0.308_508_323),
            (5.0, 0.183_540_813),
            (10.0, 0.127_833_337),
        ] {
            assert!((scaled_i0(x) / value - 1.0).abs() < 3e-7, "{x}: {}", scaled_i0(x));
        }
    }
}
