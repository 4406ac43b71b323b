//! Whether the other picture lacks a mark: the mark as its outline and contrast make it, fitted to the ratio of both.

use super::aperture::{Aperture, Step};
use super::lines;
use super::ratio::Ratio;
use crate::elsewhere::elsewhere;
use imaging::Plane;
use imaging::blur::gaussian;
use terms::geometry::point_in_polygon;
use terms::{Feature, Kind};

/// Wider marks bend what is taken for the light, um.
pub(super) const WIDEST: f64 = 30.0;

/// Standard deviation of a mark's share in the difference, whatever the noise: its contrast and outline are measured.
const MODEL: f64 = 0.17;
/// No share that is known worse than this tells.
const KNOWN: f64 = 0.35;
/// The odds go no farther than this, natural logarithm.
const MOST: f64 = 7.0;

/// Other places of the glass whose shares tell the scatter, and the least number of them.
const ELSEWHERE: (usize, usize) = (60, 12);

/// Fainter marks are not told where the light of the cores was evened out: its edge may remain.
pub(super) const AT_CORE: f64 = 0.25;

/// Parts of a pixel, along each side, by which it is told how much of it lies in an outline.
const PARTS: usize = 3;

/// Pixels of which the outline fills more than this share are held against what the mark would make of them.
const INSIDE: f64 = 0.3;

/// What one picture alone shows of a mark.
pub(super) struct Decided {
    /// Its share: 1 where the other picture lacks the mark, 0 where both show it.
    pub share: f64,
    /// How far that scatters.
    pub scatter: f64,
}

impl Decided {
    /// Natural logarithm of the odds for the share 1 over the share 0.
    pub fn odds(self) -> f64 {
        let u = self.scatter.hypot(MODEL);
        ((2.0 * self.share - 1.0) / (2.0 * u * u)).clamp(-MOST, MOST)
    }
}

/// Natural logarithm of the odds that only its own picture, the first or the second, shows a mark.
pub(super) fn lacks(mark: &Feature, ratio: &Ratio, second: bool) -> Option<f64> {
    if mark.kind == Kind::Scratch {
        return lines::share(mark, ratio, second).filter(|found| found.scatter <= KNOWN).map(Decided::odds);
    }
    if mark.size.0.max(mark.length.0) > WIDEST || mark.outline.len() < 3 {
        return None;
    }
    if mark.reach.inner.0 < ratio.grid.evened && mark.contrast.abs() < AT_CORE {
        return None;
    }
    let sign = if second { -1.0 } else { 1.0 };
    let outline: Vec<(f64, f64)> = mark.outline.iter().map(|p| ratio.grid.place((p.x, p.y))).collect();
    let aperture = Aperture::new(&outline, ratio.blur / ratio.grid.pixel + 0.7, ratio)?;
    let shape = aperture.heights(&ratio.own[usize::from(second)], (0, 0))?;
    let share = |step: Step| share(&shape, &aperture.heights(&ratio.plane, step)?);
    let apart = (1.2 * mark.size.0.max(mark.length.0) + 2.0 * ratio.blur) / ratio.grid.pixel;
    let disc = ((ratio.grid.middle, ratio.grid.middle), ratio.grid.radius / ratio.grid.pixel);
    let at = ratio.grid.place((mark.centre.x, mark.centre.y));
    let (usual, scatter) = elsewhere(ELSEWHERE, disc, at, apart, share)?;
    if scatter > KNOWN {
        return None;
    }
    let odds = |share: f64| Decided { share, scatter }.odds();
    // What both show beside the mark counts for the one, what neither its outline nor its contrast tell for the other.
    let one = odds(sign * (share((0, 0))? - usual));
    let other = odds(strength(mark, &outline, &aperture, &shape, ratio)?);
    (one * other > 0.0).then(|| if one.abs() < other.abs() { one } else { other })
}

/// Share of a shape in what the ratio shows in its place: 1 where the first picture alone shows it.
fn share(shape: &[f64], shown: &[f64]) -> Option<f64> {
    let pairs = || shape.iter().zip(shown).filter(|(t, v)| t.is_finite() && v.is_finite());
    let square: f64 = pairs().map(|(t, _)| t * t).sum();
    (square > 0.0).then(|| pairs().map(|(t, v)| t * v).sum::<f64>() / square)
}

/// How strong the ratio is within a mark's outline against what the mark alone would make of it: 1 where one picture
/// lacks the mark.
fn strength(
    mark: &Feature,
    outline: &[(f64, f64)],
    aperture: &Aperture,
    shape: &[f64],
    ratio: &Ratio,
) -> Option<f64> {
    let noise = ratio.noise.powi(2);
    let shown = aperture.heights(&ratio.plane, (0, 0))?;
    let (mut found, mut made) = (0.0, 0.0);
    for (v, filled) in shown.iter().zip(filled(outline, aperture, ratio)) {
        if v.is_finite() && filled > INSIDE {
            found += v * v - noise;
            made += (1.0 + mark.contrast.max(-0.95) * filled).ln().powi(2);
        }
    }
    // A rim makes less of it than a filled mark would.
    let own: f64 = shape.iter().filter(|v| v.is_finite()).map(|v| v * v - noise).sum();
    let made = made.min(own);
    (made > 0.0).then(|| (found.max(0.0) / made).sqrt())
}

/// How much of each pixel of an aperture its outline fills, as blurred as the pictures are.
pub(super) fn filled(outline: &[(f64, f64)], aperture: &Aperture, ratio: &Ratio) -> Vec<f64> {
    let blur = ratio.blur / ratio.grid.pixel;
    let reach = (3.0 * blur).ceil() as isize + 1;
    let pixels = aperture.filled();
    let span = |of: fn(&(isize, isize)) -> isize| {
        let (low, high) =
            pixels.iter().map(of).fold((isize::MAX, isize::MIN), |(l, h), v| (l.min(v), h.max(v)));
        (low - reach, (high - low + 2 * reach + 1) as usize)
    };
    let ((left, width), (top, height)) = (span(|p| p.0), span(|p| p.1));
    let part = |k: usize| (k as f64 + 0.5) / PARTS as f64 - 0.5;
    let plane = Plane::from_fn(width, height, |i, j| {
        let (x, y) = ((left + i as isize) as f64, (top + j as isize) as f64);
        let parts = (0..PARTS * PARTS).map(|k| (x + part(k % PARTS), y + part(k / PARTS)));
        parts.filter(|p| point_in_polygon(*p, outline)).count() as f32 / (PARTS * PARTS) as f32
    });
    let blurred = if blur > 0.1 { gaussian(&plane, blur) } else { plane };
    pixels.iter().map(|(x, y)| f64::from(blurred.at((x - left) as usize, (y - top) as usize))).collect()
}
