//! The step of a sharp seam in the ferrule beside a fibre, straight from the picture.

use super::{Along, Seam};
use crate::solve;
use imaging::Frame;
use terms::{Pixel, Point};

/// Pixels on either side of a seam between which the step is taken.
const SIDE: f64 = 2.0;

/// Seams over more pixels than this are lost in the ferrule's grain.
const SHARP: f64 = 10.0;

/// A step so many standard deviations off none is one; one that is looked for at many places must lie farther off.
const CERTAIN: f64 = 2.5;
const CERTAIN_OF_MANY: f64 = 5.0;

/// Fewest lines of ferrule that tell anything.
const FEWEST: usize = 60;

/// The seams at the rim that are looked for: their least step, and from which share of the radius on.
const LEAST_STEP: f64 = 0.01;
const RIM: f64 = 0.8;

/// The ferrule beside a fibre, in pixels of the picture.
pub struct Beside<'a> {
    /// The picture.
    pub frame: &'a Frame,
    /// The fibre's centre.
    pub centre: Point<Pixel>,
    /// What lies within this radius about it is not looked at.
    pub clear: f64,
    /// How far is looked.
    pub reach: f64,
}

/// Whether the ferrule steps as the glass does at a seam; `corner` is where the patch begins in which it was found.
pub fn is_shared(beside: &Beside, seam: &Seam, corner: (usize, usize)) -> bool {
    let at = seam.at + seam.along.turned(corner).0 as f64;
    let alike = |at: f64| {
        let Some((step, u)) = beside.step(seam.along, at, 0.5 * seam.width) else { return false };
        step * seam.step > 0.0
            && step.abs() > CERTAIN * u
            && (step - seam.step).abs() < (0.5 * seam.step.abs()).max(2.0 * u)
    };
    seam.width < SHARP && (-3..=3).any(|k| alike(at + 0.5 * f64::from(k)))
}

/// Whether a seam along such lines cuts so little off a fibre of that radius that its glass hardly shows it.
pub fn cuts_rim(beside: &Beside, along: Along, radius: f64) -> bool {
    let middle = along.turned((beside.centre.x, beside.centre.y)).0;
    let steps = |at: f64| {
        let step = beside.step(along, at, 0.0);
        step.is_some_and(|(step, u)| step.abs() > LEAST_STEP.max(CERTAIN_OF_MANY * u))
    };
    let (from, to) = ((RIM * radius) as i64, radius as i64);
    (from..=to).any(|k| steps((middle - k as f64).round() + 0.5) || steps((middle + k as f64).round() - 0.5))
}

impl Beside<'_> {
    /// The relative step at `at`, between places `half` a blend before and behind it, and its standard uncertainty.
    fn step(&self, along: Along, at: f64, half: f64) -> Option<(f64, f64)> {
        let (across, middle) = along.turned((self.centre.x, self.centre.y));
        let chord = (self.clear * self.clear - (at - across).powi(2)).max(0.0).sqrt();
        let spans = [(at - half - SIDE, at - half), (at + half, at + half + SIDE)];
        let mut steps = self.steps(along, spans, (middle - self.reach, middle - chord));
        steps.extend(self.steps(along, spans, (middle + chord, middle + self.reach)));
        if steps.len() < FEWEST {
            return None;
        }
        let step = solve::median(&mut steps);
        let mut off: Vec<f64> = steps.iter().map(|s| (s - step).abs()).collect();
        // Grains are several lines high: of four lines beside each other one tells something new.
        let count = (steps.len() as f64 / 4.0).sqrt();
        Some((step, 1.25 * 1.4826 * solve::median(&mut off) / count))
    }

    /// The relative step from the one span to the other on each of the picture's lines between two.
    fn steps(&self, along: Along, spans: [(f64, f64); 2], lines: (f64, f64)) -> Vec<f64> {
        let (width, height) = along.turned((self.frame.width(), self.frame.height()));
        let inside = |from: f64, to: f64, size: usize| {
            let clip = |v: f64| v.ceil().clamp(0.0, size as f64) as usize;
            (clip(from), clip(to).saturating_sub(clip(from)))
        };
        let means = |(from, to): (f64, f64)| {
            let ((u, w), (v, h)) = (inside(from, to, width), inside(lines.0, lines.1, height));
            let ((x, y), (columns, rows)) = (along.turned((u, v)), along.turned((w, h)));
            let plane = self.frame.patch(x, y, columns, rows)?;
            let level = |u: usize, v: usize| {
                let (x, y) = along.turned((u, v));
                f64::from(plane.at(x, y))
            };
            Some((0..h).map(|v| (0..w).map(|u| level(u, v)).sum::<f64>() / w as f64).collect::<Vec<f64>>())
        };
        let [Some(before), Some(behind)] = spans.map(means) else { return Vec::new() };
        let pairs = before.iter().zip(&behind).filter(|(a, b)| *a + *b > 1e-3);
        pairs.map(|(a, b)| 2.0 * (b - a) / (a + b)).collect()
    }
}
