//! The mean of what is left on the glass, column by column or row by row, and the step in it.

use super::{Along, Proof, share};
use crate::glass::Glass;
use std::ops::Range;

/// Pixels of the profile that the first search takes together.
pub(super) const BIN: usize = 3;

/// Pixels over which tiles may be blended: of the first search, and of the second about a sharp seam and a soft one.
const WIDTHS: [f64; 4] = [0.0, 15.0, 30.0, 60.0];
const SHARP: [f64; 3] = [0.0, 4.0, 8.0];
const SOFT: [f64; 5] = [0.6, 0.8, 1.0, 1.25, 1.5];

/// Seams are looked for within this share of the radius that is judged.
const REACH: f64 = 0.94;

/// Means over the lines of a patch, and how many pixels each holds.
pub(super) struct Profile {
    mean: Vec<f64>,
    count: Vec<f64>,
    /// The cladding's centre in it.
    pub(super) middle: f64,
    radius: f64,
}

/// A step, a bend, and how much of the squares they explain.
#[derive(Clone, Copy, Default)]
pub(super) struct Fitted {
    pub(super) step: f64,
    pub(super) bend: f64,
    gain: f64,
}

/// What stands farther off is a mark and counts no more than this.
fn most(glass: &Glass) -> f32 {
    (2.5 * glass.noise).max(0.04) as f32
}

/// The profiles across columns and across rows.
pub(super) fn of(glass: &Glass) -> [Profile; 2] {
    let (width, height) = (glass.residual.width(), glass.residual.height());
    let most = most(glass);
    let (mut sums, mut counts) = (vec![0.0f32; width], vec![0.0f32; width]);
    let (mut row_sums, mut row_counts) = (vec![0.0; height], vec![0.0; height]);
    for y in 0..height {
        let (mut sum, mut count) = (0.0f32, 0.0f32);
        let pixels = glass.residual.row(y).iter().zip(glass.inside.row(y));
        for ((v, inside), (s, c)) in pixels.zip(sums.iter_mut().zip(&mut counts)) {
            let v = v.clamp(-most, most);
            *s += v;
            *c += inside;
            sum += v;
            count += inside;
        }
        (row_sums[y], row_counts[y]) = (f64::from(sum), f64::from(count));
    }
    let wide = |v: Vec<f32>| v.into_iter().map(f64::from).collect();
    let profile = |sums, count, middle| Profile::of(sums, count, middle, glass.radius);
    [profile(wide(sums), wide(counts), glass.centre.0), profile(row_sums, row_counts, glass.centre.1)]
}

/// The profile of some of the lines that cross a seam.
pub(super) fn of_band(glass: &Glass, along: Along, lines: Range<usize>) -> Profile {
    let most = most(glass);
    let (size, across) = along.turned((glass.residual.width(), glass.residual.height()));
    let (mut sums, mut count) = (vec![0.0; size], vec![0.0; size]);
    for v in lines.start.min(across)..lines.end.min(across) {
        for u in 0..size {
            let (x, y) = along.turned((u, v));
            if glass.inside.at(x, y) > 0.0 {
                sums[u] += f64::from(glass.residual.at(x, y).clamp(-most, most));
                count[u] += 1.0;
            }
        }
    }
    Profile::of(sums, count, along.turned(glass.centre).0, glass.radius)
}

impl Profile {
    fn of(sums: Vec<f64>, count: Vec<f64>, middle: f64, radius: f64) -> Profile {
        let mean = sums.iter().zip(&count).map(|(s, c)| s / c.max(1.0)).collect();
        Profile { mean, count, middle, radius }
    }

    /// Bins of `size` pixels that hold at least this share of the fullest: their place about the middle, level and
    /// weight.
    pub(super) fn bins(&self, size: usize, share: f64) -> Vec<(f64, f64, f64)> {
        let least = share * size as f64 * self.count.iter().fold(0.0, |a: f64, b| a.max(*b));
        (0..self.mean.len() / size)
            .filter_map(|k| {
                let range = k * size..(k + 1) * size;
                let weight: f64 = self.count[range.clone()].iter().sum();
                let sum: f64 = range.map(|i| self.mean[i] * self.count[i]).sum();
                let at = (k * size) as f64 + 0.5 * (size as f64 - 1.0) - self.middle;
                (weight > least).then(|| (at, sum / weight, weight))
            })
            .collect()
    }

    /// The step that explains most, its place about the middle and its width; none if it explains too little.
    pub(super) fn steepest(&self, Proof { least, explained, .. }: Proof) -> Option<(Fitted, f64, f64)> {
        let coarse = Smooth::of(self.bins(BIN, 0.2));
        if coarse.total < least * least * coarse.weights() {
            return None;
        }
        let reach = (REACH * self.radius) as i64;
        let (first, at, width) = coarse.best((-reach..=reach).step_by(BIN).map(|p| p as f64), &WIDTHS)?;
        if first.gain < 0.8 * explained * coarse.total {
            return None;
        }
        let fine = Smooth::of(self.bins(1, 0.2));
        let near = (-8..=8).map(|k| at + 0.5 * f64::from(k));
        let best =
            if width == 0.0 { fine.best(near, &SHARP) } else { fine.best(near, &SOFT.map(|f| f * width)) }?;
        let gain = best.0.gain;
        (gain > explained * fine.total && gain > least * least * fine.weights()).then_some(best)
    }
}

/// A profile without its quadratic part, and the basis by which that is taken out.
pub(super) struct Smooth {
    at: Vec<f64>,
    weight: Vec<f64>,
    off: Vec<f64>,
    /// Sum of its weighed squares.
    total: f64,
    basis: Vec<Vec<f64>>,
}

impl Smooth {
    pub(super) fn of(bins: Vec<(f64, f64, f64)>) -> Smooth {
        let at = bins.iter().map(|b| b.0).collect();
        let weight = bins.iter().map(|b| b.2).collect();
        let mut smooth = Smooth { at, weight, off: Vec::new(), total: 0.0, basis: Vec::new() };
        for power in 0..3 {
            let v = smooth.projected(|x| (x / 100.0).powi(power));
            let size = smooth.dot(&v, &v).sqrt().max(1e-12);
            smooth.basis.push(v.into_iter().map(|x| x / size).collect());
        }
        let mut off: Vec<f64> = bins.iter().map(|b| b.1).collect();
        smooth.project(&mut off);
        let total = smooth.dot(&off, &off);
        Smooth { off, total, ..smooth }
    }

    fn dot(&self, a: &[f64], b: &[f64]) -> f64 {
        a.iter().zip(b).zip(&self.weight).map(|((a, b), w)| a * b * w).sum()
    }

    fn project(&self, v: &mut [f64]) {
        for basis in &self.basis {
            let c = self.dot(basis, v);
            v.iter_mut().zip(basis).for_each(|(v, b)| *v -= c * b);
        }
    }

    /// A function of the place without its quadratic part.
    fn projected(&self, of: impl Fn(f64) -> f64) -> Vec<f64> {
        let mut v: Vec<f64> = self.at.iter().map(|x| of(*x)).collect();
        self.project(&mut v);
        v
    }

    fn weights(&self) -> f64 {
        self.weight.iter().sum()
    }

    /// How much of a light, a function of the place, shows in the profile: 1 if all of it.
    pub(super) fn share_of(&self, light: impl Fn(f64) -> f64) -> f64 {
        let light = self.projected(light);
        self.dot(&light, &self.off) / self.dot(&light, &light).max(1e-12)
    }

    /// The step and bend that explain most, their place and width.
    fn best(&self, places: impl Iterator<Item = f64>, widths: &[f64]) -> Option<(Fitted, f64, f64)> {
        let mut best: Option<(Fitted, f64, f64)> = None;
        for place in places {
            let bend = self.projected(|x| (x - place).abs());
            for &width in widths {
                let fitted = self.fitted(&self.projected(|x| share(x - place, width)), &bend);
                if best.is_none_or(|b| fitted.gain > b.0.gain) {
                    best = Some((fitted, place, width));
                }
            }
        }
        best
    }

    fn fitted(&self, step: &[f64], bend: &[f64]) -> Fitted {
        let (ss, bb, sb) = (self.dot(step, step), self.dot(bend, bend), self.dot(step, bend));
        let (so, bo) = (self.dot(step, &self.off), self.dot(bend, &self.off));
        let det = ss * bb - sb * sb;
        if det.is_nan() || det <= 1e-9 * ss * bb {
            return Fitted::default();
        }
        let (step, bend) = ((so * bb - bo * sb) / det, (bo * ss - so * sb) / det);
        Fitted { step, bend, gain: step * so + bend * bo }
    }
}
