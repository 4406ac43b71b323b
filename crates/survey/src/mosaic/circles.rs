//! The claddings that each of several pictures shows, before any lattice: one picture of a stepped run may
//! hold a fibre or two, so that only all of them together tell how large a cladding is.

use super::rigid::Spot;
use crate::locate::pyramid::Level;
use crate::locate::rim::{Circle, Grain, Polarity, Profiles, Rim};
use crate::locate::vote::{self, Candidate};
use crate::solve::median;
use rayon::prelude::*;

/// Candidates of one picture whose edges are looked at, the best ones.
const LOOKED_AT: usize = 60;

/// Share of the circumference that an edge must show.
const LEAST_SHARE: f64 = 0.5;

/// Looks at most until a circle stays where it was found, and what it may move then, over its radius.
const LOOKS: usize = 4;
const SETTLED: f64 = 0.005;

/// Share of the circumference that must be in view.
const LEAST_VIEW: f64 = 0.6;

/// Pictures that must show a circle of one size where no two neighbours are seen together.
const LEAST_SEEN: usize = 3;

/// Least radius of a cladding in a picture that may be graded, pixels: 62.5 um at 1.25 um per pixel, and some play.
const LEAST_RADIUS: f64 = 46.0;

/// Radii within this factor are equal.
const EQUAL: f64 = 1.05;

/// The circles of one picture, pixels of the frame.
#[derive(Clone, Debug, Default)]
pub(crate) struct Circles {
    /// What was voted for, pixels of the frame.
    pub candidates: Vec<Candidate>,
    /// Centres of the claddings whose edge shows.
    pub claddings: Vec<Spot>,
}

/// The circles of all pictures and the claddings' radius, pixels of the frames; none if no two circles keep
/// the spacing of an array and less than three pictures show one of the same size. `law` is pitch over radius.
pub(crate) fn circles(levels: &[Level], law: f64) -> Option<(Vec<Circles>, f64)> {
    let looked: Vec<(Vec<Candidate>, Vec<Edge>)> = levels.par_iter().map(look).collect();
    let edges: Vec<&[Edge]> = looked.iter().map(|(_, edges)| &edges[..]).collect();
    let radius = common_radius(&edges, law, LEAST_RADIUS).or_else(|| common_radius(&edges, law, 0.0))?;
    let circles = looked
        .into_iter()
        .map(|(candidates, edges)| {
            let claddings = edges.iter().filter(|e| equal(e.radius, radius)).map(|e| e.centre).collect();
            Circles { candidates, claddings: apart(claddings, radius) }
        })
        .collect();
    Some((circles, radius))
}

/// A circle whose edge shows, pixels of the frame.
#[derive(Clone, Copy, Debug)]
struct Edge {
    centre: Spot,
    radius: f64,
    share: f64,
}

fn look(level: &Level) -> (Vec<Candidate>, Vec<Edge>) {
    let mut candidates = vote::candidates(&level.below(), level);
    let grain = grain(level);
    let edges = candidates.iter().take(LOOKED_AT).filter_map(|c| edge(level, c, grain)).collect();
    for c in &mut candidates {
        (c.x, c.y, c.radius) = (level.to_frame(c.x), level.to_frame(c.y), c.radius * level.factor);
    }
    (candidates, edges)
}

/// An edge must step by a share of the picture's own light.
fn grain(level: &Level) -> Grain {
    let sample: Vec<f64> = level.plane.data().iter().step_by(37).map(|&v| f64::from(v)).collect();
    let light = if sample.is_empty() { 0.0 } else { median(&mut { sample }) };
    let step = (0.05 * light).max(0.004) as f32;
    Grain { step, mean_step: step }
}

/// The edge near a candidate. Votes lie on coarse planes and may miss the middle by more than steps are looked for
/// to one side of the circle, which draws the fit: it is looked at again from where it was found.
fn edge(level: &Level, c: &Candidate, grain: Grain) -> Option<Edge> {
    let mut seen = rim(level, Circle { x: c.x, y: c.y, radius: c.radius }, grain)?;
    for _ in 0..LOOKS {
        let before = seen.circle;
        seen = rim(level, before, grain)?;
        let moved = (seen.circle.x - before.x).hypot(seen.circle.y - before.y);
        if moved + (seen.circle.radius - before.radius).abs() < SETTLED * before.radius {
            break;
        }
    }
    let centre = (level.to_frame(seen.circle.x), level.to_frame(seen.circle.y));
    Some(Edge { centre, radius: seen.circle.radius * level.factor, share: seen.share })
}

/// The clearer of a bright and a dark edge near a circle; none where too little shows.
fn rim(level: &Level, expected: Circle, grain: Grain) -> Option<Rim> {
    let profiles = Profiles::new(&level.plane, expected);
    if profiles.in_view() < LEAST_VIEW {
        return None;
    }
    let [bright, dark] = [Polarity::Bright, Polarity::Dark].map(|p| profiles.rim(p, grain));
    let best = if dark.share > bright.share { dark } else { bright };
    (best.share >= LEAST_SHARE).then_some(best)
}

fn equal(a: f64, b: f64) -> bool {
    a < b * EQUAL && b < a * EQUAL
}

/// The radius, at least `least`, that most circles share; neighbours that keep the array's spacing weigh more. Circles within a
/// larger one about the same middle have no say: they are cores. None if single circles hardly agree.
fn common_radius(pictures: &[&[Edge]], law: f64, least: f64) -> Option<f64> {
    let large = |p: &[Edge]| p.iter().filter(|e| e.radius >= least).copied().collect::<Vec<_>>();
    let outer: Vec<Vec<Edge>> = pictures.iter().map(|p| outermost(&large(p))).collect();
    let all = || outer.iter().flatten();
    let score = |radius: f64| {
        let near = |e: &&Edge| equal(e.radius, radius);
        let shares: f64 = all().filter(near).map(|e| e.share).sum();
        let pairs: usize = outer.iter().map(|p| neighbours(p, radius, law)).sum();
        let seen = outer.iter().filter(|p| p.iter().any(|e| equal(e.radius, radius))).count();
        (pairs > 0 || (seen >= LEAST_SEEN && radius >= LEAST_RADIUS)).then_some(shares + 2.0 * pairs as f64)
    };
    let best = all().filter_map(|e| Some((score(e.radius)?, e.radius))).max_by(|a, b| a.0.total_cmp(&b.0))?;
    let mut near: Vec<f64> = all().map(|e| e.radius).filter(|&r| equal(r, best.1)).collect();
    Some(median(&mut near))
}

/// The circles of a picture that lie within no clear larger one of the same middle.
fn outermost(edges: &[Edge]) -> Vec<Edge> {
    let within = |e: &Edge, o: &Edge| {
        let apart = (e.centre.0 - o.centre.0).hypot(e.centre.1 - o.centre.1);
        e.radius * 1.3 < o.radius && apart < 0.15 * o.radius && o.share > 0.8 * e.share
    };
    edges.iter().filter(|e| !edges.iter().any(|o| within(e, o))).copied().collect()
}

/// Pairs of circles of one picture that lie one pitch apart.
fn neighbours(edges: &[Edge], radius: f64, law: f64) -> usize {
    let own: Vec<&Edge> = edges.iter().filter(|e| equal(e.radius, radius)).collect();
    let pitch_apart = |a: &Edge, b: &Edge| {
        let (dx, dy) = (b.centre.0 - a.centre.0, b.centre.1 - a.centre.1);
        dx > 0.0 && dy.abs() < 0.36 * dx && (dx.hypot(dy) / (law * radius) - 1.0).abs() < 0.08
    };
    own.iter().map(|a| own.iter().filter(|b| pitch_apart(a, b)).count()).sum()
}

/// Each centre once.
fn apart(centres: Vec<Spot>, radius: f64) -> Vec<Spot> {
    let mut kept: Vec<Spot> = Vec::new();
    for c in centres {
        if kept.iter().all(|k| (k.0 - c.0).hypot(k.1 - c.1) > radius) {
            kept.push(c);
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;
    use imaging::Plane;

    #[test]
    fn an_edge_is_found_where_it_is_though_the_vote_missed_the_middle() {
        let (x, y, radius) = (230.0, 210.0, 100.0);
        let plane = Plane::from_fn(460, 420, |u, v| {
            let inside: f64 = radius - (u as f64 - x).hypot(v as f64 - y);
            // Glass, a dark ring of adhesive thicker on one side, and the ferrule.
            let ring = if u < 230 { -4.0 } else { -1.5 };
            let level = if inside > 0.0 {
                0.6
            } else if inside > ring {
                0.15
            } else {
                0.3
            };
            level + 0.01 * ((u * 7 + v * 13) % 5) as f32
        });
        let level = Level { plane, factor: 1.0 };
        for (dx, dy, grown) in [(0.0, 0.0, 1.0), (13.0, -9.0, 1.05), (-12.0, 10.0, 0.97), (16.0, 0.0, 1.06)] {
            let vote = Candidate { x: x + dx, y: y + dy, radius: grown * radius, score: 1.0 };
            let found = edge(&level, &vote, grain(&level)).unwrap();
            let off = (found.centre.0 - x).hypot(found.centre.1 - y);
            assert!(off < 1.0 && (found.radius - radius).abs() < 2.0, "{dx} {dy} {grown}: {found:?}");
        }
    }
}
