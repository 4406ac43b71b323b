//! Scratches: long thin marks, seen by their length. Every pixel is tried as the middle of a straight
//! support of four segments in 24 directions; the strongest segment is left out, so that a round mark is not
//! taken for a line; scores are in units of their own scatter in that direction, so that the parallel
//! texture of the polish sets its own threshold. Ridges of the score are followed from the strongest on
//! (Steger, 1998, "An unbiased detector of curvilinear structures"), straightened, and fitted with a bar
//! blurred like the cladding's edge.

use crate::glass::Glass;
use crate::normal::cdf;
use crate::smooth;
use crate::solve;
use imaging::Plane;

/// Directions tried over half a turn.
const DIRECTIONS: usize = 24;

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
    /// Score from which a line is followed.
    pub threshold: f32,
    /// Least length over width.
    pub aspect: f64,
}

/// Finds scratches on the glass; `masked` has 1 where a compact mark hides the glass.
pub fn find(glass: &Glass, masked: &Plane<f32>, search: &Search) -> Vec<Line> {
    let mut values = glass.residual.clone();
    let clip = (8.0 * glass.noise) as f32;
    for (v, m) in values.data_mut().iter_mut().zip(masked.data()) {
        *v = if *m > 0.0 { 0.0 } else { v.clamp(-clip, clip) };
    }
    let fine = smooth::mean_inside(&values, &glass.inside, search.blur.max(0.8));
    let coarse =
        smooth::mean_inside(&values, &glass.inside, 3.0 * search.blur.max(0.8) + 1.5 * search.px_per_um);
    let mut ridge = fine.clone();
    for (r, c) in ridge.data_mut().iter_mut().zip(coarse.data()) {
        *r -= c;
    }
    let scores = Scores::of(&ridge, &glass.inside, 4.5 * search.px_per_um);
    let traces = trace_all(&scores, &ridge, &glass.inside, search);
    let mut lines: Vec<Line> = Vec::new();
    for trace in join(traces, search) {
        if let Some(line) = measure(&trace, glass, search) {
            lines.push(line);
        }
    }
    lines
}

/// Best score over the directions at each pixel, and which direction (`DIRECTIONS` or more: bright).
struct Scores {
    best: Plane<f32>,
    which: Plane<u8>,
}

impl Scores {
    fn of(ridge: &Plane<f32>, inside: &Plane<f32>, segment: f64) -> Scores {
        let (w, h) = (ridge.width(), ridge.height());
        let mut scores = Scores { best: Plane::filled(w, h, 0.0), which: Plane::filled(w, h, 0) };
        let turned = (transposed(ridge), transposed(inside));
        for k in 0..DIRECTIONS {
            let angle = direction(k);
            let flat = angle.cos().abs() >= angle.sin().abs();
            // The sheared walk goes along x with y contiguous, so a flat direction works on the transpose.
            let (plane, mask) = if flat { (&turned.0, &turned.1) } else { (ridge, inside) };
            let slope = if flat { angle.tan() } else { 1.0 / angle.tan() };
            let along = segment * if flat { angle.cos().abs() } else { angle.sin().abs() };
            let sheared = Sheared::of(plane, mask, slope, (along.round() as usize).max(1));
            sheared.merge(&mut scores, k as u8, flat);
        }
        scores
    }
}

/// Angle of direction k from x towards y, radians in [0, pi).
fn direction(k: usize) -> f64 {
    k as f64 * std::f64::consts::PI / DIRECTIONS as f64
}

fn transposed(p: &Plane<f32>) -> Plane<f32> {
    Plane::from_fn(p.height(), p.width(), |x, y| p.at(y, x))
}

/// Trimmed sums along one direction; row i of the plane is one step along, columns run across.
struct Sheared {
    dark: Vec<f32>,
    bright: Vec<f32>,
    shifts: Vec<isize>,
    width: usize,
    pad: usize,
    rows: usize,
}

impl Sheared {
    fn of(plane: &Plane<f32>, mask: &Plane<f32>, slope: f64, along: usize) -> Sheared {
        let (rows, columns) = (plane.height(), plane.width());
        let shifts: Vec<isize> = (0..rows).map(|i| (i as f64 * slope).round() as isize).collect();
        let pad = shifts.iter().map(|s| s.unsigned_abs()).max().unwrap_or(0);
        let width = columns + pad;
        // Column c of the sheared plane at row i is column c + shift(i) - offset of the plane.
        let offset = if slope >= 0.0 { pad as isize } else { 0 };
        let mut sums = vec![0.0f32; (rows + 1) * width];
        for i in 0..rows {
            let (above, below) = sums.split_at_mut((i + 1) * width);
            let (above, below) = (&above[i * width..], &mut below[..width]);
            below.copy_from_slice(above);
            let start = (offset - shifts[i]) as usize;
            for (b, v) in below[start..start + columns].iter_mut().zip(plane.row(i)) {
                *b += v;
            }
        }
        let mut dark = vec![0.0f32; rows * width];
        let mut bright = vec![0.0f32; rows * width];
        let line = |i: isize| {
            let i = i.clamp(0, rows as isize) as usize;
            &sums[i * width..(i + 1) * width]
        };
        let step = along as isize;
        for i in 0..rows {
            let c = i as isize;
            let (p0, p1, p2, p3, p4) =
                (line(c - 2 * step), line(c - step), line(c), line(c + step), line(c + 2 * step));
            let (d, b) = (&mut dark[i * width..(i + 1) * width], &mut bright[i * width..(i + 1) * width]);
            for j in 0..width {
                let (s1, s2, s3, s4) = (p1[j] - p0[j], p2[j] - p1[j], p3[j] - p2[j], p4[j] - p3[j]);
                let all = p4[j] - p0[j];
                d[j] = s1.min(s2).min(s3.min(s4)) - all;
                b[j] = all - s1.max(s2).max(s3.max(s4));
            }
        }
        let mut sheared =
            Sheared { dark, bright, shifts: shifts.iter().map(|s| offset - s).collect(), width, pad, rows };
        sheared.normalise(mask);
        sheared
    }

    /// Divides by the scatter of the scores over the glass; trimming biases both to below zero, which is kept.
    fn normalise(&mut self, mask: &Plane<f32>) {
        let _ = self.pad;
        let mut sample = Vec::new();
        for i in (0..self.rows).step_by(3) {
            let start = i * self.width + self.shifts[i] as usize;
            for (x, m) in mask.row(i).iter().enumerate().step_by(5) {
                if *m > 0.0 {
                    sample.push((self.bright[start + x] - self.dark[start + x]) / 2.0);
                }
            }
        }
        let scale = 1.0 / solve::spread32(&sample).max(1e-9);
        for v in self.dark.iter_mut().chain(self.bright.iter_mut()) {
            *v *= scale;
        }
    }

    fn merge(&self, scores: &mut Scores, k: u8, flat: bool) {
        for i in 0..self.rows {
            let start = i * self.width + self.shifts[i] as usize;
            let columns = if flat { scores.best.height() } else { scores.best.width() };
            for j in 0..columns {
                let (d, b) = (self.dark[start + j], self.bright[start + j]);
                let (x, y) = if flat { (i, j) } else { (j, i) };
                let (score, which) = if d >= b { (d, k) } else { (b, k + DIRECTIONS as u8) };
                if score > scores.best.at(x, y) {
                    scores.best.set(x, y, score);
                    scores.which.set(x, y, which);
                }
            }
        }
    }
}

/// A followed ridge before it is measured.
#[derive(Clone, Debug)]
struct Trace {
    path: Vec<(f64, f64)>,
    bright: bool,
    peak: f32,
}

fn trace_all(scores: &Scores, ridge: &Plane<f32>, inside: &Plane<f32>, search: &Search) -> Vec<Trace> {
    let (w, h) = (scores.best.width(), scores.best.height());
    let mut seeds: Vec<(f32, usize, usize)> = Vec::new();
    for y in 0..h {
        for x in 0..w {
            let s = scores.best.at(x, y);
            if s > search.threshold && inside.at(x, y) > 0.0 {
                seeds.push((s, x, y));
            }
        }
    }
    seeds.sort_by(|a, b| b.0.total_cmp(&a.0).then((a.2, a.1).cmp(&(b.2, b.1))));
    let mut claimed = Plane::filled(w, h, false);
    let mut traces = Vec::new();
    for (peak, x, y) in seeds {
        if claimed.at(x, y) {
            continue;
        }
        let trace = follow(scores, ridge, inside, (x, y), search);
        claim(&mut claimed, &trace.path, (x, y), 3.0 * search.blur + 2.0 * search.px_per_um);
        let trace = Trace { peak, ..trace };
        traces.push(trace);
    }
    traces
}

fn claim(claimed: &mut Plane<bool>, path: &[(f64, f64)], seed: (usize, usize), reach: f64) {
    let (w, h) = (claimed.width() as f64, claimed.height() as f64);
    for &(px, py) in path.iter().chain([&(seed.0 as f64, seed.1 as f64)]) {
        let (x0, x1) = ((px - reach).max(0.0) as usize, (px + reach).min(w - 1.0) as usize);
        let (y0, y1) = ((py - reach).max(0.0) as usize, (py + reach).min(h - 1.0) as usize);
        for y in y0..=y1 {
            for x in x0..=x1 {
                if (x as f64 - px).hypot(y as f64 - py) <= reach {
                    claimed.set(x, y, true);
                }
            }
        }
    }
}

/// Walks from the seed both ways along the ridge of the score, then keeps the stretch that carries it.
fn follow(
    scores: &Scores,
    ridge: &Plane<f32>,
    inside: &Plane<f32>,
    seed: (usize, usize),
    search: &Search,
) -> Trace {
    let which = scores.which.at(seed.0, seed.1) as usize;
    let bright = which >= DIRECTIONS;
    let angle = direction(which % DIRECTIONS);
    let start = (seed.0 as f64, seed.1 as f64);
    let mut path = walk(scores, inside, start, angle + std::f64::consts::PI, bright, search);
    path.reverse();
    path.push(start);
    path.extend(walk(scores, inside, start, angle, bright, search));
    let path = smoothed(&centred(&path, ridge, bright, search), (4.0 * search.px_per_um / STEP) as usize);
    Trace { path: carried(&path, ridge, inside, bright, search), bright, peak: 0.0 }
}

/// Pixels between two points of a path.
const STEP: f64 = 1.5;

fn walk(
    scores: &Scores,
    inside: &Plane<f32>,
    start: (f64, f64),
    angle: f64,
    bright: bool,
    search: &Search,
) -> Vec<(f64, f64)> {
    let low = 0.5 * search.threshold;
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

/// Moves each point across the path to the middle of the ridge.
fn centred(path: &[(f64, f64)], ridge: &Plane<f32>, bright: bool, search: &Search) -> Vec<(f64, f64)> {
    let sign = if bright { 1.0 } else { -1.0 };
    let reach = (search.blur + 1.5 * search.px_per_um).max(2.0);
    (0..path.len())
        .map(|i| {
            let (nx, ny) = normal_at(path, i);
            let (mut sum, mut moment) = (0.0, 0.0);
            let mut u = -reach;
            while u <= reach {
                let v = (sign * f64::from(ridge.sample(path[i].0 + u * nx, path[i].1 + u * ny))).max(0.0);
                sum += v;
                moment += v * u;
                u += 0.5;
            }
            let off = if sum > 0.0 { moment / sum } else { 0.0 };
            (path[i].0 + off * nx, path[i].1 + off * ny)
        })
        .collect()
}

/// Unit normal of the path at point i, from points a few steps either side.
fn normal_at(path: &[(f64, f64)], i: usize) -> (f64, f64) {
    let (a, b) = (path[i.saturating_sub(4)], path[(i + 4).min(path.len() - 1)]);
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let n = dx.hypot(dy).max(1e-9);
    (-dy / n, dx / n)
}

/// Local straight-line smoothing of a path over `half` points either side.
fn smoothed(path: &[(f64, f64)], half: usize) -> Vec<(f64, f64)> {
    let half = half.max(1);
    (0..path.len())
        .map(|i| {
            let (from, to) = (i.saturating_sub(half), (i + half).min(path.len() - 1));
            let n = (to - from + 1) as f64;
            let mid = (from..=to).map(|j| j as f64).sum::<f64>() / n;
            let (mut x, mut y, mut xt, mut yt, mut tt) = (0.0, 0.0, 0.0, 0.0, 0.0);
            for (j, p) in path.iter().enumerate().take(to + 1).skip(from) {
                let t = j as f64 - mid;
                x += p.0;
                y += p.1;
                xt += p.0 * t;
                yt += p.1 * t;
                tt += t * t;
            }
            let t = if tt > 0.0 { (i as f64 - mid) / tt } else { 0.0 };
            (x / n + xt * t, y / n + yt * t)
        })
        .collect()
}

/// The stretch of the path over which the ridge stands at least half as high as typical (the stretch of
/// greatest sum of height less half the typical height).
fn carried(
    path: &[(f64, f64)],
    ridge: &Plane<f32>,
    inside: &Plane<f32>,
    bright: bool,
    search: &Search,
) -> Vec<(f64, f64)> {
    let sign = if bright { 1.0 } else { -1.0 };
    let heights: Vec<f64> = path.iter().map(|p| sign * f64::from(ridge.sample(p.0, p.1))).collect();
    let window = (3.0 * search.px_per_um / STEP).ceil() as usize;
    let runs: Vec<f64> = (0..heights.len())
        .map(|i| {
            let (from, to) = (i.saturating_sub(window / 2), (i + window / 2 + 1).min(heights.len()));
            heights[from..to].iter().sum::<f64>() / (to - from) as f64
        })
        .collect();
    let typical = solve::quantile(&mut runs.clone(), 0.65).min(1e3);
    let (mut best, mut range, mut sum, mut from) = (0.0, 0..0, 0.0, 0);
    for (i, v) in heights.iter().enumerate() {
        // One very high point (a particle on the path) must not carry a bare stretch.
        sum += v.min(1.5 * typical) - 0.45 * typical;
        if sum < 0.0 {
            (sum, from) = (0.0, i + 1);
        }
        if sum > best {
            (best, range) = (sum, from..i + 1);
        }
    }
    // A line that runs to the edge of the glass reaches it.
    let near_edge = |p: (f64, f64), q: (f64, f64)| {
        let n = (p.0 - q.0).hypot(p.1 - q.1).max(1e-9);
        let reach = 2.0 * search.px_per_um + search.blur;
        let (x, y) = (p.0 + reach * (p.0 - q.0) / n, p.1 + reach * (p.1 - q.1) / n);
        inside.get(x.round() as isize, y.round() as isize).unwrap_or(0.0) <= 0.0
    };
    let mut kept = path[range.clone()].to_vec();
    if kept.len() > 8 {
        if near_edge(kept[0], kept[5]) {
            kept.splice(0..0, path[..range.start].iter().copied());
        }
        let n = kept.len();
        if near_edge(kept[n - 1], kept[n - 6]) {
            kept.extend_from_slice(&path[range.end..]);
        }
    }
    kept
}

/// Joins traces that continue one another.
fn join(mut traces: Vec<Trace>, search: &Search) -> Vec<Trace> {
    traces.retain(|t| t.path.len() >= 4);
    let reach = 18.0 * search.px_per_um;
    let mut i = 0;
    while i < traces.len() {
        let mut joined = false;
        for j in i + 1..traces.len() {
            if let Some(path) = joint(&traces[i], &traces[j], reach, search) {
                traces[i].path = path;
                traces.remove(j);
                joined = true;
                break;
            }
        }
        if !joined {
            i += 1;
        }
    }
    traces
}

/// The two paths as one if the end of one points at the start of the other.
fn joint(a: &Trace, b: &Trace, reach: f64, search: &Search) -> Option<Vec<(f64, f64)>> {
    if a.bright != b.bright {
        return None;
    }
    let reversed = |p: &[(f64, f64)]| p.iter().rev().copied().collect::<Vec<_>>();
    for (p, q) in [
        (a.path.clone(), b.path.clone()),
        (b.path.clone(), a.path.clone()),
        (reversed(&a.path), b.path.clone()),
        (a.path.clone(), reversed(&b.path)),
    ] {
        let (end, start) = (p[p.len() - 1], q[0]);
        let gap = (start.0 - end.0, start.1 - end.1);
        let distance = gap.0.hypot(gap.1);
        let back = p[p.len().saturating_sub(10)];
        let on = q[9.min(q.len() - 1)];
        let (d1, d2) = ((end.0 - back.0, end.1 - back.1), (on.0 - start.0, on.1 - start.1));
        let (n1, n2) = (d1.0.hypot(d1.1).max(1e-9), d2.0.hypot(d2.1).max(1e-9));
        let along = (gap.0 * d1.0 + gap.1 * d1.1) / n1;
        let across = (gap.0 * d1.1 - gap.1 * d1.0).abs() / n1;
        let straight = (d1.0 * d2.0 + d1.1 * d2.1) / (n1 * n2);
        if distance < reach
            && along > -4.0 * search.px_per_um
            && across < 1.5 * search.px_per_um + 0.12 * distance
            && straight > 0.9
        {
            let mut path = p;
            let steps = (distance / STEP) as usize;
            for s in 1..steps {
                let t = s as f64 / steps as f64;
                path.push((end.0 + t * gap.0, end.1 + t * gap.1));
            }
            path.extend_from_slice(&q);
            return Some(path);
        }
    }
    None
}

/// The mean profile across the path, and a blurred bar fitted to it.
fn measure(trace: &Trace, glass: &Glass, search: &Search) -> Option<Line> {
    let profile = Profile::across(&trace.path, glass, search)?;
    let bar = profile.fit(search)?;
    let sign = if trace.bright { 1.0 } else { -1.0 };
    let line = Line {
        path: trace.path.clone(),
        width: bar.width,
        width_u: bar.width_u,
        contrast: bar.contrast,
        seen: bar.seen,
        strength: bar.strength.min(f64::from(trace.peak)),
    };
    let even = profile.evenness(sign, bar.seen.abs());
    let sound = bar.contrast * sign > 0.0
        && bar.strength > 5.5
        && !bar.step
        && even > 0.6
        && line.length() > search.aspect * bar.width.max(search.blur)
        && line.length() > 6.0 * search.px_per_um;
    sound.then_some(line)
}

/// Levels across a path: mean over the path at each offset.
struct Profile {
    offset: Vec<f64>,
    level: Vec<f64>,
    /// Scatter of a mean level.
    scatter: f64,
    /// Height at the middle, along the path in stretches of a few micrometres.
    stretches: Vec<f64>,
}

/// A blurred bar fitted to a profile.
struct Bar {
    width: f64,
    width_u: f64,
    contrast: f64,
    seen: f64,
    strength: f64,
    step: bool,
}

impl Profile {
    fn across(path: &[(f64, f64)], glass: &Glass, search: &Search) -> Option<Profile> {
        let reach = 7.0 * search.px_per_um + 3.0 * search.blur;
        let count = (2.0 * reach / 0.5) as usize + 1;
        let offset: Vec<f64> = (0..count).map(|k| -reach + 0.5 * k as f64).collect();
        let mut columns: Vec<Vec<f32>> = vec![Vec::new(); count];
        let mut middle = Vec::new();
        for i in 0..path.len() {
            let (nx, ny) = normal_at(path, i);
            let mut centre = Vec::new();
            for (k, u) in offset.iter().enumerate() {
                let (x, y) = (path[i].0 + u * nx, path[i].1 + u * ny);
                if glass.inside.get(x.round() as isize, y.round() as isize).unwrap_or(0.0) > 0.0 {
                    let v = glass.residual.sample(x, y);
                    columns[k].push(v);
                    if u.abs() <= search.blur.max(0.8) {
                        centre.push(v);
                    }
                }
            }
            middle.push(solve::quantile32(&mut centre, 0.5) as f64);
        }
        if columns[count / 2].len() < 4 {
            return None;
        }
        let full = path.len() / 2;
        let (mut offsets, mut level) = (Vec::new(), Vec::new());
        for (u, column) in offset.iter().zip(&mut columns) {
            if column.len() >= full.max(3) {
                offsets.push(*u);
                level.push(trimmed_mean(column));
            }
        }
        let far: Vec<f64> =
            offsets.iter().zip(&level).filter(|(u, _)| u.abs() > 0.55 * reach).map(|(_, v)| *v).collect();
        let centre = solve::median(&mut far.clone());
        let mut off: Vec<f64> = far.iter().map(|v| (v - centre).abs()).collect();
        let scatter = (1.4826 * solve::median(&mut off)).max(glass.noise / (path.len() as f64 * STEP).sqrt());
        let length = (3.0 * search.px_per_um / STEP).ceil() as usize;
        let stretches =
            middle.chunks(length.max(1)).map(|c| c.iter().sum::<f64>() / c.len() as f64 - centre).collect();
        Some(Profile { offset: offsets, level, scatter, stretches })
    }

    /// Share of the stretches that stand at least a quarter as high as the whole.
    fn evenness(&self, sign: f64, seen: f64) -> f64 {
        let high = self.stretches.iter().filter(|s| sign * **s > 0.25 * seen).count();
        high as f64 / self.stretches.len().max(1) as f64
    }

    fn fit(&self, search: &Search) -> Option<Bar> {
        let s = search.blur;
        let mut best: Option<(f64, f64, f64, [f64; 3])> = None;
        let mut width = 0.3 * s;
        let mut chis = Vec::new();
        while width < 9.0 * search.px_per_um {
            let mut here: Option<(f64, f64, f64, [f64; 3])> = None;
            for k in -6..=6 {
                let shift = 0.25 * f64::from(k) * (0.5 * s + 0.15 * width);
                let shape = |u: f64| cdf((u - shift + width / 2.0) / s) - cdf((u - shift - width / 2.0) / s);
                if let Some((chi, c)) = self.linear(shape)
                    && here.is_none_or(|h| chi < h.0)
                {
                    here = Some((chi, width, shift, c));
                }
            }
            let here = here?;
            chis.push((width, here.0));
            if best.is_none_or(|b| here.0 < b.0) {
                best = Some(here);
            }
            width *= 1.12;
        }
        let (chi, width, shift, c) = best?;
        let variance =
            (chi / (self.level.len() as f64 - 5.0).max(1.0)).max(0.25 * self.scatter * self.scatter);
        // Widths whose misfit is one unit above the least bound the width; neighbours in the profile share
        // pixels, so a unit is doubled.
        let near: Vec<f64> =
            chis.iter().filter(|(_, x)| *x < chi + 2.0 * variance).map(|(w, _)| *w).collect();
        let width_u = ((near[near.len() - 1] - near[0]) / 2.0).max(0.06 * width);
        let step = self.linear(|u| cdf((u - shift) / s) - 0.5).map(|x| x.0).unwrap_or(f64::MAX);
        let seen = c[2] * (2.0 * cdf(width / 2.0 / s) - 1.0);
        let strength = seen.abs() * (width.max(2.0 * s)).sqrt() / variance.sqrt().max(self.scatter);
        Some(Bar { width, width_u, contrast: c[2], seen, strength, step: step < chi })
    }

    /// Least squares of level = c0 + c1 u + c2 shape(u): misfit and coefficients.
    fn linear(&self, shape: impl Fn(f64) -> f64) -> Option<(f64, [f64; 3])> {
        let (mut m, mut y, mut yy) = ([[0.0; 3]; 3], [0.0; 3], 0.0);
        for (u, v) in self.offset.iter().zip(&self.level) {
            let f = [1.0, u / 10.0, shape(*u)];
            yy += v * v;
            for a in 0..3 {
                y[a] += f[a] * v;
                for b in 0..3 {
                    m[a][b] += f[a] * f[b];
                }
            }
        }
        let inverse = solve::inverse3(&m)?;
        let c: [f64; 3] = std::array::from_fn(|a| (0..3).map(|b| inverse[a][b] * y[b]).sum());
        Some(((yy - (0..3).map(|a| c[a] * y[a]).sum::<f64>()).max(0.0), c))
    }
}

/// Mean of the middle four fifths.
fn trimmed_mean(values: &mut [f32]) -> f64 {
    values.sort_by(f32::total_cmp);
    let cut = values.len() / 10;
    let kept = &values[cut..values.len() - cut];
    kept.iter().map(|v| f64::from(*v)).sum::<f64>() / kept.len() as f64
}
