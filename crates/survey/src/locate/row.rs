//! A row of equal circles among the candidates: neighbours lie a fixed multiple of the radius apart, all
//! on one line that is turned by no more than some degrees. Candidates that keep no such company are left.

use super::vote::Candidate;

/// Largest turn of the row against the picture's x axis, radians (15 degrees and some play).
const STEEPEST: f64 = 19.0 * std::f64::consts::PI / 180.0;

/// Sites in a row that may be passed over without a circle.
pub(crate) const LONGEST_GAP: i32 = 5;

/// Candidates that are looked at, the best ones.
const MOST: usize = 300;

/// How far the spacing of two neighbours may be from the expected multiple of their radius.
const SPACING_PLAY: f64 = 0.17;

/// What one circle counts for in a row at most.
pub(crate) const MOST_SCORE: f64 = 1.5;

/// Place on a line, x, y and weight of a circle.
pub(crate) type Spot = (f64, f64, f64, f64);

/// A line of equally spaced places: place k is `origin + k * step`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Line {
    pub origin: (f64, f64),
    pub step: (f64, f64),
}

impl Line {
    /// Place `k` of the line, moved `across` pixels to its right-hand side (down in a level picture).
    pub fn place(&self, k: f64, across: f64) -> (f64, f64) {
        let (px, py) = self.step;
        let length = self.pitch();
        (self.origin.0 + k * px - across * py / length, self.origin.1 + k * py + across * px / length)
    }

    /// Distance between neighbours.
    pub fn pitch(&self) -> f64 {
        self.step.0.hypot(self.step.1)
    }

    /// The least-squares line through places (k, x, y) with weights; none with fewer than two different k.
    pub fn fitted(places: &[Spot]) -> Option<Line> {
        let total: f64 = places.iter().map(|p| p.3).sum();
        let mean = |f: fn(&Spot) -> f64| places.iter().map(|p| f(p) * p.3).sum::<f64>() / total;
        let (k, x, y) = (mean(|p| p.0), mean(|p| p.1), mean(|p| p.2));
        let spread: f64 = places.iter().map(|p| p.3 * (p.0 - k) * (p.0 - k)).sum();
        if spread.is_nan() || spread <= 1e-9 {
            return None;
        }
        let sx = places.iter().map(|p| p.3 * (p.0 - k) * (p.1 - x)).sum::<f64>() / spread;
        let sy = places.iter().map(|p| p.3 * (p.0 - k) * (p.2 - y)).sum::<f64>() / spread;
        Some(Line { origin: (x - k * sx, y - k * sy), step: (sx, sy) })
    }
}

/// A row of candidates that keep the law of the lattice.
#[derive(Clone, Debug)]
pub(crate) struct Chain {
    pub line: Line,
    /// (place on the line, index of the candidate), in order of place.
    pub members: Vec<(i32, usize)>,
    /// Sum of the members' scores.
    pub score: f64,
}

impl Chain {
    /// Whether at least half of another chain's circles are circles of this one.
    fn holds_most_of(&self, other: &Chain) -> bool {
        let shared = other.members.iter().filter(|m| self.members.iter().any(|own| own.1 == m.1)).count();
        2 * shared >= other.members.len()
    }
}

/// The rows found, best first, those that share most of their circles with a better one left out.
/// `law` is the spacing of neighbours over their radius.
pub(crate) fn chains(candidates: &[Candidate], law: f64) -> Vec<Chain> {
    let mut candidates = candidates[..candidates.len().min(MOST)].to_vec();
    candidates.sort_by(|a, b| a.x.total_cmp(&b.x));
    let count = candidates.len();
    let mut used = vec![false; count * count];
    let mut found: Vec<Chain> = Vec::new();
    for i in 0..count {
        for j in 0..count {
            if used[i * count + j] || !neighbours(&candidates[i], &candidates[j], law) {
                continue;
            }
            let chain = grown(&candidates, i, j, law);
            for pair in chain.members.windows(2).filter(|w| w[1].0 == w[0].0 + 1) {
                used[pair[0].1 * count + pair[1].1] = true;
            }
            found.push(chain);
        }
    }
    found.sort_by(|a, b| b.score.total_cmp(&a.score));
    let mut apart: Vec<Chain> = Vec::new();
    for chain in found {
        if !apart.iter().any(|other| other.holds_most_of(&chain)) {
            apart.push(chain);
        }
    }
    apart
}

/// Whether `b` is the right-hand neighbour of `a` by the law.
fn neighbours(a: &Candidate, b: &Candidate, law: f64) -> bool {
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let ratio = a.radius / b.radius;
    let spacing = dx.hypot(dy) / (law * 0.5 * (a.radius + b.radius));
    dx > 0.0
        && dy.abs() <= dx * STEEPEST.tan()
        && (0.85..1.18).contains(&ratio)
        && (spacing - 1.0).abs() < SPACING_PLAY
}

/// The chain that starts with the pair (i, j) and takes up whatever lies on its line.
fn grown(candidates: &[Candidate], i: usize, j: usize, law: f64) -> Chain {
    let mut members = vec![(0, i), (1, j)];
    let mut line = through(candidates, &members);
    for direction in [1, -1] {
        let mut k = if direction > 0 { 2 } else { -1 };
        let mut gap = 0;
        while gap <= LONGEST_GAP {
            match nearest(candidates, &line, k, law, members.len()) {
                Some(index) => {
                    members.push((k, index));
                    line = through(candidates, &members);
                    gap = 0;
                }
                None => gap += 1,
            }
            k += direction;
        }
    }
    members.sort_unstable();
    let score = members.iter().map(|&(_, m)| candidates[m].score.min(MOST_SCORE)).sum();
    Chain { line, members, score }
}

fn through(candidates: &[Candidate], members: &[(i32, usize)]) -> Line {
    let places: Vec<_> = members
        .iter()
        .map(|&(k, m)| (f64::from(k), candidates[m].x, candidates[m].y, candidates[m].score))
        .collect();
    let first = &candidates[members[0].1];
    Line::fitted(&places).unwrap_or(Line { origin: (first.x, first.y), step: (1.0, 0.0) })
}

/// The candidate, of those sorted by x, at place `k` of the line whose radius keeps the law.
fn nearest(candidates: &[Candidate], line: &Line, k: i32, law: f64, known: usize) -> Option<usize> {
    let (x, y) = line.place(f64::from(k), 0.0);
    let pitch = line.pitch();
    let play = if known < 4 { 0.22 } else { 0.14 } * pitch;
    let first = candidates.partition_point(|c| c.x < x - play);
    candidates[first..]
        .iter()
        .take_while(|c| c.x <= x + play)
        .enumerate()
        .filter(|(_, c)| (c.radius * law / pitch - 1.0).abs() < 0.22)
        .map(|(index, c)| (first + index, (c.x - x).hypot(c.y - y)))
        .filter(|&(_, distance)| distance < play)
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(index, _)| index)
}
