//! What the fibres of one face agree on. A core's look is the fibre type's and a cladding's shading the
//! polish's, so fibres are compared with one another: a core that none of the others shares is taken from
//! those that agree, up to a factor for the light in it, and a cladding's rings stay near the common ones. A
//! mark or film that fills whole rings is then left in the residual instead of in the look.

use super::{Looks, Rings};
use crate::solve;
use rayon::prelude::*;

/// Radii at which cores are compared, shares of the cladding's radius: closer in the middle, where a ring
/// holds too few pixels for its median to withstand a mark.
const RADII: [f32; 20] = [
    0.0, 0.012, 0.024, 0.036, 0.048, 0.06, 0.072, 0.084, 0.1, 0.12, 0.14, 0.17, 0.21, 0.25, 0.3, 0.35, 0.4,
    0.45, 0.5, 0.56,
];

/// Radii below this one are the middle.
const MIDDLE: usize = 9;

/// Largest difference of two cores that agree, relative to the cladding's level.
const TOLERANCE: f32 = 0.035;

/// How far a cladding's ring may lie from the common one.
const OWN_RING: f32 = 0.006;

/// A core brighter than the cladding by this much is lit; lit and dark cores are not compared.
const LIT: f32 = 0.05;

/// Levels at `RADII`.
type Profile = [f32; RADII.len()];

/// Lets the fibres of one face agree; fewer than four are left as they are.
pub fn agree(looks: &mut [&mut Looks]) {
    if looks.len() < 4 {
        return;
    }
    agree_on_cores(looks);
    agree_on_claddings(looks);
}

fn agree_on_cores(looks: &mut [&mut Looks]) {
    let profiles: Vec<Profile> = looks.iter().map(|l| profile(&l.core.rings, l.unit as f32)).collect();
    let uneven = uneven(looks);
    let friends =
        |i: usize| (0..profiles.len()).filter(|&j| j != i && same(&profiles[i], &profiles[j])).collect();
    let supported: Vec<Vec<usize>> = (0..profiles.len()).map(friends).collect();
    for i in (0..profiles.len()).filter(|&i| supported[i].len() < 2) {
        let nearest = (0..profiles.len())
            .filter(|&j| supported[j].len() >= 2 && lit(&profiles[j]) == lit(&profiles[i]))
            .min_by(|&a, &b| gap(&profiles[i], &profiles[a]).total_cmp(&gap(&profiles[i], &profiles[b])));
        let Some(nearest) = nearest else { continue };
        let group: Vec<usize> = supported[nearest].iter().copied().chain([nearest]).collect();
        let common: Profile = std::array::from_fn(|k| {
            solve::quantile32(&mut group.iter().map(|&j| profiles[j][k]).collect::<Vec<_>>(), 0.5)
        });
        // A core that looks the same all around is a look of its own, but for the middle, where all around is
        // next to nothing.
        let reach = if uneven[i] { RADII.len() } else { MIDDLE };
        if !uneven[i] && same_middle(&profiles[i], &common) {
            continue;
        }
        replace(&mut looks[i].core.rings, looks[i].unit as f32, &profiles[i], &common, reach);
    }
}

/// Share of a core's pixels far from their own ring above which the core does not look the same all around.
const FAR_SHARE: f64 = 0.12;

/// Which cores hold more pixels far from their rings than marks would make them.
fn uneven(looks: &[&mut Looks]) -> Vec<bool> {
    let off: Vec<Vec<f32>> = looks
        .par_iter()
        .map(|l| {
            let table = l.core.rings.table();
            let core = l.spots.iter().filter(|s| f64::from(s.r) < l.ring.0);
            core.map(|s| s.value - l.core.at(&table, s)).collect()
        })
        .collect();
    let spreads: Vec<f64> = off.iter().map(|o| f64::from(solve::spread32(o))).collect();
    let typical = solve::median(&mut spreads.clone());
    // Where a coder has rounded noise away, what it has kept of it stands far above the little that is left.
    let near = |l: &Looks| (f64::from(l.coding.of_pixel()) / l.surface.level().max(1e-4)).max(2.8 * typical);
    let uneven = |(l, o): (&&mut Looks, &Vec<f32>)| {
        let near = near(l) as f32;
        let far = o.iter().filter(|v| v.abs() > near).count();
        far as f64 > FAR_SHARE * o.len().max(1) as f64
    };
    looks.iter().zip(&off).map(uneven).collect()
}

fn profile(rings: &Rings, unit: f32) -> Profile {
    RADII.map(|r| rings.at(r * unit))
}

fn lit(p: &Profile) -> bool {
    let mut middle: Vec<f32> = p[3..MIDDLE].to_vec();
    solve::quantile32(&mut middle, 0.5) > LIT
}

/// The factor that carries `b` to `a`: the median ratio where `b` has something to say.
fn factor(a: &Profile, b: &Profile) -> f32 {
    let size = b.iter().fold(0.0f32, |m, v| m.max(v.abs()));
    if size < 0.02 {
        return 1.0;
    }
    let mut ratios: Vec<f32> =
        a.iter().zip(b).filter(|(_, y)| y.abs() > 0.4 * size).map(|(x, y)| x / y).collect();
    solve::quantile32(&mut ratios, 0.5).clamp(0.6, 1.6)
}

fn gap(a: &Profile, b: &Profile) -> f32 {
    let f = factor(a, b);
    a.iter().zip(b).map(|(x, y)| (x - f * y).abs()).fold(0.0, f32::max)
}

/// Whether two middles agree, each taken from the level of its own surroundings.
fn same_middle(a: &Profile, b: &Profile) -> bool {
    let f = factor(a, b);
    let size = b.iter().fold(0.0f32, |m, v| m.max(v.abs()));
    let gaps = (0..MIDDLE).map(|k| ((a[k] - a[MIDDLE]) - f * (b[k] - b[MIDDLE])).abs());
    gaps.fold(0.0, f32::max) < TOLERANCE + 0.1 * size
}

fn same(a: &Profile, b: &Profile) -> bool {
    let size = b.iter().fold(0.0f32, |m, v| m.max(v.abs()));
    lit(a) == lit(b) && gap(a, b) < TOLERANCE + 0.1 * size
}

/// Puts the common core in the place of this one's below the radius number `reach`, by the factor that fits it
/// best; a middle keeps to the level of its own surroundings.
fn replace(rings: &mut Rings, unit: f32, own: &Profile, common: &Profile, reach: usize) {
    let f = factor(own, common);
    let (last, shift) = if reach == RADII.len() {
        (f32::MAX, 0.0)
    } else {
        (RADII[reach] * unit, own[reach] - f * common[reach])
    };
    for (r, level) in rings.radius.iter().zip(rings.level.iter_mut()).filter(|(r, _)| **r < last) {
        let share = r / unit;
        let k = RADII.partition_point(|x| *x <= share).clamp(1, RADII.len() - 1);
        let t = ((share - RADII[k - 1]) / (RADII[k] - RADII[k - 1])).clamp(0.0, 1.0);
        *level = f * (common[k - 1] * (1.0 - t) + common[k] * t) + shift;
    }
}

/// Rings are compared at equal distances from the edge.
fn agree_on_claddings(looks: &mut [&mut Looks]) {
    let depth = |l: &Looks, k: usize| (l.radius - k as f64) as f32;
    let count = looks.iter().map(|l| (l.radius - l.ring.0) as usize).min().unwrap_or(0);
    let common: Vec<f32> = (0..count)
        .map(|k| {
            solve::quantile32(&mut looks.iter().map(|l| l.cladding.at(depth(l, k))).collect::<Vec<_>>(), 0.5)
        })
        .collect();
    for look in looks.iter_mut() {
        let radius = look.radius as f32;
        for (r, level) in look.cladding.radius.iter().zip(look.cladding.level.iter_mut()) {
            if let Some(c) = common.get((radius - r).max(0.0) as usize) {
                *level = level.clamp(c - OWN_RING, c + OWN_RING);
            }
        }
    }
}
