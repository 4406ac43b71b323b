//! The level of the clean glass on a fibre that a film covers in part. Light is smooth and a film takes some of
//! it, so that small blocks of the cladding gather about two levels; the brighter one is clean.

use super::Spot;
use crate::solve;

/// Side of a block, share of the cladding's radius: 4 um.
const BLOCK: f32 = 0.064;

/// Scatter of the blocks of one level, about which the density of levels is taken.
const WIDTH: f64 = 0.008;

/// What lies so many scatters off adds nothing that 64 bit hold beside what lies near.
const FAR: f64 = 12.0;

/// Two levels are two if they lie so far apart, and if the density between them falls to this share of the lower peak.
const APART: f64 = 0.035;
const VALLEY: f64 = 0.6;

/// Share of the blocks that the clean level must hold: bright marks hold fewer.
const SHARE: f64 = 0.08;

/// Fewest blocks that tell anything.
pub const FEWEST: usize = 60;

/// The clean level among `spots` whose value is relative to the shape of the light; none if there is but one level.
/// `unit` is the cladding's radius.
pub fn level(spots: impl Iterator<Item = Spot>, unit: f64) -> Option<f64> {
    let mut blocks: Vec<f64> = blocks(spots, unit).iter().map(|b| b.level).collect();
    if blocks.len() < FEWEST {
        return None;
    }
    blocks.sort_by(f64::total_cmp);
    let middle = blocks[blocks.len() / 2];
    let (low, high) = (blocks[0] / middle, blocks[blocks.len() - 1] / middle);
    let step = 0.25 * WIDTH;
    // Marks lie far below and above; no film takes or gives so much.
    let (low, high) = (low.max(0.6), high.min(1.4));
    let levels: Vec<f64> = blocks.iter().map(|b| b / middle).collect();
    let density: Vec<f64> = (0..=((high - low) / step).max(0.0) as usize)
        .map(|k| {
            let at = low + step * k as f64;
            let from = levels.partition_point(|l| *l < at - FAR * WIDTH);
            let near = levels[from..].iter().take_while(|l| **l <= at + FAR * WIDTH);
            near.map(|l| (-0.5 * ((l - at) / WIDTH).powi(2)).exp()).sum()
        })
        .collect();
    let peaks: Vec<usize> = (0..density.len())
        .filter(|&k| {
            let left = k.checked_sub(1).map_or(0.0, |l| density[l]);
            density[k] > left && density[k] >= density.get(k + 1).copied().unwrap_or(0.0)
        })
        .collect();
    let at = |k: usize| low + step * k as f64;
    let holds = |k: usize| {
        let near = blocks.iter().filter(|b| (*b / middle - at(k)).abs() < 2.0 * WIDTH).count();
        near as f64 > SHARE * blocks.len() as f64
    };
    let bright = *peaks.iter().rev().find(|&&k| holds(k))?;
    let below = |&k: &usize| {
        let valley = density[k..=bright].iter().fold(f64::MAX, |a, b| a.min(*b));
        at(bright) - at(k) > APART && holds(k) && valley < VALLEY * density[k].min(density[bright])
    };
    peaks.iter().take_while(|k| **k < bright).any(below).then(|| at(bright) * middle)
}

/// A small block of the cladding: its middle, in units of the cladding's radius, and the median of its levels.
pub struct Block {
    pub x: f64,
    pub y: f64,
    pub level: f64,
}

/// Medians over blocks that are at least half full.
pub fn blocks(spots: impl Iterator<Item = Spot>, unit: f64) -> Vec<Block> {
    let unit = unit as f32;
    let side = (BLOCK * unit).max(1.0);
    let across = (2.2 * unit / side) as usize + 1;
    // Room for a whole block at once: growing copies it again and again.
    let room = (side.ceil() as usize + 1).pow(2);
    let mut values: Vec<Vec<f32>> = (0..across * across).map(|_| Vec::with_capacity(room)).collect();
    let cell = |d: f32| ((d + 1.1 * unit) / side) as u32 as usize;
    for spot in spots {
        let (x, y) = (cell(spot.dx), cell(spot.dy));
        if x < across && y < across {
            values[y * across + x].push(spot.value);
        }
    }
    let full = (0.5 * side * side) as usize;
    let middle = |cell: usize| f64::from((cell as f32 + 0.5) * side / unit - 1.1);
    let filled = values.iter_mut().enumerate().filter(|(_, v)| v.len() > full);
    filled
        .map(|(k, v)| Block {
            x: middle(k % across),
            y: middle(k / across),
            level: f64::from(solve::quantile32(v, 0.5)),
        })
        .collect()
}
