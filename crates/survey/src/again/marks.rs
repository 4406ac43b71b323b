//! Whether the other picture lacks a mark: the mark as its outline and contrast make it, fitted to the ratio of both.

use super::ratio::Ratio;
use crate::mosaic::near;
use crate::solve::median;
use imaging::Plane;
use imaging::blur::gaussian;
use terms::geometry::point_in_polygon;
use terms::{Feature, Kind};

/// Wider marks bend what is taken for the light, um.
const WIDEST: f64 = 30.0;

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

/// What lies so far about a mark, um, is the glass that it lies on.
const ABOUT_UM: f64 = 2.0;
/// Pixels of that, at least.
const LEAST_ABOUT: usize = 8;

/// Natural logarithm of the odds that only its own picture, the first or the second, shows a mark.
pub(super) fn lacks(mark: &Feature, ratio: &Ratio, second: bool) -> Option<f64> {
    if mark.kind == Kind::Scratch || mark.size.0.max(mark.length.0) > WIDEST || mark.outline.len() < 3 {
        return None;
    }
    if mark.reach.inner.0 < ratio.evened && mark.contrast.abs() < AT_CORE {
        return None;
    }
    let sign = if second { -1.0 } else { 1.0 };
    let shape = Shape::new(mark, ratio, &ratio.own[usize::from(second)])?;
    let own = shape.share(ratio, (0, 0))? * sign;
    let (usual, scatter) = elsewhere(mark, &shape, ratio)?;
    if scatter > KNOWN {
        return None;
    }
    let odds = |share: f64| {
        let u = scatter.hypot(MODEL);
        ((2.0 * share - 1.0) / (2.0 * u * u)).clamp(-MOST, MOST)
    };
    // What both show beside the mark counts for the one, what neither its outline nor its contrast tell for the other.
    let (one, other) = (odds(own - sign * usual), odds(strength(mark, ratio, &shape)?));
    (one * other > 0.0).then(|| if one.abs() < other.abs() { one } else { other })
}

/// How strong the ratio is within a mark's outline against what the mark alone would make of it: 1 where one picture
/// lacks the mark.
fn strength(mark: &Feature, ratio: &Ratio, shape: &Shape) -> Option<f64> {
    let base = shape.base(ratio, (0, 0))?;
    let outline: Vec<(f64, f64)> = mark.outline.iter().map(|p| ratio.place((p.x, p.y))).collect();
    let blur = ratio.blur / ratio.pixel;
    let reach = (3.0 * blur).ceil() + 2.0;
    let side = |pick: fn(&(f64, f64)) -> f64| {
        let low = outline.iter().map(pick).fold(f64::INFINITY, f64::min) - reach;
        let high = outline.iter().map(pick).fold(f64::NEG_INFINITY, f64::max) + reach;
        (low.is_finite() && high - low < 4.0 * ratio.middle)
            .then(|| (low.floor(), (high - low).ceil() as usize + 1))
    };
    let ((left, width), (top, height)) = (side(|p| p.0)?, side(|p| p.1)?);
    let part = |k: usize| (k as f64 + 0.5) / PARTS as f64 - 0.5;
    let filled = Plane::from_fn(width, height, |i, j| {
        let (x, y) = (left + i as f64, top + j as f64);
        let parts = (0..PARTS * PARTS).map(|k| (x + part(k % PARTS), y + part(k / PARTS)));
        parts.filter(|p| point_in_polygon(*p, &outline)).count() as f32 / (PARTS * PARTS) as f32
    });
    let blurred = if blur > 0.1 { gaussian(&filled, blur) } else { filled };
    let noise = ratio.noise.powi(2);
    let (mut found, mut made) = (0.0, 0.0);
    for (i, j) in (0..height).flat_map(|j| (0..width).map(move |i| (i, j))) {
        let v = ratio.plane.get(left as isize + i as isize, top as isize + j as isize);
        if let Some(v) = v.filter(|v| v.is_finite() && blurred.at(i, j) > 0.3) {
            found += (f64::from(v) - base).powi(2) - noise;
            made += (1.0 + mark.contrast.max(-0.95) * f64::from(blurred.at(i, j))).ln().powi(2);
        }
    }
    // A rim makes less of it than a filled mark would.
    let shown = shape.filled.iter().map(|(_, v)| v * v - noise).sum::<f64>();
    let made = made.min(shown);
    (made > 0.0).then(|| (found.max(0.0) / made).sqrt())
}

/// A mark as its own picture shows it.
struct Shape {
    /// Pixels of the grid that it fills, each with its height over what lies about the mark.
    filled: Vec<((isize, isize), f64)>,
    /// Pixels close about it.
    about: Vec<(isize, isize)>,
}

impl Shape {
    fn new(mark: &Feature, ratio: &Ratio, own: &Plane<f32>) -> Option<Shape> {
        let outline: Vec<(f64, f64)> = mark.outline.iter().map(|p| ratio.place((p.x, p.y))).collect();
        let reach = ratio.blur / ratio.pixel + 0.7;
        let farther = reach + ABOUT_UM / ratio.pixel;
        let side = |pick: fn(&(f64, f64)) -> f64| {
            let low = outline.iter().map(pick).fold(f64::INFINITY, f64::min) - farther;
            let high = outline.iter().map(pick).fold(f64::NEG_INFINITY, f64::max) + farther;
            (low.is_finite() && high - low < 4.0 * ratio.middle)
                .then(|| low.floor() as isize..=high.ceil() as isize)
        };
        let (columns, rows) = (side(|p| p.0)?, side(|p| p.1)?);
        let (mut filled, mut about, mut border, mut lost) = (Vec::new(), Vec::new(), Vec::new(), 0);
        for (x, y) in rows.flat_map(|y| columns.clone().map(move |x| (x, y))) {
            let at = (x as f64, y as f64);
            let v = own.get(x, y).filter(|v| v.is_finite()).map(f64::from);
            match (v, near(&outline, at, reach)) {
                (Some(v), true) => filled.push(((x, y), v)),
                (None, true) => lost += 1,
                (Some(v), false) if near(&outline, at, farther) => {
                    about.push((x, y));
                    border.push(v);
                }
                _ => {}
            }
        }
        if border.len() < LEAST_ABOUT || filled.len() < 4 * lost || filled.is_empty() {
            return None;
        }
        let base = median(&mut border);
        filled.iter_mut().for_each(|(_, v)| *v -= base);
        Some(Shape { filled, about })
    }

    /// What the ratio is about the shape, moved by a step; none where too much of that is off the glass.
    fn base(&self, ratio: &Ratio, (dx, dy): (isize, isize)) -> Option<f64> {
        let on_glass = |(x, y): &(isize, isize)| ratio.plane.get(x + dx, y + dy).filter(|v| v.is_finite());
        let mut values: Vec<f64> = self.about.iter().filter_map(on_glass).map(f64::from).collect();
        (values.len() >= LEAST_ABOUT).then(|| median(&mut values))
    }

    /// Share of the shape in the ratio, moved by a step: 1 where the first picture alone shows it. None where much of it
    /// is off the glass.
    fn share(&self, ratio: &Ratio, (dx, dy): (isize, isize)) -> Option<f64> {
        let base = self.base(ratio, (dx, dy))?;
        let (mut count, mut product, mut square) = (0, 0.0, 0.0);
        for ((x, y), t) in &self.filled {
            let Some(v) = ratio.plane.get(x + dx, y + dy).filter(|v| v.is_finite()) else { continue };
            count += 1;
            product += t * (f64::from(v) - base);
            square += t * t;
        }
        (10 * count >= 8 * self.filled.len() && square > 0.0).then(|| product / square)
    }
}

/// Median and scatter of the shares of the same shape elsewhere on the glass, spread evenly over it (the golden angle).
fn elsewhere(mark: &Feature, shape: &Shape, ratio: &Ratio) -> Option<(f64, f64)> {
    let golden = std::f64::consts::PI * (3.0 - 5.0f64.sqrt());
    let step = |i: usize| {
        let r = ratio.radius * ((i as f64 + 0.5) / ELSEWHERE.0 as f64).sqrt();
        let (sin, cos) = (golden * i as f64).sin_cos();
        (r * cos - mark.centre.x, r * sin - mark.centre.y)
    };
    let apart = 1.2 * mark.size.0.max(mark.length.0) + 2.0 * ratio.blur;
    let pixels = |v: f64| (v / ratio.pixel).round() as isize;
    let mut shares: Vec<f64> = (0..ELSEWHERE.0)
        .map(step)
        .filter(|s| s.0.hypot(s.1) > apart)
        .filter_map(|s| shape.share(ratio, (pixels(s.0), pixels(s.1))))
        .collect();
    if shares.len() < ELSEWHERE.1 {
        return None;
    }
    let usual = median(&mut shares);
    let off = shares.iter().map(|s| (s - usual).abs());
    Some((usual, 1.4826 * median(&mut off.collect::<Vec<_>>())))
}
