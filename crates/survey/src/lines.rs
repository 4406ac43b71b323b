//! Scratches: long thin marks, seen by their length. Every pixel is tried as the middle of a straight
//! support of four segments in 24 directions; the strongest segment is left out, so that a round mark is not
//! taken for a line; scores are in units of their own scatter in that direction, so that the parallel
//! texture of the polish sets its own threshold. Ridges of the score are followed from the strongest on
//! (Steger, 1998, "An unbiased detector of curvilinear structures"), straightened, and fitted with a bar
//! blurred like the cladding's edge. Strong lines are taken away before faint ones are looked for.

mod bar;
mod path;
mod score;
mod trace;

use crate::glass::Glass;
use crate::normal::cdf;
use crate::smooth;
use imaging::Plane;
use score::Scores;
use terms::geometry::point_segment_distance_squared;
pub use trace::STEP;

/// Score from which a line is taken before any other.
const STRONG: f32 = 12.0;

/// Score from which a line is followed once the strong ones are gone, over the threshold of compact marks: three
/// of four segments have to agree.
const FAINT: f64 = 0.96;

/// A scratch in the patch, lengths in pixels.
#[derive(Clone, Debug)]
pub struct Line {
    /// Its middle line, points about a pixel apart.
    pub path: Vec<(f64, f64)>,
    /// Width, corrected for blur.
    pub width: f64,
    /// Standard uncertainty of the width.
    pub width_u: f64,
    /// Signed contrast of the unblurred bar.
    pub contrast: f64,
    /// Signed contrast as it appears at its middle.
    pub seen: f64,
    /// Strength over scatter.
    pub strength: f64,
}

impl Line {
    /// Length along the path.
    pub fn length(&self) -> f64 {
        self.path.windows(2).map(|w| (w[1].0 - w[0].0).hypot(w[1].1 - w[0].1)).sum()
    }
}

/// What the line search needs to know.
#[derive(Clone, Copy, Debug)]
pub struct Search {
    /// Standard deviation of the blur, pixels.
    pub blur: f64,
    /// Pixels per micrometre.
    pub px_per_um: f64,
    /// Least length over width.
    pub aspect: f64,
}

/// The residual that is left to be explained, and where it may be read.
struct Rest {
    residual: Plane<f32>,
    open: Plane<f32>,
    noise: f64,
    /// Middle and radius of the glass, pixels.
    disc: (f64, f64, f64),
}

impl Rest {
    fn of(residual: &Plane<f32>, glass: &Glass) -> Rest {
        Rest {
            residual: residual.clone(),
            open: glass.inside.clone(),
            noise: glass.noise,
            disc: (glass.centre.0, glass.centre.1, glass.radius),
        }
    }
}

/// Finds scratches on the glass, strongest first; `masked` has 1 where a compact mark hides the glass, `threshold` is
/// that of compact marks.
pub fn find(glass: &Glass, masked: &Plane<f32>, search: &Search, threshold: f64) -> Vec<Line> {
    let Search { blur, px_per_um, .. } = *search;
    let mut rest = Rest::of(&glass.residual, glass);
    for (o, m) in rest.open.data_mut().iter_mut().zip(masked.data()) {
        *o *= 1.0 - m;
    }
    let mut lines: Vec<Line> = Vec::new();
    let mut field = Field::of(&rest, glass, blur, px_per_um);
    if field.scores.best.data().iter().any(|s| *s > STRONG) {
        for trace in field.candidates(glass, STRONG, search) {
            if let Some(line) = bar::measure(&trace, &rest, search) {
                take_away(&line, &mut rest.residual, &glass.inside, blur, px_per_um);
                // What is left of a strong line is no glass to look for faint ones on.
                let core = line.width / 2.0 + 3.0 * blur + px_per_um;
                beside(&line.path, core, &glass.inside)
                    .into_iter()
                    .for_each(|(x, y, ..)| rest.open.set(x, y, 0.0));
                lines.push(line);
            }
        }
        if !lines.is_empty() {
            field = Field::of(&rest, glass, blur, px_per_um);
        }
    }
    for trace in field.candidates(glass, (FAINT * threshold) as f32, search) {
        if let Some(line) = bar::measure(&trace, &rest, search) {
            take_away(&line, &mut rest.residual, &glass.inside, blur, px_per_um);
            lines.push(line);
        }
    }
    lines
}

/// The line that runs about along a path, of the sign of `height`, if what lies there is one; `residual` is what is left of
/// the glass's.
pub fn along(
    path: Vec<(f64, f64)>,
    height: f64,
    strength: f64,
    residual: &Plane<f32>,
    glass: &Glass,
    search: &Search,
) -> Option<Line> {
    if path.len() < 4 {
        return None;
    }
    let bright = height > 0.0;
    let path = path::centred(&path, residual, bright, search);
    let path = path::smoothed(&path, (4.0 * search.px_per_um / trace::STEP) as usize);
    bar::measure(&trace::Trace { path, bright, peak: strength as f32 }, &Rest::of(residual, glass), search)
}

/// A ridge image of what is left, and its scores at the coarsest resolution that its smoothness allows.
struct Field {
    ridge: Plane<f32>,
    scores: Scores,
    small_inside: Plane<f32>,
    shrink: usize,
}

impl Field {
    fn of(rest: &Rest, glass: &Glass, blur: f64, px_per_um: f64) -> Field {
        let clip = (8.0 * rest.noise) as f32;
        let mut values = rest.residual.clone();
        for (v, o) in values.data_mut().iter_mut().zip(rest.open.data()) {
            *v = if *o > 0.0 { v.clamp(-clip, clip) } else { 0.0 };
        }
        let fine = blur.max(0.8);
        let mut ridge = smooth::mean_on_glass(&values, glass, fine);
        let coarse = smooth::mean_on_glass(&values, glass, 3.0 * fine + 1.5 * px_per_um);
        for (r, c) in ridge.data_mut().iter_mut().zip(coarse.data()) {
            *r -= c;
        }
        // The picture's blur and the smoothing together leave nothing finer than 0.9 px of a shrunken plane.
        let shrink = ((fine.hypot(blur) / 0.9) as usize).max(1);
        let (small, small_inside) = (shrunk(&ridge, shrink), shrunk(&glass.inside, shrink));
        let least = |length: f64| glass.rounding.of_sums(length, fine, shrink as f64);
        let mut scores = Scores::of(&small, &small_inside, 4.5 * px_per_um / shrink as f64, &least);
        let ease = 1.0 / glass.ease as f32;
        scores.best.data_mut().iter_mut().for_each(|s| *s *= ease);
        Field { ridge, scores, small_inside, shrink }
    }

    /// A place in the scores as a place in the ridge image.
    fn to_full(&self, p: (f64, f64)) -> (f64, f64) {
        let f = self.shrink as f64;
        ((p.0 + 0.5) * f - 0.5, (p.1 + 0.5) * f - 0.5)
    }

    /// A place in the ridge image as a place in the scores.
    fn to_small(&self, p: (f64, f64)) -> (f64, f64) {
        let f = self.shrink as f64;
        ((p.0 + 0.5) / f - 0.5, (p.1 + 0.5) / f - 0.5)
    }

    /// Ridges above the threshold, joined where they continue one another, strongest first.
    fn candidates(&self, glass: &Glass, threshold: f32, search: &Search) -> Vec<trace::Trace> {
        let traces = trace::trace_all(self, &glass.inside, threshold, search);
        let mut traces = path::join(traces, search);
        traces.sort_by(|a, b| b.peak.total_cmp(&a.peak));
        traces
    }
}

/// Means over blocks of `factor` x `factor` pixels; an incomplete last column or row is dropped.
fn shrunk(plane: &Plane<f32>, factor: usize) -> Plane<f32> {
    plane.shrunk(factor, (plane.width() / factor).max(1), (plane.height() / factor).max(1))
}

/// Subtracts a line's blurred bar from a residual, as strongly as it shows there: a scratch may fade and come
/// back.
pub fn take_away(line: &Line, residual: &mut Plane<f32>, inside: &Plane<f32>, blur: f64, px_per_um: f64) {
    let half = line.width / 2.0;
    let shows = shows_along(line, residual, blur, px_per_um);
    for (x, y, u, segment) in beside(&line.path, half + 3.0 * blur, inside) {
        let bar = cdf((u + half) / blur) - cdf((u - half) / blur);
        residual.set(x, y, residual.at(x, y) - (line.contrast * bar * shows[segment]) as f32);
    }
}

/// Pixels within `reach` of a line that goes on straight by `further` at both its ends, and how far they lie off its middle,
/// negative on its right.
pub fn about(line: &Line, further: f64, reach: f64, inside: &Plane<f32>) -> Vec<(usize, usize, f64)> {
    let Some(last) = line.path.len().checked_sub(1) else { return Vec::new() };
    let mut path = line.path.clone();
    let beyond = |end: usize, back: usize| {
        let ((x, y), (bx, by)) = (line.path[end], line.path[back]);
        let length = (x - bx).hypot(y - by).max(1e-9);
        (x + (x - bx) * further / length, y + (y - by) * further / length)
    };
    path.insert(0, beyond(0, last.min(4)));
    path.push(beyond(last, last.saturating_sub(4)));
    let signed = |(x, y, off, segment): (usize, usize, f64, usize)| {
        let ((ax, ay), (bx, by)) = (path[segment], path[segment + 1]);
        (x, y, off.copysign((by - ay) * (x as f64 - ax) - (bx - ax) * (y as f64 - ay)))
    };
    beside(&path, reach, inside).into_iter().map(signed).collect()
}

/// How strongly a line shows at each point of its path over what lies on both of its sides, 1 as strongly as on the whole;
/// means over stretches long enough for the line's strength.
fn shows_along(line: &Line, residual: &Plane<f32>, blur: f64, px_per_um: f64) -> Vec<f64> {
    let half = line.width / 2.0;
    let reach = (0.3 * line.width).max(0.5 * blur);
    // How far off its middle the sides are looked at, nearest first: a small mark below the line ends beyond, and the
    // line's own skirt reaches there.
    let sides = [half + 1.5 * blur, half + 2.0 * blur, half + 2.5 * blur, half + 3.5 * blur];
    let skirt = |u: f64| line.contrast * (cdf((u + half) / blur) - cdf((u - half) / blur));
    let (mut on, mut about) = (Vec::new(), Vec::new());
    for (i, &(x, y)) in line.path.iter().enumerate() {
        let (nx, ny) = path::normal_at(&line.path, i);
        let at = |u: f64| f64::from(residual.sample(x + u * nx, y + u * ny));
        let own = (at(-reach) + at(0.0) + at(reach)) / 3.0;
        let shown = (own / line.seen).clamp(0.0, 1.0);
        let side = |way: f64, u: f64| at(way * u) - shown * skirt(u);
        let pair = |way: f64, k: usize| (side(way, sides[k]) + side(way, sides[k + 1])) / 2.0;
        on.push(own);
        about.push([[pair(-1.0, 0), pair(1.0, 0)], [pair(-1.0, 2), pair(1.0, 2)]]);
    }
    let stretch = (18.0 * (8.0 / line.strength.max(1.0)).powi(2)).clamp(2.0, 18.0) * px_per_um;
    let steps = ((stretch / trace::STEP / 2.0) as usize).max(1);
    (0..on.len())
        .map(|i| {
            let near = i.saturating_sub(steps)..(i + steps + 1).min(on.len());
            let share = 1.0 / near.len() as f64;
            let mean = |of: &dyn Fn(usize) -> f64| near.clone().map(of).sum::<f64>() * share;
            let below =
                [0, 1].map(|far| on_both_sides(mean(&|k| about[k][far][0]), mean(&|k| about[k][far][1])));
            let below = if below[0].abs() > below[1].abs() { below[0] } else { below[1] };
            ((mean(&|k| on[k]) - below) / line.seen).clamp(0.0, 1.4)
        })
        .collect()
}

/// Height of what lies on both sides of a line, and so below it: the lesser of the two.
fn on_both_sides(left: f64, right: f64) -> f64 {
    if left * right > 0.0 { left.signum() * left.abs().min(right.abs()) } else { 0.0 }
}

/// Pixels within `reach` of a path, their distance from it and the number of the nearest stretch.
fn beside(path: &[(f64, f64)], reach: f64, inside: &Plane<f32>) -> Vec<(usize, usize, f64, usize)> {
    let span = |values: &mut dyn Iterator<Item = f64>, size: usize| {
        let (low, high) = values.fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v), h.max(v)));
        ((low - reach).max(0.0) as usize, ((high + reach).max(0.0) as usize + 1).min(size))
    };
    let (left, right) = span(&mut path.iter().map(|p| p.0), inside.width());
    let (top, bottom) = span(&mut path.iter().map(|p| p.1), inside.height());
    if left >= right || top >= bottom {
        return Vec::new();
    }
    let mut nearest = Plane::filled(right - left, bottom - top, (f64::MAX, 0u32));
    for (k, pair) in path.windows(2).enumerate() {
        let ((ax, ay), (bx, by)) = (pair[0], pair[1]);
        let (x0, x1) = span(&mut [ax, bx].into_iter(), inside.width());
        let (y0, y1) = span(&mut [ay, by].into_iter(), inside.height());
        for y in y0..y1 {
            for (x, near) in (x0..x1).zip(&mut nearest.row_mut(y - top)[x0 - left..]) {
                let u = point_segment_distance_squared((x as f64, y as f64), (ax, ay), (bx, by));
                if u < near.0 {
                    *near = (u, k as u32);
                }
            }
        }
    }
    let mut touched = Vec::new();
    for y in top..bottom {
        for (x, &(u, k)) in (left..right).zip(nearest.row(y - top)) {
            if u <= reach * reach && inside.at(x, y) > 0.0 {
                touched.push((x, y, u.sqrt(), k as usize));
            }
        }
    }
    touched
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_lies_about_a_line_reaches_past_its_ends() {
        let path = (10..31).map(|x| (f64::from(x), 10.0)).collect();
        let line = Line { path, width: 4.0, width_u: 0.1, contrast: -0.3, seen: -0.3, strength: 20.0 };
        let about = about(&line, 5.0, 3.0, &Plane::filled(50, 20, 1.0));
        let off = |x, y| about.iter().find(|p| (p.0, p.1) == (x, y)).map(|p| p.2);
        let places = [(20, 12), (6, 10), (35, 13), (20, 8), (39, 10), (20, 14)];
        let offs = places.map(|(x, y)| off(x, y));
        assert_eq!(offs, [Some(-2.0), Some(0.0), Some(-3.0), Some(2.0), None, None]);
    }
}
