//! All pictures of a run at once: the turns and shifts that fit all links best, by least squares with a
//! robust weight for each tie (bundle adjustment in the plane).

use super::link::Link;
use super::rigid::{Rigid, biweight};
use crate::solve::{cholesky, median};

/// Ties of a run are off by this much usually, pixels of the frames; the weights' scale is never below it.
const LEAST_SCALE: f64 = 0.25;

/// Where each picture of one component lies, and how well its links agree.
#[derive(Clone, Debug)]
pub(crate) struct Adjusted {
    /// From each picture into the component's common plane, pixels; in order of `members`.
    pub ways: Vec<Rigid>,
    /// Root mean square miss of the ties of each link, pixels; in order of the links.
    pub misses: Vec<f64>,
}

/// Fits the members' places to the links among them. `start` must be near, as a tree of links leaves it.
pub(crate) fn adjust(members: &[usize], links: &[&Link], start: Vec<Rigid>) -> Adjusted {
    let mut ways = start;
    let index = |i: usize| members.iter().position(|&m| m == i).unwrap_or(0);
    let ends: Vec<(usize, usize)> = links.iter().map(|l| (index(l.a), index(l.b))).collect();
    for _ in 0..8 {
        let scale = typical_miss(&ways, links, &ends).max(LEAST_SCALE);
        let Some(step) = step(&ways, links, &ends, 4.0 * scale) else { break };
        let mut largest: f64 = 0.0;
        for (way, s) in ways.iter_mut().skip(1).zip(step.chunks_exact(3)) {
            way.turn += s[0] / LEVER;
            way.shift = (way.shift.0 + s[1], way.shift.1 + s[2]);
            largest = s.iter().fold(largest, |m, v| m.max(v.abs()));
        }
        if largest < 1e-4 {
            break;
        }
    }
    let misses = links.iter().zip(&ends).map(|(l, e)| miss_of(&ways, l, *e)).collect();
    Adjusted { ways, misses }
}

/// Turns are solved for as the shift of a place so far off, pixels, so that all unknowns are of one size.
const LEVER: f64 = 500.0;

fn misses<'a>(ways: &'a [Rigid], link: &'a Link, (a, b): (usize, usize)) -> impl Iterator<Item = f64> + 'a {
    link.ties.iter().map(move |t| {
        let (p, q) = (ways[a].place(t.from), ways[b].place(t.to));
        (p.0 - q.0).hypot(p.1 - q.1)
    })
}

fn miss_of(ways: &[Rigid], link: &Link, ends: (usize, usize)) -> f64 {
    let sum: f64 = misses(ways, link, ends).map(|m| m * m).sum();
    (sum / link.ties.len().max(1) as f64).sqrt()
}

fn typical_miss(ways: &[Rigid], links: &[&Link], ends: &[(usize, usize)]) -> f64 {
    let mut all: Vec<f64> = links.iter().zip(ends).flat_map(|(l, e)| misses(ways, l, *e)).collect();
    if all.is_empty() { 0.0 } else { median(&mut all) }
}

/// One Gauss-Newton step of all pictures but the first, three unknowns each.
fn step(ways: &[Rigid], links: &[&Link], ends: &[(usize, usize)], reach: f64) -> Option<Vec<f64>> {
    let n = 3 * ways.len().checked_sub(1)?;
    if n == 0 {
        return None;
    }
    let (mut normal, mut right) = (vec![0.0; n * n], vec![0.0; n]);
    for (link, &(a, b)) in links.iter().zip(ends) {
        for tie in &link.ties {
            let (p, q) = (ways[a].place(tie.from), ways[b].place(tie.to));
            let off = (p.0 - q.0, p.1 - q.1);
            let weight = tie.weight * biweight(off.0.hypot(off.1) / reach);
            // Places less shifts: how a turn moves them.
            let (pa, pb) = (arm(ways[a], p), arm(ways[b], q));
            let rows = [
                ([-pa.1 / LEVER, 1.0, 0.0], [pb.1 / LEVER, -1.0, 0.0], off.0),
                ([pa.0 / LEVER, 0.0, 1.0], [-pb.0 / LEVER, 0.0, -1.0], off.1),
            ];
            for (da, db, miss) in rows {
                let terms: Vec<(usize, f64)> = unknowns(a, da).chain(unknowns(b, db)).collect();
                for &(i, u) in &terms {
                    right[i] -= weight * u * miss;
                    terms.iter().for_each(|&(j, v)| normal[i * n + j] += weight * u * v);
                }
            }
        }
    }
    (0..n).for_each(|i| normal[i * n + i] += 1e-6);
    cholesky(&mut normal, &right)
}

fn arm(way: Rigid, p: (f64, f64)) -> (f64, f64) {
    (p.0 - way.shift.0, p.1 - way.shift.1)
}

/// The unknowns of a picture with their factors; the first picture has none.
fn unknowns(picture: usize, factors: [f64; 3]) -> impl Iterator<Item = (usize, f64)> {
    let known = picture == 0;
    factors
        .into_iter()
        .enumerate()
        .filter(move |_| !known)
        .map(move |(k, f)| (3 * picture.wrapping_sub(1) + k, f))
}
