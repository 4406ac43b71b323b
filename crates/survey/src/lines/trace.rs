//! Following the ridge of the score from its strongest point on.

use super::path::{carried, centred, smoothed};
use super::score::{DIRECTIONS, Scores, direction};
use super::{Field, STRONG, Search};
use imaging::Plane;

/// A followed ridge before it is measured.
#[derive(Clone, Debug)]
pub struct Trace {
    /// Points `STEP` apart.
    pub path: Vec<(f64, f64)>,
    /// Brighter than the glass about it.
    pub bright: bool,
    /// The best score on it.
    pub peak: f32,
}

/// Every ridge above the threshold, strongest first; paths are in pixels of the ridge image.
pub fn trace_all(field: &Field, inside: &Plane<f32>, threshold: f32, search: &Search) -> Vec<Trace> {
    let scores = &field.scores;
    let small = Search {
        blur: search.blur / field.shrink as f64,
        px_per_um: search.px_per_um / field.shrink as f64,
        ..*search
    };
    let mut seeds: Vec<(f32, usize, usize)> = Vec::new();
    for y in 0..scores.best.height() {
        for (x, s) in scores.best.row(y).iter().enumerate() {
            if *s > threshold && field.small_inside.at(x, y) > 0.0 {
                seeds.push((*s, x, y));
            }
        }
    }
    seeds.sort_by(|a, b| b.0.total_cmp(&a.0).then((a.2, a.1).cmp(&(b.2, b.1))));
    let mut claimed = Plane::filled(scores.best.width(), scores.best.height(), false);
    let mut traces = Vec::new();
    for (peak, x, y) in seeds {
        if !claimed.at(x, y) {
            let (path, bright) = follow(field, (x, y), &small);
            let path = refine(&path, field, inside, (bright, peak), search);
            let back: Vec<(f64, f64)> = path.iter().map(|p| field.to_small(*p)).collect();
            claim(&mut claimed, &back, (x, y), 3.0 * small.blur + 2.0 * small.px_per_um);
            traces.push(Trace { path, bright, peak });
        }
    }
    traces
}

fn claim(claimed: &mut Plane<bool>, path: &[(f64, f64)], seed: (usize, usize), reach: f64) {
    let (w, h) = (claimed.width() as f64, claimed.height() as f64);
    for &(px, py) in path.iter().chain([&(seed.0 as f64, seed.1 as f64)]) {
        let (x0, x1) = ((px - reach).max(0.0) as usize, (px + reach).clamp(0.0, w - 1.0) as usize);
        let (y0, y1) = ((py - reach).max(0.0) as usize, (py + reach).clamp(0.0, h - 1.0) as usize);
        for y in y0..=y1 {
            for x in x0..=x1 {
                let (dx, dy) = (x as f64 - px, y as f64 - py);
                if dx * dx + dy * dy <= reach * reach {
                    claimed.set(x, y, true);
                }
            }
        }
    }
}

/// Walks from the seed both ways along the ridge of the score, in pixels of the scores.
fn follow(field: &Field, seed: (usize, usize), search: &Search) -> (Vec<(f64, f64)>, bool) {
    let which = field.scores.which.at(seed.0, seed.1) as usize;
    let bright = which >= DIRECTIONS;
    let angle = direction(which % DIRECTIONS);
    let start = (seed.0 as f64, seed.1 as f64);
    let walked = |angle| walk(&field.scores, &field.small_inside, start, angle, bright, search);
    let mut path = walked(angle + std::f64::consts::PI);
    path.reverse();
    path.push(start);
    path.extend(walked(angle));
    (path, bright)
}

/// A walked path at the ridge's own resolution: centred, smoothed, and cut to the stretch that carries it.
fn refine(
    path: &[(f64, f64)],
    field: &Field,
    inside: &Plane<f32>,
    (bright, peak): (bool, f32),
    search: &Search,
) -> Vec<(f64, f64)> {
    let full = spaced(&path.iter().map(|p| field.to_full(*p)).collect::<Vec<_>>());
    // The middle of a faint ridge is noise that only length averages; a strong one may have a kink to keep.
    let (first, second) = if peak > STRONG { (2.5, 2.5) } else { (5.0, 10.0) };
    // An arc must stay one: no more than an eighth of the path is smoothed over.
    let most = full.len() / 8;
    let half = |um: f64| ((um * search.px_per_um / STEP) as usize).min(most).max(1);
    let path = smoothed(&centred(&full, &field.ridge, bright, search), half(first));
    let path = smoothed(&centred(&path, &field.ridge, bright, search), half(second));
    carried(&path, &field.ridge, inside, bright, search)
}

/// The same path with points `STEP` apart.
fn spaced(path: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut out = Vec::new();
    let mut left = 0.0;
    for pair in path.windows(2) {
        let (dx, dy) = (pair[1].0 - pair[0].0, pair[1].1 - pair[0].1);
        let length = (dx * dx + dy * dy).sqrt();
        while left < length {
            out.push((pair[0].0 + dx * left / length, pair[0].1 + dy * left / length));
            left += STEP;
        }
        left -= length;
    }
    out.extend(path.last().filter(|_| out.is_empty()));
    out
}

/// Score below which a path has lost its ridge.
const LOW: f32 = 2.65;

/// Pixels between two points of a path.
pub const STEP: f64 = 1.5;

fn walk(
    scores: &Scores,
    inside: &Plane<f32>,
    start: (f64, f64),
    angle: f64,
    bright: bool,
    search: &Search,
) -> Vec<(f64, f64)> {
    let low = LOW;
    let patience = (5.0 * search.px_per_um / STEP) as usize;
    let (mut at, mut angle, mut weak) = (start, angle, 0);
    let mut path = Vec::new();
    for _ in 0..4 * (scores.best.width() + scores.best.height()) {
        let ahead = (at.0 + STEP * angle.cos(), at.1 + STEP * angle.sin());
        let mut best: Option<(f32, (f64, f64), f64)> = None;
        for k in -2..=2 {
            let off = 0.75 * f64::from(k);
            let p = (ahead.0 - off * angle.sin(), ahead.1 + off * angle.cos());
            let (x, y) = (p.0.round() as isize, p.1.round() as isize);
            let (Some(score), Some(which)) = (scores.best.get(x, y), scores.which.get(x, y)) else {
                continue;
            };
            if inside.get(x, y).unwrap_or(0.0) <= 0.0 || (usize::from(which) >= DIRECTIONS) != bright {
                continue;
            }
            let turn = nearest_turn(direction(usize::from(which) % DIRECTIONS), angle);
            let value = score - 0.3 * (off.abs() as f32) - 4.0 * turn.abs() as f32;
            if turn.abs() < 0.5 && best.is_none_or(|b| value > b.0) {
                best = Some((value, p, turn));
            }
        }
        match best {
            Some((value, p, turn)) => {
                weak = if value < low { weak + 1 } else { 0 };
                angle += 0.25 * turn + 0.15 * nearest_turn((p.1 - at.1).atan2(p.0 - at.0), angle);
                at = p;
            }
            None => {
                weak += 1;
                at = ahead;
            }
        }
        let (x, y) = (at.0.round() as isize, at.1.round() as isize);
        if weak > patience || inside.get(x, y).unwrap_or(0.0) <= 0.0 {
            break;
        }
        path.push(at);
    }
    path.truncate(path.len() - weak.min(path.len()));
    path
}

/// The smallest turn from `angle` to the undirected line at `line`, in (-pi/2, pi/2].
fn nearest_turn(line: f64, angle: f64) -> f64 {
    let pi = std::f64::consts::PI;
    let d = (line - angle).rem_euclid(pi);
    if d > pi / 2.0 { d - pi } else { d }
}
