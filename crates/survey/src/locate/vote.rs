//! Circle candidates of unknown radius by radial symmetry voting: every pixel with a clear gradient votes
//! for the centres that lie one radius ahead of and behind it (G. Loy and A. Zelinsky 2003, Fast radial
//! symmetry for detecting points of interest). Whether a candidate is a cladding is settled elsewhere.

use super::pyramid::Level;
use imaging::Plane;
use rayon::prelude::*;

/// Radii voted for at each level, in its pixels: one octave, the next level takes over from there.
const RADII: [f32; 6] = [6.2, 6.96, 7.81, 8.77, 9.84, 11.05];

/// Votes may fall this many pixels beyond the border, so that circles cut in half are found.
const MARGIN: usize = 6;

/// Share of the pixels that vote.
const VOTERS: f64 = 0.35;

/// Least votes for a candidate, as a share of the circumference.
const LEAST_SCORE: f32 = 0.45;

/// Candidates kept at each level.
const KEPT: usize = 150;

/// A circle that collected votes; in pixels of the base level.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Candidate {
    pub x: f64,
    pub y: f64,
    pub radius: f64,
    /// Votes over circumference.
    pub score: f64,
}

/// A pixel with a clear gradient and the gradient's direction.
struct Voter {
    x: f32,
    y: f32,
    ux: f32,
    uy: f32,
}

/// Candidates at the given levels, best first, each circle once, in pixels of the level `base`.
pub(crate) fn candidates(levels: &[Level], base: &Level) -> Vec<Candidate> {
    let jobs: Vec<(&Level, Vec<Voter>)> =
        levels.par_iter().map(|level| (level, voters(&level.plane))).collect();
    let pairs: Vec<(usize, f32)> =
        (0..jobs.len()).flat_map(|level| RADII.iter().map(move |&radius| (level, radius))).collect();
    let found: Vec<Vec<Candidate>> = pairs
        .par_iter()
        .map(|&(i, radius)| {
            let (level, voters) = &jobs[i];
            let scale = level.factor / base.factor;
            peaks(&tally(voters, radius, level.plane.width(), level.plane.height()), radius, scale)
        })
        .collect();
    let per_level = found.chunks(RADII.len()).flat_map(|chunk| {
        let mut all: Vec<Candidate> = chunk.concat();
        all.sort_by(|a, b| b.score.total_cmp(&a.score));
        all.truncate(KEPT);
        all
    });
    each_once(per_level.collect())
}

/// The pixels whose gradient, relative to the light about them, is among the strongest; pixels that are not a number
/// are left out.
fn voters(plane: &Plane<f32>) -> Vec<Voter> {
    let (width, height) = (plane.width(), plane.height());
    let mut gradients = vec![(0.0f32, 0.0f32, 0.0f32); width * height];
    for y in 1..height.saturating_sub(1) {
        let (above, here, below) = (plane.row(y - 1), plane.row(y), plane.row(y + 1));
        let out = &mut gradients[y * width..(y + 1) * width];
        for x in 1..width - 1 {
            let left = above[x - 1] + 2.0 * here[x - 1] + below[x - 1];
            let right = above[x + 1] + 2.0 * here[x + 1] + below[x + 1];
            let up = above[x - 1] + 2.0 * above[x] + above[x + 1];
            let down = below[x - 1] + 2.0 * below[x] + below[x + 1];
            let (gx, gy) = (right - left, down - up);
            let light = (left + right + 2.0 * (above[x] + below[x])) * (1.0 / 12.0) + 0.02;
            out[x] = (gx, gy, (gx * gx + gy * gy) / (light * light));
        }
    }
    let sample = gradients.iter().skip(3).step_by(7).map(|g| g.2);
    let mut sample: Vec<f32> = sample.filter(|g| !g.is_nan()).collect();
    if sample.is_empty() {
        return Vec::new();
    }
    let rank = ((sample.len() as f64 * (1.0 - VOTERS)) as usize).min(sample.len() - 1);
    let threshold = sample.select_nth_unstable_by(rank, f32::total_cmp).1.max(1e-6);
    let clear = gradients.iter().enumerate().filter(|(_, g)| g.2 > threshold);
    clear
        .map(|(i, &(gx, gy, _))| {
            let inverse = 1.0 / (gx * gx + gy * gy).sqrt();
            Voter { x: (i % width) as f32, y: (i / width) as f32, ux: gx * inverse, uy: gy * inverse }
        })
        .collect()
}

/// Votes for centres at one radius, with a margin about the plane, summed over 3 x 3 pixels.
fn tally(voters: &[Voter], radius: f32, width: usize, height: usize) -> Plane<u16> {
    let (wide, high) = (width + 2 * MARGIN, height + 2 * MARGIN);
    let mut votes = vec![0u16; wide * high];
    let shift = MARGIN as f32 + 0.5;
    let mut cast = |x: f32, y: f32| {
        let (x, y) = (x as i32, y as i32);
        if x >= 1 && y >= 1 {
            let (x, y) = (x as usize, y as usize);
            if x < wide - 1 && y < high - 1 {
                votes[y * wide + x] += 1;
            }
        }
    };
    for v in voters {
        let (dx, dy) = (v.ux * radius, v.uy * radius);
        cast(v.x + dx + shift, v.y + dy + shift);
        cast(v.x - dx + shift, v.y - dy + shift);
    }
    boxed(&votes, wide, high)
}

fn boxed(votes: &[u16], wide: usize, high: usize) -> Plane<u16> {
    let mut sums = Plane::filled(wide, high, 0u16);
    let mut column = vec![0u16; wide];
    for y in 1..high - 1 {
        let above = &votes[(y - 1) * wide..y * wide];
        let here = &votes[y * wide..(y + 1) * wide];
        let below = &votes[(y + 1) * wide..(y + 2) * wide];
        for (c, ((a, b), d)) in column.iter_mut().zip(above.iter().zip(here).zip(below)) {
            *c = a + b + d;
        }
        let row = &mut sums.row_mut(y)[1..wide - 1];
        for (out, three) in row.iter_mut().zip(column.windows(3)) {
            *out = three[0] + three[1] + three[2];
        }
    }
    sums
}

/// Local maxima of the votes, as candidates in base pixels; `scale` is base pixels per pixel.
fn peaks(votes: &Plane<u16>, radius: f32, scale: f64) -> Vec<Candidate> {
    let circumference = std::f32::consts::TAU * radius;
    let least = (circumference * LEAST_SCORE) as u16;
    let mut found = Vec::new();
    for y in 1..votes.height() - 1 {
        for (x, &v) in votes.row(y).iter().enumerate().take(votes.width() - 1).skip(1) {
            if v < least || !is_peak(votes, x, y, v) {
                continue;
            }
            let place = |c: usize| (c as f64 - MARGIN as f64 + 0.5) * scale - 0.5;
            found.push(Candidate {
                x: place(x),
                y: place(y),
                radius: f64::from(radius) * scale,
                score: f64::from(f32::from(v) / circumference),
            });
        }
    }
    found
}

/// Whether no neighbour has more votes; of equal neighbours the first in row order is the peak.
fn is_peak(votes: &Plane<u16>, x: usize, y: usize, v: u16) -> bool {
    let before = votes.row(y - 1)[x - 1..=x + 1].iter().chain(&votes.row(y)[x - 1..x]);
    let after = votes.row(y)[x + 1..=x + 1].iter().chain(&votes.row(y + 1)[x - 1..=x + 1]);
    before.clone().all(|&n| n < v) && after.clone().all(|&n| n <= v)
}

/// Best first, without the weaker of two candidates that are one circle.
fn each_once(mut all: Vec<Candidate>) -> Vec<Candidate> {
    all.sort_by(|a, b| b.score.total_cmp(&a.score));
    let mut kept: Vec<Candidate> = Vec::new();
    for c in all {
        let same = |k: &Candidate| {
            let ratio = k.radius / c.radius;
            (0.8..1.25).contains(&ratio) && {
                let (dx, dy, play) = (k.x - c.x, k.y - c.y, 0.35 * c.radius);
                dx * dx + dy * dy < play * play
            }
        };
        if !kept.iter().any(same) {
            kept.push(c);
        }
    }
    kept
}
