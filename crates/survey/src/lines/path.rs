//! What can be done to a path: centred on its ridge, smoothed, cut to what carries it, joined to another.

use super::Search;
use super::trace::{STEP, Trace};
use crate::solve;
use imaging::Plane;

/// Moves each point across the path to the middle of the ridge.
pub fn centred(path: &[(f64, f64)], ridge: &Plane<f32>, bright: bool, search: &Search) -> Vec<(f64, f64)> {
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

/// Moves each point across the path to the middle between the edges of a line of that width there; its ends may fade.
pub fn between_edges(path: &[(f64, f64)], residual: &Plane<f32>, width: f64, beyond: f64) -> Vec<(f64, f64)> {
    let steps = ((width / 2.0 + beyond) / 0.5).ceil() as i32;
    let middle = (width / 4.0 / 0.5) as i32;
    let moved = |i: usize| {
        let ((x, y), (nx, ny)) = (path[i], normal_at(path, i));
        let at =
            |k: i32| f64::from(residual.sample(x + 0.5 * f64::from(k) * nx, y + 0.5 * f64::from(k) * ny));
        let height = (-middle..=middle).map(at).sum::<f64>() / f64::from(2 * middle + 1);
        // From 0 well outside an edge to 1 well inside.
        let inside = |k: i32| ((at(k) / height - 0.25) / 0.5).clamp(0.0, 1.0);
        let outwards = |way: i32| (1..=steps).map(move |k| way * k).take_while(|k| inside(*k) > 0.0);
        let weighed = outwards(-1).chain([0]).chain(outwards(1)).map(|k| (inside(k), 0.5 * f64::from(k)));
        let (all, sum) = weighed.fold((0.0, 0.0), |(all, sum), (w, u)| (all + w, sum + w * u));
        let off = if all > 0.0 { sum / all } else { 0.0 };
        (x + off * nx, y + off * ny)
    };
    (0..path.len()).map(moved).collect()
}

/// Each point moved so far along the path's normal there.
pub fn moved_aside(path: &[(f64, f64)], off: f64) -> Vec<(f64, f64)> {
    let at = |i: usize| {
        let (nx, ny) = normal_at(path, i);
        (path[i].0 + off * nx, path[i].1 + off * ny)
    };
    (0..path.len()).map(at).collect()
}

/// Unit normal of the path at point i, from points a few steps either side.
pub fn normal_at(path: &[(f64, f64)], i: usize) -> (f64, f64) {
    let (a, b) = (path[i.saturating_sub(4)], path[(i + 4).min(path.len() - 1)]);
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let n = dx.hypot(dy).max(1e-9);
    (-dy / n, dx / n)
}

/// Local straight-line smoothing of a path over `half` points either side.
pub fn smoothed(path: &[(f64, f64)], half: usize) -> Vec<(f64, f64)> {
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
pub fn carried(
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
    let (mut best, mut range, mut sum, mut from, mut bare) = (0.0, 0..0, 0.0, 0, 0);
    for (i, (v, run)) in heights.iter().zip(&runs).enumerate() {
        // One very high point (a particle on the path) must not carry a bare stretch, nor one scratch
        // reach across bare glass to another.
        sum += v.min(1.5 * typical) - 0.45 * typical;
        bare = if *run < 0.35 * typical { bare + 1 } else { 0 };
        if sum < 0.0 || bare > 2 * window {
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
pub fn join(mut traces: Vec<Trace>, search: &Search) -> Vec<Trace> {
    traces.retain(|t| t.path.len() >= 4);
    let reach = 9.0 * search.px_per_um;
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
            && across < 0.8 * search.px_per_um + 0.1 * distance
            && straight > 0.96
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
