//! The trial of one shift between two textures: small blocks of one are looked for in the other, each by
//! itself. Two pictures of one place agree in nearly all blocks, with one turn and shift; pictures of two
//! places, however alike, in none but by chance.

use super::rigid::{Rigid, Spot, Tie, agreed};
use super::texture::Texture;
use imaging::Plane;

/// Side of a block, pixels of the texture.
const SIDE: usize = 20;

/// Distance of blocks, where there is room for many.
const STRIDE: usize = 26;

/// How far from the expected place a block is looked for, pixels.
const REACH: i32 = 4;

/// Blocks with less texture than this share of the usual say nothing.
const LEAST_TEXTURE: f32 = 0.25;

/// Correlation from which a block agrees.
const AGREES: f32 = 0.4;

/// Distance from the common turn and shift within which a block agrees, pixels.
const PLAY: f64 = 1.2;

/// What the blocks say.
#[derive(Clone, Debug)]
pub(crate) struct Trial {
    /// From the first picture into the second, pixels of the frames.
    pub way: Rigid,
    /// The blocks that agree, pixels of the frames.
    pub ties: Vec<Tie>,
    /// Blocks that were looked for.
    pub tried: usize,
    /// Median correlation over all blocks tried.
    pub correlation: f32,
}

impl Trial {
    /// Share of the blocks that agree.
    pub fn share(&self) -> f64 {
        self.ties.len() as f64 / self.tried.max(1) as f64
    }
}

/// Tries a way from the first picture into the second, pixels of the frames. None if too few blocks agree on
/// any turn and shift.
pub(crate) fn trial(a: &Texture, b: &Texture, way: Rigid) -> Option<Trial> {
    let found = sought(a, b, way);
    let clear: Vec<Tie> = found.iter().filter(|f| f.1 >= AGREES).map(|f| f.0).collect();
    let way = agreed(&clear, PLAY * a.factor)?;
    let ties: Vec<Tie> = clear.into_iter().filter(|t| way.miss(t) < PLAY * a.factor).collect();
    Some(Trial { way, ties, tried: found.len(), correlation: middle(&found) })
}

/// How many blocks were looked for near a way, and their median correlation.
pub(crate) fn likeness(a: &Texture, b: &Texture, way: Rigid) -> (usize, f32) {
    let found = sought(a, b, way);
    (found.len(), middle(&found))
}

fn middle(found: &[(Tie, f32)]) -> f32 {
    let mut correlations: Vec<f32> = found.iter().map(|f| f.1).collect();
    correlations.sort_by(f32::total_cmp);
    correlations.get(found.len() / 2).copied().unwrap_or(0.0)
}

/// Blocks of the first picture where they are found in the second, with their correlation.
fn sought(a: &Texture, b: &Texture, way: Rigid) -> Vec<(Tie, f32)> {
    let half = 0.5 * (SIDE as f64 - 1.0);
    let look = |(x, y): (usize, usize)| {
        let from = a.to_frame((x as f64 + half, y as f64 + half));
        let to = b.of_frame(way.place(from));
        let seen = seek(&a.plane, &b.plane, (x, y), (to.0 - half, to.1 - half))?;
        let to = b.to_frame((seen.at.0 + half, seen.at.1 + half));
        Some((Tie { from, to, weight: 1.0 }, seen.correlation))
    };
    corners(a, b, way).into_iter().filter_map(look).collect()
}

/// Top left corners of blocks of the first texture that the second holds too.
fn corners(a: &Texture, b: &Texture, way: Rigid) -> Vec<(usize, usize)> {
    let inside = |x: usize, y: usize| {
        let ends = [(x, y), (x + SIDE, y), (x, y + SIDE), (x + SIDE, y + SIDE)];
        ends.iter().all(|&(x, y)| {
            let (u, v) = b.of_frame(way.place(a.to_frame((x as f64, y as f64))));
            u >= 0.0 && v >= 0.0 && u <= b.plane.width() as f64 && v <= b.plane.height() as f64
        })
    };
    let (last_x, last_y) = (a.plane.width().saturating_sub(SIDE), a.plane.height().saturating_sub(SIDE));
    let range = |last: usize, test: &dyn Fn(usize) -> bool| -> Vec<usize> {
        let good: Vec<usize> = (0..=last).filter(|&v| test(v)).collect();
        spread(&good)
    };
    let (mid_x, mid_y) = middle_of_overlap(a, b, way);
    let xs = range(last_x, &|x| inside(x, mid_y.min(last_y)));
    let ys = range(last_y, &|y| inside(mid_x.min(last_x), y));
    let all = ys.iter().flat_map(|&y| xs.iter().map(move |&x| (x, y)));
    all.filter(|&(x, y)| inside(x, y) && textured(&a.plane, x, y)).collect()
}

/// The corner of a block in the middle of what both pictures show, pixels of the first texture.
fn middle_of_overlap(a: &Texture, b: &Texture, way: Rigid) -> (usize, usize) {
    let (dx, dy) = (way.shift.0 / a.factor, way.shift.1 / a.factor);
    let middle = |size_a: usize, size_b: usize, shift: f64| {
        let (low, high) = ((-shift).max(0.0), (size_b as f64 - shift).min(size_a as f64));
        ((low + high - SIDE as f64) / 2.0).max(0.0) as usize
    };
    (middle(a.plane.width(), b.plane.width(), dx), middle(a.plane.height(), b.plane.height(), dy))
}

/// Values from a run of neighbouring ones, a stride apart or nearer, both ends among them.
fn spread(run: &[usize]) -> Vec<usize> {
    let Some(last) = run.len().checked_sub(1) else { return Vec::new() };
    let steps = last.div_ceil(STRIDE).max(1);
    let mut picked: Vec<usize> = (0..=steps).map(|i| run[i * last / steps]).collect();
    picked.dedup();
    picked
}

fn textured(plane: &Plane<f32>, x: usize, y: usize) -> bool {
    let sum: f32 = (y..y + SIDE).map(|v| plane.row(v)[x..x + SIDE].iter().map(|t| t * t).sum::<f32>()).sum();
    sum > LEAST_TEXTURE * (SIDE * SIDE) as f32
}

struct SeenBlock {
    /// Where the block's corner lies in the second texture.
    at: Spot,
    correlation: f32,
}

/// Looks for the block of `a` at `corner` near `to` in `b`; none if that is not wholly inside.
fn seek(a: &Plane<f32>, b: &Plane<f32>, corner: (usize, usize), to: Spot) -> Option<SeenBlock> {
    let (x0, y0) = (to.0.round() as i32, to.1.round() as i32);
    let wide = (2 * REACH + 1) as usize;
    let mut scores = vec![f32::NAN; wide * wide];
    let energy: f32 = (0..SIDE)
        .map(|y| a.row(corner.1 + y)[corner.0..corner.0 + SIDE].iter().map(|v| v * v).sum::<f32>())
        .sum();
    for dy in -REACH..=REACH {
        for dx in -REACH..=REACH {
            let (x, y) = (x0 + dx, y0 + dy);
            let fits = x >= 0 && y >= 0 && x as usize + SIDE <= b.width() && y as usize + SIDE <= b.height();
            if fits {
                let index = (dy + REACH) as usize * wide + (dx + REACH) as usize;
                scores[index] = correlation(a, b, corner, (x as usize, y as usize), energy);
            }
        }
    }
    let best = (0..scores.len())
        .filter(|&i| !scores[i].is_nan())
        .max_by(|&i, &j| scores[i].total_cmp(&scores[j]))?;
    let (bx, by) = (best % wide, best / wide);
    let at = |x: usize, y: usize| {
        if x < wide && y < wide { scores[y * wide + x] } else { f32::NAN }
    };
    let part = |before: f32, here: f32, after: f32| {
        let bend = before + after - 2.0 * here;
        let shift = 0.5 * (before - after) / bend;
        if shift.is_finite() && bend < 0.0 { f64::from(shift).clamp(-0.5, 0.5) } else { 0.0 }
    };
    let here = scores[best];
    let sub_x = part(at(bx.wrapping_sub(1), by), here, at(bx + 1, by));
    let sub_y = part(at(bx, by.wrapping_sub(1)), here, at(bx, by + 1));
    let place = |from: i32, index: usize, sub: f64| f64::from(from - REACH) + index as f64 + sub;
    Some(SeenBlock { at: (place(x0, bx, sub_x), place(y0, by, sub_y)), correlation: here })
}

fn correlation(
    a: &Plane<f32>,
    b: &Plane<f32>,
    (ax, ay): (usize, usize),
    (bx, by): (usize, usize),
    energy: f32,
) -> f32 {
    let (mut ab, mut bb) = ([0.0f32; 4], [0.0f32; 4]);
    for y in 0..SIDE {
        let p = a.row(ay + y)[ax..ax + SIDE].chunks_exact(4);
        let q = b.row(by + y)[bx..bx + SIDE].chunks_exact(4);
        for (p, q) in p.zip(q) {
            for k in 0..4 {
                ab[k] += p[k] * q[k];
                bb[k] += q[k] * q[k];
            }
        }
    }
    let (ab, bb): (f32, f32) = (ab.iter().sum(), bb.iter().sum());
    ab / (energy * bb).sqrt().max(1e-6)
}
