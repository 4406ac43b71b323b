//! The middle of the core, where a ring holds too few pixels for its median to withstand a mark. A core's
//! look is the fibre type's, not the fibre's: the fibres of one face are compared, and a middle that none of
//! the others shares is taken from those that agree with one another, up to a factor for the light in it.

use super::{Looks, Rings};
use crate::solve;

/// The middle reaches so far, in units of the cladding's radius (8 um).
const MIDDLE: f32 = 8.0 / 62.5;

/// Radii at which middles are compared.
const STEPS: usize = 12;

/// Largest difference of two middles that agree, relative to the cladding's level.
const TOLERANCE: f32 = 0.035;

/// A middle: levels less that of its outermost ring.
type Profile = [f32; STEPS];

/// Replaces middles that stand alone. `radii` are the claddings' radii in pixels, in the order of `looks`;
/// fewer than four fibres are left as they are.
pub fn agree(looks: &mut [&mut Looks], radii: &[f64]) {
    if looks.len() < 4 {
        return;
    }
    let profiles: Vec<Profile> =
        looks.iter().zip(radii).map(|(l, r)| profile(&l.core.rings, *r as f32)).collect();
    let friends = |i: usize| {
        (0..profiles.len()).filter(|&j| j != i && same(&profiles[i], &profiles[j])).collect::<Vec<_>>()
    };
    let supported: Vec<Vec<usize>> = (0..profiles.len()).map(friends).collect();
    for i in 0..profiles.len() {
        if supported[i].len() >= 2 {
            continue;
        }
        let nearest = (0..profiles.len())
            .filter(|&j| supported[j].len() >= 2)
            .min_by(|&a, &b| gap(&profiles[i], &profiles[a]).total_cmp(&gap(&profiles[i], &profiles[b])));
        let Some(nearest) = nearest else { continue };
        let group: Vec<usize> = supported[nearest].iter().copied().chain([nearest]).collect();
        let common: Profile = std::array::from_fn(|k| {
            let mut at: Vec<f32> = group.iter().map(|&j| profiles[j][k]).collect();
            solve::quantile32(&mut at, 0.5)
        });
        replace(&mut looks[i].core.rings, radii[i] as f32, &common);
    }
}

fn radius_of(step: usize, radius: f32) -> f32 {
    MIDDLE * radius * step as f32 / (STEPS - 1) as f32
}

fn profile(rings: &Rings, radius: f32) -> Profile {
    let outer = rings.at(MIDDLE * radius);
    std::array::from_fn(|k| rings.at(radius_of(k, radius)) - outer)
}

/// The factor that carries `b` to `a` best over its outer two thirds; 1 where there is nothing to compare.
fn factor(a: &Profile, b: &Profile) -> f32 {
    let from = STEPS / 3;
    let (mut ab, mut bb) = (0.0, 0.0);
    for k in from..STEPS {
        ab += a[k] * b[k];
        bb += b[k] * b[k];
    }
    if bb < (STEPS - from) as f32 * 0.01 * 0.01 { 1.0 } else { (ab / bb).clamp(0.6, 1.6) }
}

fn gap(a: &Profile, b: &Profile) -> f32 {
    let f = factor(a, b);
    a.iter().zip(b).map(|(x, y)| (x - f * y).abs()).fold(0.0, f32::max)
}

fn same(a: &Profile, b: &Profile) -> bool {
    let size = b.iter().fold(0.0f32, |m, v| m.max(v.abs()));
    gap(a, b) < TOLERANCE + 0.1 * size
}

fn replace(rings: &mut Rings, radius: f32, common: &Profile) {
    let outer = rings.at(MIDDLE * radius);
    let f = factor(&profile(rings, radius), common);
    for (r, level) in rings.radius.iter().zip(rings.level.iter_mut()).filter(|(r, _)| **r < MIDDLE * radius) {
        let t = r / (MIDDLE * radius) * (STEPS - 1) as f32;
        let k = (t as usize).min(STEPS - 2);
        let t = t - k as f32;
        *level = outer + f * (common[k] * (1.0 - t) + common[k + 1] * t);
    }
}
