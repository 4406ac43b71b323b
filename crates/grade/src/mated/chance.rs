//! How likely two marks that face each other are one dirt pressed onto both faces, against two that happen to
//! lie so.

use crate::compare::{Glass, normal, round_normal};
use std::f64::consts::PI;
use terms::{Feature, Kind};

/// Where marks of a fibre lie: a disc of this radius, um.
const GLASS_RADIUS: f64 = 64.0;
/// How often a mark of a face that was mated left its like on the other, before anything else is known; common
/// practice, no source.
const LEAVES_ITS_LIKE: f64 = 0.3;
/// A print is not its stamp: standard deviation of where its middle lies, um, and as a share of its size;
/// common practice, no source.
const PRINTS_ELSEWHERE: (f64, f64) = (0.4, 0.05);
/// Share of prints that lie far off, smeared or in part, and how far, um and as a share of their size.
const FAR_OFF: (f64, f64, f64) = (0.2, 1.2, 0.12);
/// Scatter of the logarithm of sizes, of a print against its stamp and of marks at large.
const SIZES: (f64, f64) = (0.4, 1.4);
/// The same of contrasts.
const CONTRASTS: (f64, f64) = (0.5, 1.0);

/// Marks to a square micrometre on a fibre: its own number and the face's mean, half and half, never none.
pub fn density(on: &Glass, face_mean: f64) -> f64 {
    let own = on.features.iter().filter(|f| leaves(f.kind) > 0.0).count() as f64;
    (0.5 * (own + face_mean)).max(0.5) / (PI * GLASS_RADIUS * GLASS_RADIUS)
}

/// Standard deviation of where a mark's like lies, um, the faces' own shift left out.
pub fn sd(a: &Feature, b: &Feature) -> f64 {
    let size = a.size.0.max(b.size.0);
    let measured = 0.3 * a.u.0.hypot(b.u.0);
    measured.hypot(PRINTS_ELSEWHERE.0).hypot(PRINTS_ELSEWHERE.1 * size)
}

/// Odds for one dirt. `apart` is how far the second mark lies from where the first one is pressed to, `shift_u`
/// what is not known of the faces' shift, and `density` the mean density of marks on the two fibres.
pub fn odds(a: &Feature, b: &Feature, apart: f64, shift_u: f64, density: f64) -> f64 {
    let common = LEAVES_ITS_LIKE * leaves(a.kind).min(leaves(b.kind));
    let sd = sd(a, b).hypot(shift_u);
    let wide = sd.hypot(FAR_OFF.1 + FAR_OFF.2 * a.size.0.max(b.size.0));
    let place = (1.0 - FAR_OFF.0) * round_normal(apart, sd) + FAR_OFF.0 * round_normal(apart, wide);
    common * place / density
        * alike(ratio(a.size.0, b.size.0, 0.2), SIZES)
        * contrasts(a.contrast, b.contrast)
}

/// How readily dirt of that look goes over: a scratch does not; a pit may be small dark dirt, and dirt on the rim
/// may look like a chip; common practice, no source.
pub const fn leaves(kind: Kind) -> f64 {
    match kind {
        Kind::Particle | Kind::Film => 1.0,
        Kind::Pit => 0.7,
        Kind::Chip => 0.3,
        Kind::Scratch => 0.0,
    }
}

fn ratio(a: f64, b: f64, least: f64) -> f64 {
    (a.abs().max(least) / b.abs().max(least)).ln()
}

fn alike(r: f64, (same, any): (f64, f64)) -> f64 {
    let is = 0.85 * normal(r, same) + 0.15 * normal(r, any);
    is / normal(r, any)
}

/// Dirt that is dark on one face may be bright on another only where it is faint.
fn contrasts(a: f64, b: f64) -> f64 {
    if a.signum() != b.signum() && a.abs().min(b.abs()) > 0.02 {
        0.05
    } else {
        alike(ratio(a, b, 0.02), CONTRASTS)
    }
}
