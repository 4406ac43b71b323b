//! The evidence for one circular edge: radial profiles across an expected circle, the place and height of
//! the step on each, and how much of the circumference agrees with one circle.

use imaging::Plane;
use std::sync::LazyLock;

/// Directions in which profiles are taken.
pub(crate) const RAYS: usize = 64;
/// Samples of a profile.
const SAMPLES: usize = 21;
/// Distance of samples, as a share of the radius.
const PITCH: f64 = 0.0233;
/// Index of the sample on the expected circle.
const MIDDLE: usize = SAMPLES / 2;
/// Steps are searched this many samples to either side of the expected circle.
const REACH: usize = 6;

/// Which way luminance steps at the edge.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Polarity {
    /// The disc is brighter than what lies next to it.
    Bright,
    /// The disc is darker.
    Dark,
}

/// A circle, pixels of the plane it was seen in.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Circle {
    pub x: f64,
    pub y: f64,
    pub radius: f64,
}

/// One profile's strongest step.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Step {
    /// Direction of the profile.
    pub cos: f64,
    /// Direction of the profile.
    pub sin: f64,
    /// Distance of the step from the expected centre over the expected radius, less 1.
    pub beyond: f64,
    /// Its height, luminance.
    pub height: f32,
}

/// The profiles across one expected circle; those that leave the plane are left out.
pub(crate) struct Profiles {
    expected: Circle,
    rays: Vec<(Direction, [f32; SAMPLES])>,
}

type Direction = (f64, f64);

/// The unit vectors of the rays, by repeated turning, so that no platform's sine decides a result.
static DIRECTIONS: LazyLock<[Direction; RAYS]> = LazyLock::new(|| {
    let (turn_cos, turn_sin) = (0.995_184_726_672_196_9, 0.098_017_140_329_560_6);
    let mut all = [(1.0, 0.0); RAYS];
    for i in 1..RAYS {
        let (c, s): Direction = all[i - 1];
        all[i] = (c * turn_cos - s * turn_sin, s * turn_cos + c * turn_sin);
    }
    all
});

impl Profiles {
    /// Samples the plane across the expected circle.
    pub fn new(plane: &Plane<f32>, expected: Circle) -> Profiles {
        let (right, bottom) = ((plane.width() - 1) as f32, (plane.height() - 1) as f32);
        let inside = |(x, y): (f32, f32)| x >= 0.0 && y >= 0.0 && x < right && y < bottom;
        let mut rays = Vec::with_capacity(RAYS);
        for &(cos, sin) in DIRECTIONS.iter() {
            let at = |k: usize| {
                let share = expected.radius * (1.0 + (k as f64 - MIDDLE as f64) * PITCH);
                ((expected.x + share * cos) as f32, (expected.y + share * sin) as f32)
            };
            let (first, last) = (at(0), at(SAMPLES - 1));
            if inside(first) && inside(last) {
                let profile = along(plane, first, last);
                // A plane put together from several pictures has places that none of them shows.
                if profile.iter().all(|v| v.is_finite()) {
                    rays.push(((cos, sin), profile));
                }
            }
        }
        Profiles { expected, rays }
    }

    /// Share of the circumference that the plane holds.
    pub fn in_view(&self) -> f64 {
        self.rays.len() as f64 / RAYS as f64
    }

    /// The strongest step of one polarity on each profile.
    pub fn steps(&self, polarity: Polarity) -> Vec<Step> {
        let step = |((cos, sin), profile): &(Direction, [f32; SAMPLES])| {
            let (beyond, height) = strongest(profile, polarity);
            Step { cos: *cos, sin: *sin, beyond, height }
        };
        self.rays.iter().map(step).collect()
    }

    /// The edge of one polarity against the ferrule's grain. Fits a circle if at least 60 % of the
    /// circumference is in view.
    pub fn rim(&self, polarity: Polarity, grain: Grain) -> Rim {
        let steps = self.steps(polarity);
        let in_view = self.in_view();
        let strong: Vec<&Step> = steps.iter().filter(|s| s.height > grain.step).collect();
        let fit = if in_view >= 0.6 { fitted(&strong) } else { (0.0, 0.0, 0.0) };
        let agree = strong.iter().filter(|s| residual(s, fit).abs() < AGREES).count();
        let Circle { x, y, radius } = self.expected;
        let circle = Circle { x: x + fit.0 * radius, y: y + fit.1 * radius, radius: radius * (1.0 + fit.2) };
        let share = if steps.is_empty() { 0.0 } else { agree as f64 / steps.len() as f64 };
        let coherence = f64::from(self.mean_step(polarity, fit) / grain.mean_step) * in_view.sqrt();
        Rim { circle, share, in_view, coherence }
    }

    /// Mean height of the steps on one circle, given by its shift and growth over the expected radius.
    fn mean_step(&self, polarity: Polarity, (dx, dy, dr): (f64, f64, f64)) -> f32 {
        let at = |((cos, sin), profile): &(Direction, [f32; SAMPLES])| {
            let k = (MIDDLE as f64 + (dx * cos + dy * sin + dr) / PITCH).clamp(3.0, SAMPLES as f64 - 4.0);
            step_at(profile, polarity, (k + 0.5) as usize)
        };
        self.rays.iter().map(at).sum::<f32>() / self.rays.len().max(1) as f32
    }

    /// Mean heights of the steps on circles of several radii about the expected one.
    pub fn mean_steps(&self, polarity: Polarity) -> impl Iterator<Item = f32> {
        [-4.0, 0.0, 4.0].into_iter().map(move |k| self.mean_step(polarity, (0.0, 0.0, k * PITCH)))
    }
}

/// What the grain of the ferrule does where there is no edge.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Grain {
    /// The strongest step of a profile exceeds this now and then only.
    pub step: f32,
    /// Standard deviation of the mean step on a whole circle.
    pub mean_step: f32,
}

/// Bilinear samples from one point to another, both inside the plane and off its last column and row.
fn along(plane: &Plane<f32>, from: (f32, f32), to: (f32, f32)) -> [f32; SAMPLES] {
    let width = plane.width();
    let data = plane.data();
    let (dx, dy) = ((to.0 - from.0) / (SAMPLES - 1) as f32, (to.1 - from.1) / (SAMPLES - 1) as f32);
    let mut values = [0.0; SAMPLES];
    for (k, value) in values.iter_mut().enumerate() {
        let (x, y) = (from.0 + k as f32 * dx, from.1 + k as f32 * dy);
        let (column, row) = (x as i32, y as i32);
        let (fx, fy) = (x - column as f32, y - row as f32);
        let start = row as usize * width + column as usize;
        if let (Some([a, b]), Some([c, d])) =
            (data.get(start..start + 2), data.get(start + width..start + width + 2))
        {
            let (top, bottom) = (a + (b - a) * fx, c + (d - c) * fx);
            *value = top + (bottom - top) * fy;
        }
    }
    values
}

/// Height of the step at sample `k`: what lies within less what lies without, or the reverse.
fn step_at(p: &[f32; SAMPLES], polarity: Polarity, k: usize) -> f32 {
    let sign = if polarity == Polarity::Bright { 1.0 / 3.0 } else { -1.0 / 3.0 };
    sign * (p[k - 3] + p[k - 2] + p[k - 1] - p[k + 1] - p[k + 2] - p[k + 3])
}

fn strongest(p: &[f32; SAMPLES], polarity: Polarity) -> (f64, f32) {
    let step = |k: usize| step_at(p, polarity, k);
    let mut best = (MIDDLE, f32::MIN);
    for k in MIDDLE - REACH..=MIDDLE + REACH {
        let height = step(k);
        if height > best.1 {
            best = (k, height);
        }
    }
    let (k, height) = best;
    let (before, after) = (step(k - 1), step(k + 1));
    let bend = before + after - 2.0 * height;
    let shift = if bend < -1e-9 { (0.5 * (before - after) / bend).clamp(-0.5, 0.5) } else { 0.0 };
    ((k as f64 - MIDDLE as f64 + f64::from(shift)) * PITCH, height)
}

/// A circle through steps, and the share of the profiles that lie on it with a step above the threshold.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Rim {
    /// The fitted circle, or the expected one where the steps cannot carry a fit.
    pub circle: Circle,
    /// Share of the profiles in view that agree.
    pub share: f64,
    /// Profiles in view over all profiles.
    pub in_view: f64,
    /// Mean step on the circle over what the grain makes of it.
    pub coherence: f64,
}

impl Rim {
    /// Whether this is the edge of a disc: half of the circumference agrees, or less of it does and the whole
    /// stands out of the grain.
    pub fn is_edge(&self) -> bool {
        self.share >= 0.5 || (self.share >= PART_SHARE && self.coherence >= 6.0)
    }
}

/// Share of the circumference below which nothing of an edge is taken to show.
pub(crate) const PART_SHARE: f64 = 0.3;

/// How far from the fitted circle a step may lie to agree with it, as a share of the radius.
const AGREES: f64 = 0.05;

fn residual(s: &Step, (dx, dy, dr): (f64, f64, f64)) -> f64 {
    s.beyond - dx * s.cos - dy * s.sin - dr
}

/// Shift of the centre and growth of the radius, over the radius, by least squares on the steps near the
/// median, then on those near the fit.
fn fitted(strong: &[&Step]) -> (f64, f64, f64) {
    if strong.len() < RAYS / 6 {
        return (0.0, 0.0, 0.0);
    }
    let mut fit = (0.0, 0.0, f64::from(median(strong.iter().map(|s| s.beyond as f32).collect())));
    for play in [0.12, 0.06, 0.04] {
        let near: Vec<&&Step> = strong.iter().filter(|s| residual(s, fit).abs() < play).collect();
        match least_squares(&near) {
            Some(next) if next.0.hypot(next.1) < 0.2 => fit = next,
            _ => break,
        }
    }
    fit
}

/// Solves beyond = dx cos + dy sin + dr over the steps.
fn least_squares(steps: &[&&Step]) -> Option<(f64, f64, f64)> {
    if steps.len() < 8 {
        return None;
    }
    let mut m = [[0.0f64; 4]; 3];
    for s in steps {
        let row = [s.cos, s.sin, 1.0];
        for (i, line) in m.iter_mut().enumerate() {
            for (j, value) in row.iter().enumerate() {
                line[j] += row[i] * value;
            }
            line[3] += row[i] * s.beyond;
        }
    }
    solved(m).map(|[dx, dy, dr]| (dx, dy, dr))
}

/// Gauss elimination of a 3 x 4 system; none if it is near singular.
fn solved(mut m: [[f64; 4]; 3]) -> Option<[f64; 3]> {
    for i in 0..3 {
        let pivot = (i..3).max_by(|&a, &b| m[a][i].abs().total_cmp(&m[b][i].abs()))?;
        m.swap(i, pivot);
        if m[i][i].abs() < 0.5 {
            return None;
        }
        for other in 0..3 {
            if other != i {
                let factor = m[other][i] / m[i][i];
                let row = m[i];
                m[other].iter_mut().zip(row).for_each(|(v, r)| *v -= factor * r);
            }
        }
    }
    Some([m[0][3] / m[0][0], m[1][3] / m[1][1], m[2][3] / m[2][2]])
}

/// Upper median; 0 of nothing.
pub(crate) fn median(mut values: Vec<f32>) -> f32 {
    if values.is_empty() {
        return 0.0;
    }
    let middle = values.len() / 2;
    *values.select_nth_unstable_by(middle, f32::total_cmp).1
}
