//! What the fibres of one face agree on. A core's look is the fibre type's and a cladding's shading the
//! polish's, so fibres are compared with one another: a core that none of the others shares is taken from
//! those that agree, up to a factor for the light in it, and a cladding's rings stay near the common ones. A
//! mark or film that fills whole rings is then left in the residual instead of in the look.

use super::middle::Middle;
use super::{Looks, Rings, Spot};
use crate::solve;
use rayon::prelude::*;
use std::cmp::Reverse;

/// Radii at which cores are compared, shares of the cladding's radius: closer in the middle, where a ring
/// holds too few pixels for its median to withstand a mark.
const RADII: [f32; 20] = [
    0.0, 0.012, 0.024, 0.036, 0.048, 0.06, 0.072, 0.084, 0.1, 0.12, 0.14, 0.17, 0.21, 0.25, 0.3, 0.35, 0.4,
    0.45, 0.5, 0.56,
];

/// Radii below this one are the middle, and so many beyond lie in every wide core.
const MIDDLE: usize = 9;
const ABOUT: usize = 6;

/// Largest difference of two cores that agree, relative to the cladding's level.
const TOLERANCE: f32 = 0.035;

/// Middles that differ by less, relative to the cladding's level and to the core's, agree where nothing disturbs them: their
/// rings leave squares of at most so many of the usual a pixel.
const CLOSE: (f32, f32) = (0.015, 0.04);
const UNDISTURBED: f32 = 1.2;

/// Few look like a core if so many times as many look like another.
const FEW: usize = 2;

/// How far a cladding's ring may lie from the common one, and the common one from the light where it is farther from the
/// edge, share of the cladding's radius, than the polish rounds it.
const OWN_RING: f32 = 0.006;
const ROUNDED: f64 = 0.08;

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
    let spreads = spreads(looks);
    // A core whose light is cut off has another look.
    let tells = |j: usize| !looks[j].clipped;
    let friends = |i: usize| {
        (0..profiles.len()).filter(|&j| j != i && tells(j) && same(&profiles[i], &profiles[j])).collect()
    };
    let supported: Vec<Vec<usize>> = (0..profiles.len()).map(friends).collect();
    let of_several: Vec<usize> =
        (0..profiles.len()).filter(|&j| tells(j) && supported[j].len() >= 2).collect();
    let common = |j: usize| -> Profile {
        let group: Vec<(usize, f32)> =
            supported[j].iter().map(|&k| (k, factor(&profiles[k], &profiles[j]))).chain([(j, 1.0)]).collect();
        let level = |k: usize| group.iter().map(|&(j, f)| profiles[j][k] / f).collect::<Vec<f32>>();
        std::array::from_fn(|k| solve::quantile32(&mut level(k), 0.5))
    };
    let largest = |all: &[usize]| all.iter().copied().max_by_key(|&j| (supported[j].len(), Reverse(j)));
    looks.par_iter_mut().enumerate().for_each(|(i, look)| {
        let own = &profiles[i];
        let alike: Vec<usize> =
            of_several.iter().copied().filter(|&j| lit(&profiles[j]) == lit(own)).collect();
        if supported[i].len() < 2 && spreads.uneven[i] {
            // What crosses the middle of a wide core hides it there, but hardly about it.
            let far = |j: usize| match is_wide(&profiles[j]) {
                true => gap_about_middles(own, &profiles[j]),
                false => gap(own, &profiles[j]),
            };
            if let Some(&by) = alike.iter().min_by(|&&a, &&b| far(a).total_cmp(&far(b))) {
                let common = common(by);
                let only_middle =
                    is_wide(&common) && gap_about_middles(own, &common) < TOLERANCE + 0.1 * size(&common);
                match only_middle {
                    true => settle_middle(look, own, &common, spreads.typical, true),
                    false => replace(&mut look.core.rings, look.unit as f32, own, &common),
                }
            }
            return;
        }
        // A core that looks the same all around is a look of its own, but for the middle, where all around is next to
        // nothing. One that a mark darkens may look like none of its kind.
        let few = |by: usize| FEW * (supported[i].len() + 1) < supported[by].len() + 1;
        let by = largest(&alike).map(|by| (by, few(by))).or_else(|| Some((largest(&of_several)?, false)));
        if let Some((by, few)) = by {
            settle_middle(look, own, &common(by), spreads.typical, few);
        }
    });
}

/// Puts the common core's middle in the place of one that leaves more of the picture unexplained, or that differs from it
/// where `few` look like it: a mark in the middle of a core explains itself. A lit core that is as even all around and
/// differs about its middle too is one of its own; a dark one is not, for a round mark over its middle looks like that.
fn settle_middle(look: &mut Looks, own: &Profile, common: &Profile, scatter: f32, few: bool) {
    let (unit, size) = (look.unit as f32, size(common));
    let gap = gap_of_middles(own, common);
    let reach = RADII[MIDDLE] * unit;
    let spots: Vec<Spot> = look.spots.iter().filter(|s| s.r < reach).copied().collect();
    let middle = Middle { spots: &spots, unit, base: own[MIDDLE], scatter: scatter.max(1e-4) };
    let table = look.core.rings.table();
    let cost = middle.cost(|s| look.core.at(&table, s));
    let explained = cost < UNDISTURBED * spots.len() as f32;
    if explained && gap < CLOSE.0 + CLOSE.1 * size {
        return;
    }
    let shape = |r: f32| if r < reach { level(common, r / unit) - common[MIDDLE] } else { 0.0 };
    let wide = is_wide(common);
    let fitted = match wide {
        true => middle.as_known(&shape, known_factor(own, common), look.core.centre()),
        false => middle.fit(&shape),
    };
    let of_its_own = lit(own) && explained && gap_about_middles(own, common) > TOLERANCE + 0.1 * size;
    let differs = few && !of_its_own && gap > TOLERANCE + 0.1 * size;
    if differs || fitted.cost < cost {
        if !wide {
            look.core.move_to(fitted.at, &look.spots, look.ring.0);
            look.count_core_from_beside();
        }
        let rings = &mut look.core.rings;
        for (r, level) in rings.radius.iter().zip(rings.level.iter_mut()).filter(|(r, _)| **r < reach) {
            *level = own[MIDDLE] + fitted.factor * shape(*r);
        }
    }
}

/// Share of a core's pixels far from their own ring above which the core does not look the same all around.
const FAR_SHARE: f64 = 0.12;

/// How far the pixels of cores lie off their rings.
struct Spreads {
    /// Their usual scatter on the face.
    typical: f32,
    /// Which cores hold more pixels far from their rings than marks would make them.
    uneven: Vec<bool>,
}

fn spreads(looks: &[&mut Looks]) -> Spreads {
    let off: Vec<(Vec<f32>, f32)> = looks
        .par_iter()
        .map(|l| {
            let table = l.core.rings.table();
            let core = l.spots.iter().filter(|s| f64::from(s.r) < l.ring.0);
            let off: Vec<f32> = core.map(|s| s.value - l.core.at(&table, s)).collect();
            let spread = solve::spread32(&off);
            (off, spread)
        })
        .collect();
    let mut all: Vec<f64> = off.iter().map(|(_, spread)| f64::from(*spread)).collect();
    let typical = solve::median(&mut all);
    // Where a coder has rounded noise away, what it has kept of it stands far above the little that is left.
    let near = |l: &Looks| (f64::from(l.coding.of_pixel()) / l.surface.level().max(1e-4)).max(2.8 * typical);
    let uneven = |(l, (o, _)): (&&mut Looks, &(Vec<f32>, f32))| {
        let near = near(l) as f32;
        let far = o.iter().filter(|v| v.abs() > near).count();
        far as f64 > FAR_SHARE * o.len().max(1) as f64
    };
    Spreads { typical: typical as f32, uneven: looks.iter().zip(&off).map(uneven).collect() }
}

fn profile(rings: &Rings, unit: f32) -> Profile {
    RADII.map(|r| rings.at(r * unit))
}

/// Whether a core's middle or what lies about it is bright.
fn lit(p: &Profile) -> bool {
    let bright = |of: &[f32]| solve::quantile32(&mut of.to_vec(), 0.5) > LIT;
    bright(&p[3..MIDDLE]) || bright(&p[MIDDLE..MIDDLE + ABOUT])
}

/// Whether a core is wider than the middle.
fn is_wide(p: &Profile) -> bool {
    p[MIDDLE..].iter().any(|v| v.abs() > 0.2 * size(p))
}

/// The factor that carries `b` to `a`: the median ratio where `b` has something to say.
fn factor(a: &[f32], b: &[f32]) -> f32 {
    let size = size(b);
    if size < 0.02 {
        return 1.0;
    }
    let mut ratios: Vec<f32> =
        a.iter().zip(b).filter(|(_, y)| y.abs() > 0.4 * size).map(|(x, y)| x / y).collect();
    solve::quantile32(&mut ratios, 0.5).clamp(0.6, 1.6)
}

/// The same by what lies about the middle, where that tells it.
fn known_factor(own: &Profile, common: &Profile) -> f32 {
    if is_wide(common) { factor(&own[MIDDLE..], &common[MIDDLE..]) } else { factor(own, common) }
}

fn gap(a: &[f32], b: &[f32]) -> f32 {
    let f = factor(a, b);
    a.iter().zip(b).map(|(x, y)| (x - f * y).abs()).fold(0.0, f32::max)
}

/// How far two middles differ, each taken from the level of its own surroundings.
fn gap_of_middles(a: &Profile, b: &Profile) -> f32 {
    let f = factor(a, b);
    let gaps = (0..MIDDLE).map(|k| ((a[k] - a[MIDDLE]) - f * (b[k] - b[MIDDLE])).abs());
    gaps.fold(0.0, f32::max)
}

/// How far two cores differ about their middles.
fn gap_about_middles(a: &Profile, b: &Profile) -> f32 {
    gap(&a[MIDDLE..], &b[MIDDLE..])
}

/// The largest of a profile's levels, of either sign.
fn size(p: &[f32]) -> f32 {
    p.iter().fold(0.0f32, |m, v| m.max(v.abs()))
}

fn same(a: &Profile, b: &Profile) -> bool {
    lit(a) == lit(b) && gap(a, b) < TOLERANCE + 0.1 * size(b)
}

/// Puts the common core in the place of this one's, by the factor that fits it best.
fn replace(rings: &mut Rings, unit: f32, own: &Profile, common: &Profile) {
    let f = known_factor(own, common);
    for (r, of_ring) in rings.radius.iter().zip(rings.level.iter_mut()) {
        *of_ring = f * level(common, r / unit);
    }
}

/// A profile's level at a share of the cladding's radius.
fn level(profile: &Profile, share: f32) -> f32 {
    let k = RADII.partition_point(|x| *x <= share).clamp(1, RADII.len() - 1);
    let t = ((share - RADII[k - 1]) / (RADII[k] - RADII[k - 1])).clamp(0.0, 1.0);
    profile[k - 1] * (1.0 - t) + profile[k] * t
}

/// Rings are compared at equal distances from the edge.
fn agree_on_claddings(looks: &mut [&mut Looks]) {
    let depth = |l: &Looks, k: usize| (l.radius - k as f64) as f32;
    let count = looks.iter().map(|l| (l.radius - l.ring.0) as usize).min().unwrap_or(0);
    let flat = |k: usize| looks.first().is_some_and(|l| k as f64 > ROUNDED * l.unit);
    let common: Vec<f32> = (0..count)
        .map(|k| {
            let mut levels: Vec<f32> = looks.iter().map(|l| l.cladding.at(depth(l, k))).collect();
            let level = solve::quantile32(&mut levels, 0.5);
            // What darkens it on most fibres are films.
            if flat(k) { level.clamp(-OWN_RING, OWN_RING) } else { level }
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
