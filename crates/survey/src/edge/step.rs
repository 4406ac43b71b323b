//! All sectors together: which to trust, and the next step of the shape.

use super::profile::Profile;
use super::sector::SectorFit;
use super::shape::{CIRCLE, SHAPES, Shape, Stage};
use crate::solve;

/// Level of the whole ring: the sectors' own, weighed by how much ring they show.
pub(super) fn common_ring(fits: &[SectorFit]) -> Option<f64> {
    let (top, bottom) = fits.iter().fold((0.0, 0.0), |(t, b), f| (t + f.ring_seen * f.ring, b + f.ring_seen));
    (bottom > 0.0).then(|| top / bottom)
}

/// Tukey weights of the sectors: by the misfit of their profile and by how far their own edge lies off.
pub(super) fn sector_weights(fits: &[SectorFit], profiles: &[Profile]) -> Vec<f64> {
    let usable: Vec<usize> =
        (0..fits.len()).filter(|&s| fits[s].count > 0.0 && profiles[s].bins.len() >= 8).collect();
    let misfit: Vec<f64> = usable.iter().map(|&s| (fits[s].chi2 / fits[s].count).sqrt()).collect();
    let off: Vec<f64> = usable.iter().map(|&s| fits[s].own_offset()).collect();
    let typical_misfit = solve::median(&mut misfit.clone()).max(1e-6);
    let typical_off =
        (1.4826 * solve::median(&mut off.iter().map(|o| o.abs()).collect::<Vec<_>>())).max(0.01);
    let contrast: Vec<f64> = usable.iter().map(|&s| fits[s].inside - fits[s].outside).collect();
    let typical_contrast = solve::median(&mut contrast.clone());
    let mut weights = vec![0.0; fits.len()];
    for (i, &s) in usable.iter().enumerate() {
        let m = (misfit[i] / typical_misfit - 1.0).max(0.0) / 3.0;
        let o = off[i] / typical_off / 5.0;
        let same_side = contrast[i] * typical_contrast > 0.0;
        weights[s] = if same_side { tukey(m) * tukey(o) } else { 0.0 };
    }
    weights
}

pub(super) fn tukey(t: f64) -> f64 {
    if t.abs() < 1.0 { (1.0 - t * t).powi(2) } else { 0.0 }
}

/// The normal equations of the first `free` shape parameters over all sectors, and the variance of a pixel.
fn sums(fits: &[SectorFit], weights: &[f64], free: usize) -> ([[f64; SHAPES]; SHAPES], [f64; SHAPES], f64) {
    let (mut normal, mut rhs, mut chi2, mut count) = ([[0.0; SHAPES]; SHAPES], [0.0; SHAPES], 0.0, 0.0f64);
    for (fit, &w) in fits.iter().zip(weights).filter(|(_, w)| **w > 0.0) {
        chi2 += w * fit.chi2;
        count += w * fit.count;
        fit.add_to(&mut normal, &mut rhs, w, free);
    }
    for u in 0..free {
        for v in 0..u {
            normal[v][u] = normal[u][v];
        }
    }
    (normal, rhs, (chi2 / count.max(1.0)).max(1e-12))
}

pub(super) fn solve_step(fits: &[SectorFit], weights: &[f64], stage: Stage, shape: &Shape) -> [f64; SHAPES] {
    let free = if stage == Stage::Full { SHAPES } else { CIRCLE };
    let (mut normal, mut rhs, variance) = sums(fits, weights, free);
    // Weak beliefs keep apart what a thin or absent ring cannot tell: the oval is about 0.3 % of the radius,
    // the ring about 1 um wide.
    let ring = 0.016 * shape.radius;
    let beliefs: [(usize, f64, f64); 5] = [
        (4, shape.oval[0], 0.003 * shape.radius),
        (5, shape.oval[1], 0.003 * shape.radius),
        (6, shape.ring[0] - ring, ring),
        (7, shape.ring[1], ring),
        (8, shape.ring[2], ring),
    ];
    for (u, off, sd) in beliefs {
        normal[u][u] += variance / (sd * sd);
        rhs[u] -= variance * off / (sd * sd);
    }
    let limit = [1.0, 1.0, 1.0, 0.4, 0.5, 0.5, 0.7, 0.7, 0.7];
    let mut a = Vec::with_capacity(free * free);
    for u in 0..free {
        a.extend_from_slice(&normal[u][..free]);
        a[u * free + u] *= 1.0 + 1e-6;
    }
    let mut step = [0.0; SHAPES];
    if let Some(x) = solve::cholesky(&mut a, &rhs[..free]) {
        let reach = (0.02 * shape.radius).max(1.0);
        for u in 0..free {
            step[u] = x[u].clamp(-limit[u] * reach, limit[u] * reach);
        }
    }
    step
}
