//! A path measured: the mean profile across it and a blurred bar fitted to that.

use super::path::{between_edges, moved_aside, normal_at, smoothed};
use super::trace::{STEP, Trace};
use super::{Line, Rest, Search};
use crate::normal::cdf;
use crate::sizes::likely;
use crate::solve;
use std::cmp::Ordering;
use std::ops::Range;

/// The mean profile across the path, and a blurred bar fitted to it.
pub fn measure(trace: &Trace, rest: &Rest, search: &Search) -> Option<Line> {
    let Fitted { path, profile, bar } = fitted(&trace.path, rest, search)?;
    let sign = if trace.bright { 1.0 } else { -1.0 };
    let line = Line {
        path: trimmed(&path, rest, &bar, search),
        width: bar.width,
        width_u: bar.width_u,
        contrast: bar.contrast,
        seen: bar.seen,
        strength: bar.strength.min(f64::from(trace.peak)),
    };
    let even = profile.evenness(sign, bar.seen.abs());
    let sound = !bends(&line, search)
        && !hugs_rim(&line, rest, search)
        && bar.contrast * sign > 0.0
        && bar.strength > 8.0
        && !bar.step
        && even > 0.6
        && line.length() > search.aspect * bar.width.max(search.blur)
        && line.length() > 8.0 * search.px_per_um;
    sound.then_some(line)
}

/// The ridge of a bar so many blurs wide is flat, and a path along it wanders between its edges; the edges of one so many
/// times higher than a pixel's noise show at each point of it.
const BROAD: f64 = 4.0;
const CLEAR: f64 = 3.0;

/// Edges are looked for so far beyond a broad bar, um, and its path is smoothed over so much on either side.
const BEYOND: f64 = 1.5;
const SMOOTHED: f64 = 4.0;

/// A path, the mean profile across it and the bar fitted to that.
struct Fitted {
    path: Vec<(f64, f64)>,
    profile: Profile,
    bar: Bar,
}

/// Fits a bar across a path. The path of a broad and clear bar is laid on its middle, and point by point between its edges
/// where the bar shows the better for it.
fn fitted(path: &[(f64, f64)], rest: &Rest, search: &Search) -> Option<Fitted> {
    let on = |path: Vec<(f64, f64)>| {
        let profile = Profile::across(&path, rest, search)?;
        let bar = profile.fit(search)?;
        Some(Fitted { path, profile, bar })
    };
    let first = on(path.to_vec())?;
    let Bar { width, seen, strength, shift, .. } = first.bar;
    if width < BROAD * search.blur || seen.abs() < CLEAR * rest.noise {
        return Some(first);
    }
    let between = between_edges(path, &rest.residual, width, BEYOND * search.px_per_um);
    match on(smoothed(&between, (SMOOTHED * search.px_per_um / STEP) as usize)) {
        Some(between) if between.bar.strength > strength => Some(between),
        _ => Some(Fitted { path: moved_aside(path, shift), ..first }),
    }
}

/// The path from end to end of a strong bar: without what does not show it at half its height, and on straight as long as it
/// shows.
fn trimmed(path: &[(f64, f64)], rest: &Rest, bar: &Bar, search: &Search) -> Vec<(f64, f64)> {
    if bar.strength < f64::from(super::STRONG) || path.len() < 8 {
        return path.to_vec();
    }
    let shown = |path: &[(f64, f64)], i: usize| shown_at(path, i, rest, bar, search);
    let n = path.len();
    let solid = |i: usize| {
        (0..3).filter(|k| shown(path, (i + k).min(n - 1)).is_none_or(|share| share > 0.5)).count() >= 2
    };
    let from = (0..n / 3).find(|&i| solid(i)).unwrap_or(0);
    let to = (2 * n / 3..n - 2).rev().find(|&i| solid(i)).map_or(n, |i| i + 3);
    let mut path = path[from..to].to_vec();
    let most = ((bar.width + BEYOND * search.px_per_um) / STEP) as usize;
    for _ in 0..2 {
        path.reverse();
        for _ in 0..most {
            let n = path.len();
            let ((x, y), (bx, by)) = (path[n - 1], path[n.saturating_sub(5)]);
            let length = (x - bx).hypot(y - by).max(1e-9);
            path.push((x + (x - bx) / length * STEP, y + (y - by) / length * STEP));
            if shown(&path, n).is_none_or(|share| share < 0.5) {
                path.pop();
                break;
            }
        }
    }
    path
}

/// How strongly a bar shows at a point of its path, 1 as strongly as on the whole; none where something hides it.
fn shown_at(path: &[(f64, f64)], i: usize, rest: &Rest, bar: &Bar, search: &Search) -> Option<f64> {
    let reach = (0.35 * bar.width).max(0.7 * search.blur);
    let (nx, ny) = normal_at(path, i);
    let at = |u: f64| (path[i].0 + u * nx, path[i].1 + u * ny);
    let places = [-reach, -0.5 * reach, 0.0, 0.5 * reach, reach].map(at);
    let is_open = |p: &(f64, f64)| {
        rest.open.get(p.0.round() as isize, p.1.round() as isize).is_some_and(|open| open > 0.0)
    };
    let mean = places.iter().map(|p| f64::from(rest.residual.sample(p.0, p.1))).sum::<f64>() / 5.0;
    places.iter().all(is_open).then_some(mean / bar.seen)
}

/// Whether a path bends too much for a scratch, which a hard edge draws: the rim of a droplet, lint, a fringe.
/// Directions are taken over stretches long enough for the path's own noise.
fn bends(line: &Line, search: &Search) -> bool {
    let length = line.length();
    let stretch = (length / 6.0).clamp(2.5 * search.px_per_um, 12.0 * search.px_per_um);
    let count = ((stretch / STEP) as usize).max(1);
    let knots: Vec<(f64, f64)> =
        line.path.iter().step_by(count).copied().chain(line.path.last().copied()).collect();
    let headings: Vec<f64> = knots
        .windows(2)
        .filter(|w| (w[1].0 - w[0].0).hypot(w[1].1 - w[0].1) > 0.4 * stretch)
        .map(|w| (w[1].1 - w[0].1).atan2(w[1].0 - w[0].0))
        .collect();
    let turn: f64 = headings
        .windows(2)
        .map(|w| {
            let d = (w[1] - w[0]).rem_euclid(std::f64::consts::TAU);
            if d > std::f64::consts::PI { d - std::f64::consts::TAU } else { d }
        })
        .map(f64::abs)
        .sum();
    turn > MOST_TURN || turn * 22.0 * search.px_per_um > length.max(14.0 * search.px_per_um)
}

/// Most that a scratch turns in all, radians.
const MOST_TURN: f64 = 1.3;

/// Whether a path follows the edge of the glass: what lies there is a chip or a particle cut by the edge.
fn hugs_rim(line: &Line, rest: &Rest, search: &Search) -> bool {
    let (x, y, radius) = rest.disc;
    let near = radius - line.width / 2.0 - 1.5 * search.blur - 0.5 * search.px_per_um;
    let count = line.path.iter().filter(|p| (p.0 - x).hypot(p.1 - y) > near).count();
    2 * count > line.path.len()
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

/// Another line beside a line stands out of the valley between them by this share of the line's height and so many
/// scatters, and the valley is at most so high.
const BESIDE: (f64, f64, f64) = (0.35, 8.0, 0.25);

/// The part of a profile about its middle that other lines beside it do not reach: it ends in the valleys before them.
fn own_stretch(offset: &[f64], level: &[f64], ground: f64, scatter: f64) -> Range<usize> {
    let middle = offset.partition_point(|u| *u < 0.0);
    if offset.get(middle).is_none_or(|u| *u > 0.5) {
        return 0..level.len();
    }
    let height = |k: usize| (level[k] - ground) * (level[middle] - ground).signum();
    let most = height(middle);
    let rise = (BESIDE.0 * most).max(BESIDE.1 * scatter);
    let valley = |way: &mut dyn Iterator<Item = usize>| {
        let mut lowest = middle;
        for k in way {
            if height(k) < height(lowest) {
                lowest = k;
            } else if height(lowest) < BESIDE.2 * most && height(k) - height(lowest).max(0.0) > rise {
                return Some(lowest);
            }
        }
        None
    };
    let from = valley(&mut (0..middle).rev()).unwrap_or(0);
    from..valley(&mut (middle + 1..level.len())).map_or(level.len(), |k| k + 1)
}

/// A blurred bar fitted to a profile.
struct Bar {
    width: f64,
    width_u: f64,
    contrast: f64,
    seen: f64,
    strength: f64,
    step: bool,
    /// How far its middle lies off the path, in the direction of the path's normals.
    shift: f64,
}

impl Profile {
    fn across(path: &[(f64, f64)], rest: &Rest, search: &Search) -> Option<Profile> {
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
                if rest.open.get(x.round() as isize, y.round() as isize).unwrap_or(0.0) > 0.0 {
                    let v = rest.residual.sample(x, y);
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
        let scatter = (1.4826 * solve::median(&mut off)).max(rest.noise / (path.len() as f64 * STEP).sqrt());
        let own = own_stretch(&offsets, &level, centre, scatter);
        let (offset, level) = (offsets[own.clone()].to_vec(), level[own].to_vec());
        let length = (3.0 * search.px_per_um / STEP).ceil() as usize;
        let stretches =
            middle.chunks(length.max(1)).map(|c| c.iter().sum::<f64>() / c.len() as f64 - centre).collect();
        Some(Profile { offset, level, scatter, stretches })
    }

    /// Share of the stretches that stand at least a quarter as high as the whole.
    fn evenness(&self, sign: f64, seen: f64) -> f64 {
        let high = self.stretches.iter().filter(|s| sign * **s > 0.25 * seen).count();
        high as f64 / self.stretches.len().max(1) as f64
    }

    fn fit(&self, search: &Search) -> Option<Bar> {
        let s = search.blur;
        let edge = BlurredEdge::of(s);
        let slope = self.slope()?;
        let fit = |width: f64, shift: f64| {
            let shape = |u: f64| edge.at(u - shift + width / 2.0) - edge.at(u - shift - width / 2.0);
            self.held_to(&slope, shape).map(|(misfit, height)| Tried { width, shift, misfit, height })
        };
        let mut tried: Vec<Tried> = Vec::new();
        let mut width = 0.3 * s;
        while width < 9.0 * search.px_per_um {
            let shifts = (-6..=6).map(|k| 0.25 * f64::from(k) * (0.5 * s + 0.15 * width));
            tried.push(shifts.filter_map(|shift| fit(width, shift)).min_by(Tried::better)?);
            width *= WIDER;
        }
        // A strong line tells its width far better than the grid does.
        let best = tried.iter_mut().min_by(|a, b| a.better(b))?;
        *best = refined(*best, s, fit);
        let Tried { misfit: chi, width, shift, height } = *best;
        // The edge of a wide mark is as well a bar whose far side lies where nothing tells of it.
        let step = [shift, shift - width / 2.0, shift + width / 2.0]
            .into_iter()
            .filter_map(|at| self.held_to(&slope, |u| edge.at(u - at)))
            .any(|(misfit, _)| misfit < 1.1 * chi);
        let variance =
            (chi / (self.level.len() as f64 - 5.0).max(1.0)).max(0.25 * self.scatter * self.scatter);
        // Every width on the grid counts by its misfit (neighbours in the profile share pixels, so that a
        // unit of misfit is worth half) and by what contrast it would need.
        let (mut weight, mut mean, mut square, mut contrast) = (0.0, 0.0, 0.0, 0.0);
        for Tried { width, misfit, height, .. } in &tried {
            let p = (-(misfit - chi) / (4.0 * variance)).exp() * likely(height.abs());
            weight += p;
            mean += p * width;
            square += p * width * width;
            contrast += p * height;
        }
        let known = weight > 1e-30;
        let (width, bar) = if known { (mean / weight, contrast / weight) } else { (width, height) };
        let spread = if known { (square / weight - width * width).max(0.0).sqrt() } else { width };
        let width_u = spread.hypot(0.03 * width).hypot(0.24 * s);
        let seen = bar * (2.0 * cdf(width / 2.0 / s) - 1.0);
        let strength = seen.abs() * (width.max(2.0 * s)).sqrt() / variance.sqrt().max(self.scatter);
        Some(Bar { width, width_u, contrast: bar, seen, strength, step, shift })
    }

    /// Least squares of level = c0 + c1 u, and what is left of the levels.
    fn slope(&self) -> Option<Slope> {
        let n = self.level.len() as f64;
        let (su, suu) = self.offset.iter().fold((0.0, 0.0), |(s, q), u| (s + u, q + u * u));
        let determinant = n * suu - su * su;
        if determinant < 1e-9 {
            return None;
        }
        let inverse = [[suu / determinant, -su / determinant], [-su / determinant, n / determinant]];
        let pairs = self.offset.iter().zip(&self.level);
        let sums = pairs.fold([0.0; 2], |[y, uy], (u, v)| [y + v, uy + u * v]);
        let c = times(&inverse, sums);
        let left: Vec<f64> = self.offset.iter().zip(&self.level).map(|(u, v)| v - c[0] - c[1] * u).collect();
        Some(Slope { inverse, misfit: left.iter().map(|v| v * v).sum(), left })
    }

    /// Least squares of level = c0 + c1 u + c2 shape(u): misfit and c2. The first two are taken out of the levels and
    /// the shape beforehand (Frisch and Waugh, 1933, "Partial time regressions as compared with individual trends").
    fn held_to(&self, slope: &Slope, shape: impl Fn(f64) -> f64) -> Option<(f64, f64)> {
        let (mut f, mut uf, mut ff, mut fy) = (0.0, 0.0, 0.0, 0.0);
        for (u, left) in self.offset.iter().zip(&slope.left) {
            let v = shape(*u);
            f += v;
            uf += u * v;
            ff += v * v;
            fy += v * left;
        }
        let c = times(&slope.inverse, [f, uf]);
        let own = ff - c[0] * f - c[1] * uf;
        (own > 1e-12).then(|| ((slope.misfit - fy * fy / own).max(0.0), fy / own))
    }
}

/// Widths that are tried grow by this factor.
const WIDER: f64 = 1.12;

/// How often the best bar is looked for near another: most rounds halve the step.
const ROUNDS: usize = 12;

/// A bar that was held to a profile.
#[derive(Clone, Copy)]
struct Tried {
    width: f64,
    shift: f64,
    misfit: f64,
    height: f64,
}

impl Tried {
    fn better(&self, other: &Tried) -> Ordering {
        self.misfit.total_cmp(&other.misfit)
    }
}

/// The best bar between the widths that were tried beside it, by steps that halve where none is better (Hooke and Jeeves,
/// 1961, "Direct search solution of numerical and statistical problems").
fn refined(start: Tried, blur: f64, fit: impl Fn(f64, f64) -> Option<Tried>) -> Tried {
    let mut best = start;
    let between = start.width / WIDER..start.width * WIDER;
    let (mut wider, mut aside) = (0.5 * (WIDER - 1.0) * start.width, 0.06 * blur + 0.02 * start.width);
    for _ in 0..ROUNDS {
        let steps = [(wider, 0.0), (-wider, 0.0), (0.0, aside), (0.0, -aside)];
        let near = steps.iter().map(|(w, s)| (best.width + w, best.shift + s));
        let near = near.filter(|(width, _)| between.contains(width)).filter_map(|(w, s)| fit(w, s));
        match near.min_by(Tried::better).filter(|near| near.misfit < best.misfit) {
            Some(near) => best = near,
            None => (wider, aside) = (0.5 * wider, 0.5 * aside),
        }
    }
    best
}

/// What a straight line leaves of a profile.
struct Slope {
    /// Of the sums over 1 and the offsets.
    inverse: [[f64; 2]; 2],
    left: Vec<f64>,
    misfit: f64,
}

fn times(m: &[[f64; 2]; 2], v: [f64; 2]) -> [f64; 2] {
    [m[0][0] * v[0] + m[0][1] * v[1], m[1][0] * v[0] + m[1][1] * v[1]]
}

/// An edge blurred by a normal curve, from 0 far on the left to 1 far on the right; tabled, because a fit reads it tens of
/// thousands of times.
struct BlurredEdge {
    values: Vec<f64>,
    per_px: f64,
}

impl BlurredEdge {
    /// Standard deviations to either side, and values in each: straight lines between them are 2e-5 off at most.
    const REACH: f64 = 5.0;
    const VALUES: f64 = 40.0;

    fn of(sigma: f64) -> BlurredEdge {
        let count = (2.0 * Self::REACH * Self::VALUES) as usize + 1;
        let values = (0..count).map(|k| cdf(k as f64 / Self::VALUES - Self::REACH)).collect();
        BlurredEdge { values, per_px: Self::VALUES / sigma }
    }

    #[inline]
    fn at(&self, px: f64) -> f64 {
        let last = self.values.len() as u32 - 2;
        let place = (px * self.per_px + Self::REACH * Self::VALUES).clamp(0.0, f64::from(last + 1));
        let k = (place as u32).min(last);
        let (a, b) = (self.values[k as usize], self.values[k as usize + 1]);
        a + (b - a) * (place - f64::from(k))
    }
}

/// Mean of the middle four fifths.
fn trimmed_mean(values: &mut [f32]) -> f64 {
    values.sort_by(f32::total_cmp);
    let cut = values.len() / 10;
    let kept = &values[cut..values.len() - cut];
    kept.iter().map(|v| f64::from(*v)).sum::<f64>() / kept.len() as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The far side of a droplet's rim, 9 um of it, and a scratch as long that hardly bends.
    #[test]
    fn a_short_arc_is_no_scratch() {
        let search = Search { blur: 1.2, px_per_um: 2.0, aspect: 3.0 };
        let arc = |radius: f64| {
            let at = |k: i32| (f64::from(k) - 6.0) * 1.5 / radius;
            let path = (0..13).map(|k| (radius * at(k).sin(), radius * at(k).cos())).collect();
            Line { path, width: 2.0, width_u: 0.2, contrast: -0.3, seen: -0.2, strength: 20.0 }
        };
        assert_eq!([18.0, 80.0].map(|radius| bends(&arc(radius), &search)), [true, false]);
    }

    /// The width of a strong line does not snap to those that are tried.
    #[test]
    fn a_strong_line_is_as_wide_as_it_is() {
        let search = Search { blur: 1.2, px_per_um: 2.0, aspect: 3.0 };
        let offset: Vec<f64> = (-35..=35).map(|k| 0.5 * f64::from(k)).collect();
        for k in 0..12 {
            let (width, at) = (4.0 + 0.45 * f64::from(k), 0.07 * f64::from(k));
            let half = width / 2.0;
            let bar = |u: f64| cdf((u - at + half) / search.blur) - cdf((u - at - half) / search.blur);
            // A ripple in place of noise.
            let level = offset.iter().map(|u| 0.01 - 0.3 * bar(*u) + 0.001 * (9.0 * u).sin()).collect();
            let profile = Profile { offset: offset.clone(), level, scatter: 0.001, stretches: vec![] };
            let found = profile.fit(&search).unwrap();
            assert!((found.width - width).abs() < 0.03, "{} for {width}", found.width);
        }
    }

    #[test]
    fn a_line_beside_another_is_measured_without_it() {
        let offset: Vec<f64> = (-20..=20).map(|k| 0.5 * f64::from(k)).collect();
        let bar = |u: f64, at: f64, height: f64| height * (cdf(u - at + 1.0) - cdf(u - at - 1.0));
        let own = |at: f64, height: f64| {
            let level: Vec<f64> =
                offset.iter().map(|u| 0.01 + bar(*u, 0.0, -0.3) + bar(*u, at, height)).collect();
            let own = own_stretch(&offset, &level, 0.01, 0.005);
            (offset[own.start], offset[own.end - 1])
        };
        assert_eq!(own(6.0, 0.0), (-10.0, 10.0), "alone");
        assert_eq!(own(6.0, -0.3), (-10.0, 3.0), "one like it");
        assert_eq!(own(-6.0, -0.05), (-10.0, 10.0), "a faint one");
        assert_eq!(own(6.0, 0.3), (-10.0, 10.0), "one of the other sign");
    }
}
