//! Pixels that no light through the optics can have made: dead, hot and stuck ones of the camera, alone or in whole
//! columns. They are mended before a fibre is looked at.
//!
//! The optics spread every point of the face by the blur. Of what lies on one side of a level b a line of pixels
//! through it shows f(-1) + f(1) - 2b >= 2 q (f(0) - b) with q = exp(-1 / (2 blur^2)), whatever lies there: for each
//! point the two neighbours' share over the middle's is q cosh(u / blur^2), u its distance from the middle. A pixel
//! that stands higher than that in any direction, by more than noise and rounding, is no picture of anything.

use crate::edge::Edge;
use crate::solve;
use imaging::{Coding, Plane};
use std::f64::consts::SQRT_2;

/// The share of the measured blur that is relied on: it may vary over the fibre, and an edge that is not sharp itself
/// looks more blurred than it is; common practice, no source.
const RELIED_ON: f64 = 0.85;

/// Noise brings a pixel this many standard deviations off once in a thousand million.
const BEYOND_NOISE: f64 = 6.0;

/// Each round sees what the defects about a pixel hid from the one before.
const ROUNDS: usize = 8;

/// Pixels of a row that are asked at once.
const BLOCK: usize = 16;

/// One mended pixel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mended {
    /// Column.
    pub x: usize,
    /// Row.
    pub y: usize,
    /// The level put in its place.
    pub level: f32,
}

impl Mended {
    /// Mends the same pixel in another patch of the picture, if it lies there; `from` and `to` are where the patches
    /// begin in it.
    pub fn put(&self, patch: &mut Plane<f32>, from: (usize, usize), to: (usize, usize)) {
        let (x, y) = ((self.x + from.0).wrapping_sub(to.0), (self.y + from.1).wrapping_sub(to.1));
        if x < patch.width() && y < patch.height() {
            patch.set(x, y, self.level);
        }
    }
}

/// Mends the patch about a fibre whose edge was fitted; tells which pixels.
pub fn mend(patch: &mut Plane<f32>, edge: &Edge, coding: Coding) -> Vec<Mended> {
    let Some(noise) = noise(patch, edge) else { return Vec::new() };
    let limits = Limits::of(edge.blur, noise, coding);
    let mut all = Vec::new();
    for _ in 0..ROUNDS {
        let defects = defects(patch, &limits);
        if defects.is_empty() {
            break;
        }
        for Defect { mended, .. } in &defects {
            patch.set(mended.x, mended.y, mended.level);
        }
        all.extend(defects.into_iter().map(|d| d.mended));
    }
    all
}

/// Standard deviation of one pixel on the glass, from differences of neighbours two apart; none if little of the
/// glass is in the patch.
fn noise(patch: &Plane<f32>, edge: &Edge) -> Option<f32> {
    let mut differences = Vec::new();
    for y in (0..patch.height()).step_by(2) {
        let dy = y as f64 - edge.y;
        let half = (edge.radius * edge.radius - dy * dy).max(0.0).sqrt() - 3.0 * edge.blur;
        let from = (edge.x - half).max(0.0) as usize;
        let to = ((edge.x + half).max(0.0) as usize).min(patch.width());
        let row = patch.row(y).get(from..to).unwrap_or(&[]);
        differences.extend(row.windows(3).step_by(3).map(|w| w[2] - w[0]));
    }
    (differences.len() > 60).then(|| solve::spread32(&differences) / std::f32::consts::SQRT_2)
}

/// What light can do between neighbouring pixels: along rows and columns, and along diagonals.
struct Limits {
    /// The least share of a pixel's height that its two neighbours have on average.
    share: [f32; 2],
    /// What noise and rounding may add.
    margin: [f32; 2],
}

impl Limits {
    fn of(blur: f64, noise: f32, coding: Coding) -> Limits {
        let share = [1.0, SQRT_2].map(|step: f64| (-0.5 * (step / (RELIED_ON * blur)).powi(2)).exp());
        let rounding = f64::from(coding.of_pixel());
        let margin =
            share.map(|q| BEYOND_NOISE * f64::from(noise) * (0.5 + q * q).sqrt() + rounding * (1.0 + q));
        Limits { share: share.map(|q| q as f32), margin: margin.map(|m| m as f32) }
    }

    /// By how much a level is farther off the means of its neighbours than noise and rounding bring it.
    #[inline(always)]
    fn excess(&self, level: f32, means: [f32; 4]) -> f32 {
        let greater = |a: f32, b: f32| if a > b { a } else { b };
        let [a, b, c, d] = means.map(|m| (level - m).abs());
        greater(greater(a, b) - self.margin[0], greater(c, d) - self.margin[1])
    }

    /// Whether any level of a block but its first and last is too far off.
    #[inline(always)]
    fn exceeded_in(&self, [above, row, below]: [&[f32; BLOCK + 2]; 3]) -> bool {
        let near: [&[f32]; 3] = [above, row, below];
        let mut most = [0.0f32; BLOCK];
        for (i, most) in most.iter_mut().enumerate() {
            *most = self.excess(row[i + 1], means(near, i + 1));
        }
        most.iter().fold(false, |any, e| any | (*e > 0.0))
    }
}

/// A pixel that cannot be, and by how much.
struct Defect {
    mended: Mended,
    /// Above 0 for a bright one.
    excess: f32,
}

/// The defects that show in a patch as it is, without those that only stand beside a greater one of the other sign.
fn defects(patch: &Plane<f32>, limits: &Limits) -> Vec<Defect> {
    let mut found: Vec<Defect> = Vec::new();
    for y in 1..patch.height().saturating_sub(1) {
        let near = [patch.row(y - 1), patch.row(y), patch.row(y + 1)];
        let last = patch.width().saturating_sub(1);
        for from in (1..last).step_by(BLOCK) {
            // Hardly any block has a pixel to look at: all of it is asked at once.
            let blocks = near.map(|row| row[from - 1..].first_chunk::<{ BLOCK + 2 }>());
            if let [Some(above), Some(row), Some(below)] = blocks
                && !limits.exceeded_in([above, row, below])
            {
                continue;
            }
            for x in from..(from + BLOCK).min(last) {
                let means = means(near, x);
                if limits.excess(near[1][x], means) > 0.0 {
                    found.extend(defect(patch, (x, y), means, limits));
                }
            }
        }
    }
    if found.is_empty() {
        return found;
    }
    let mut excess = Plane::filled(patch.width(), patch.height(), 0.0f32);
    found.iter().for_each(|d| excess.set(d.mended.x, d.mended.y, d.excess));
    found.retain(|d| !outdone(d, &excess));
    found
}

/// Means of the two neighbours of a pixel in each direction; `near` are the rows above, of it and below.
#[inline(always)]
fn means([above, row, below]: [&[f32]; 3], x: usize) -> [f32; 4] {
    let sums = [
        row[x - 1] + row[x + 1],
        above[x] + below[x],
        above[x - 1] + below[x + 1],
        above[x + 1] + below[x - 1],
    ];
    sums.map(|sum| 0.5 * sum)
}

/// Whether a defect has a greater one of the other sign beside it.
fn outdone(defect: &Defect, excess: &Plane<f32>) -> bool {
    let Mended { x, y, .. } = defect.mended;
    (y - 1..=y + 1).any(|row| {
        let near = &excess.row(row)[x - 1..=x + 1];
        near.iter().any(|e| e * defect.excess < 0.0 && e.abs() > defect.excess.abs())
    })
}

/// The defect at (x, y), if it is one. `means` are those of its two neighbours in each direction.
fn defect(patch: &Plane<f32>, (x, y): (usize, usize), means: [f32; 4], limits: &Limits) -> Option<Defect> {
    let v = patch.at(x, y);
    let (low, high) = ground(patch, x, y);
    let beyond = |(k, mean): (usize, f32)| {
        let share = limits.share[k / 2];
        let most =
            if v > mean { share * (v - low) - (mean - low) } else { share * (high - v) - (high - mean) };
        let excess = most - limits.margin[k / 2];
        (excess > 0.0)
            .then(|| Defect { mended: Mended { x, y, level: mean }, excess: excess.copysign(v - mean) })
    };
    means.into_iter().enumerate().filter_map(beyond).max_by(|a, b| a.excess.abs().total_cmp(&b.excess.abs()))
}

/// The levels between which the surroundings of a pixel lie: the lowest and the highest of the 24 about it, and half
/// as far again from their median, as the blur hides what is narrower than it.
fn ground(patch: &Plane<f32>, x: usize, y: usize) -> (f32, f32) {
    let mut around = Vec::with_capacity(24);
    for py in y.saturating_sub(2)..(y + 3).min(patch.height()) {
        let row = patch.row(py);
        for (px, v) in row.iter().enumerate().take((x + 3).min(row.len())).skip(x.saturating_sub(2)) {
            if (px, py) != (x, y) {
                around.push(*v);
            }
        }
    }
    let middle = solve::quantile32(&mut around, 0.5);
    let (low, high) = around.iter().fold((middle, middle), |(l, h), v| (l.min(*v), h.max(*v)));
    (low - 0.5 * (middle - low), high + 0.5 * (high - middle))
}

#[cfg(test)]
mod tests {
    use super::*;

    const EXACT: Coding = Coding { level_step: 1.0 / 255.0, block_step: 0.0 };

    /// Numbers from 0 to 1 by chance.
    fn stream(mut state: u64) -> impl FnMut() -> f64 {
        move || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 40) as f64 / (1u64 << 24) as f64
        }
    }

    /// Glass of level 0.5 strewn with points and lines of both signs, far smaller than the blur, and noise.
    fn strewn(blur: f64, noise: f64, seed: u64) -> Plane<f32> {
        let mut next = stream(seed);
        let mut plane = Plane::filled(120, 120, 0.5f64);
        for k in 0..160 {
            let (x, y) = (120.0 * next(), 120.0 * next());
            let height = (next() - 0.5) * if k % 2 == 0 { 0.9 } else { 0.4 };
            let line = k % 20 == 0;
            let at = |px: usize, py: usize| {
                let (dx, dy) = (px as f64 - x, py as f64 - y);
                (-(dx * dx + if line { 0.0 } else { dy * dy }) / (2.0 * blur * blur)).exp()
            };
            for py in 0..120 {
                for px in 0..120 {
                    plane.set(px, py, plane.at(px, py) + height * at(px, py));
                }
            }
        }
        let mut normal = || noise * ((0..12).map(|_| next()).sum::<f64>() - 6.0);
        let mut out = Plane::filled(120, 120, 0.0f32);
        for (o, v) in out.data_mut().iter_mut().zip(plane.data()) {
            *o = (v + normal()).clamp(0.0, 1.0) as f32;
        }
        out
    }

    /// What the blur leaves of points and lines of either sign, side by side, is never taken for a defect.
    #[test]
    fn what_went_through_the_optics_stays() {
        for (k, blur) in [0.6, 0.75, 1.0, 1.3, 2.0].into_iter().enumerate() {
            for noise in [0.004, 0.01, 0.02] {
                let plane = strewn(blur, noise, k as u64 + 1);
                let limits = Limits::of(blur, noise as f32, EXACT);
                let found: Vec<Mended> = defects(&plane, &limits).into_iter().map(|d| d.mended).collect();
                assert_eq!(found, [], "{blur}, {noise}");
            }
        }
    }

    /// A pixel, a pair, a column, a row: each is found whole and nothing beside it.
    #[test]
    fn what_did_not_is_found_alone() {
        let shapes: [&[(usize, usize)]; 3] = [&[(40, 50)], &[(40, 50), (41, 51)], &[(40, 50), (43, 50)]];
        let column: Vec<(usize, usize)> = (1..119).map(|y| (60, y)).collect();
        let row: Vec<(usize, usize)> = (1..119).map(|x| (x, 33)).collect();
        for blur in [0.75, 1.3] {
            for level in [0.0, 1.0] {
                for shape in shapes.into_iter().chain([&column[..], &row[..]]) {
                    let mut plane = strewn(blur, 0.01, 77);
                    plane.data_mut().iter_mut().for_each(|v| *v = 0.5 + 0.05 * (*v - 0.5));
                    shape.iter().for_each(|&(x, y)| plane.set(x, y, level));
                    let mut found: Vec<(usize, usize)> = defects(&plane, &Limits::of(blur, 0.01, EXACT))
                        .into_iter()
                        .map(|d| (d.mended.x, d.mended.y))
                        .collect();
                    found.sort_unstable();
                    let mut wanted = shape.to_vec();
                    wanted.sort_unstable();
                    assert_eq!(found, wanted, "{blur}, {level}");
                }
            }
        }
    }
}
