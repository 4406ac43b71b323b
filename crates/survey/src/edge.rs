//! The cladding's edge, fitted below the pixel: centre, radius, blur and the adhesive's ring of one fibre.
//! Told by the picture alone; what lies on the glass is left to `glass` and `marks`.
//!
//! Method: the edge-spread function of ISO 12233 taken along the radius of a circle. Pixels of an annulus
//! are binned by angle and radius; every sector's profile is modelled as cladding, adhesive ring and ferrule,
//! each blurred by one normal curve. The sector's own grey levels are linear and are projected out
//! (variable projection: Kaufman, 1975, "A variable projection method for solving separable nonlinear
//! least squares problems"); nine shape parameters are found by damped Gauss-Newton steps with sectors
//! weighted by Tukey's biweight, so that chips and dirt on the edge do not pull it.

mod profile;
mod sector;
mod shape;
mod step;

use crate::solve;
use imaging::Plane;
use profile::{Annulus, annulus};
pub use profile::{SECTORS, angle_of, sector_of};
use sector::{SectorFit, sector_fit};
use shape::{Shape, Stage};
use step::{common_ring, sector_weights, solve_step};

/// What moves in each round; the pixels are binned anew before each.
const ROUNDS: [Stage; 3] = [Stage::Circle, Stage::Full, Stage::Full];

/// Number of the first round in which all parameters move.
const FIRST_FULL: usize = 1;

/// Number of the last round.
const LAST: usize = ROUNDS.len() - 1;

/// The fitted edge of one cladding, in pixels of the patch it was fitted in.
#[derive(Clone, Debug, PartialEq)]
pub struct Edge {
    /// Centre of the cladding.
    pub x: f64,
    /// Centre of the cladding.
    pub y: f64,
    /// Mean radius.
    pub radius: f64,
    /// Half the difference of the longest and shortest radius.
    pub ellipticity: f64,
    /// How much longer the radius along x is than the mean; the radius along y is so much shorter.
    pub widening: f64,
    /// Standard deviation of the blur across the edge.
    pub blur: f64,
    /// Blur in the direction where it is widest over blur where it is narrowest.
    pub smear: f64,
    /// Standard uncertainty of the centre, per axis.
    pub centre_u: f64,
    /// Standard uncertainty of the radius.
    pub radius_u: f64,
    /// Share of the sectors whose edge agrees with the circle.
    pub seen: f64,
    /// Whether each sector's edge agrees with the circle; sector k is centred at angle
    /// (k + 0.5) * 2 pi / SECTORS from x towards y.
    pub agrees: Vec<bool>,
    /// How far each sector's own edge lies off the fitted one, pixels outwards.
    pub offsets: Vec<f32>,
    /// Grey level of the glass just inside the edge, by sector; from 0 to 1.
    pub inside: Vec<f32>,
    /// Grey level of the adhesive's ring, by sector; from 0 to 1.
    pub ring: Vec<f32>,
    /// Grey level of the ferrule just outside the ring, by sector; from 0 to 1.
    pub outside: Vec<f32>,
    /// Width of the ring: mean, along cos a, along sin a.
    pub ring_width: [f64; 3],
}

impl Edge {
    /// Width of the adhesive's ring in the direction of `angle` (radians, from x towards y).
    pub fn ring_width_at(&self, angle: f64) -> f64 {
        (self.ring_width[0] + self.ring_width[1] * angle.cos() + self.ring_width[2] * angle.sin()).max(0.0)
    }
}

/// Why no edge could be fitted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoEdge {
    /// Too few sectors hold enough pixels of the picture.
    TooLittleInView,
    /// The steps did not settle on a circle near the start.
    NotSettled,
}

/// Fits the edge near the circle (x, y, radius), all in pixels of `patch`; the start may be off by a few
/// percent of the radius. Pixels of value 1 (the top of the range) are used like any other.
///
/// # Errors
/// [`NoEdge`] if less than a quarter of the sectors can be used or no circle near the start fits.
pub fn fit(patch: &Plane<f32>, x: f64, y: f64, radius: f64) -> Result<Edge, NoEdge> {
    let mut shape = Shape {
        x,
        y,
        radius,
        oval: [0.0; 2],
        blur: (0.012 * radius).max(0.8),
        ring: [0.016 * radius, 0.0, 0.0],
    };
    let mut annulus = annulus(patch, &shape, 0.075 * radius + 2.0);
    let mut ring_level = None;
    for (round, stage) in ROUNDS.into_iter().enumerate() {
        if round == FIRST_FULL {
            // With the ring still held the blur stands in for it; from below it finds its own value.
            shape.blur *= 0.65;
        }
        let profiles = &annulus.profiles;
        if profiles.iter().filter(|p| p.bins.len() >= 8).count() < SECTORS / 4 {
            return Err(NoEdge::TooLittleInView);
        }
        for _ in 0..if stage == Stage::Full { 6 } else { 4 } {
            let fits = sector_fits(&annulus, &shape, stage, ring_level);
            if stage == Stage::Full {
                ring_level = common_ring(&fits);
            }
            let weights = sector_weights(&fits, profiles);
            let step = solve_step(&fits, &weights, stage, &shape);
            shape = shape.moved(&step);
            if !((shape.x - x).hypot(shape.y - y) < 0.15 * radius
                && (shape.radius / radius - 1.0).abs() < 0.15)
            {
                return Err(NoEdge::NotSettled);
            }
            // A first look need only come near.
            let near = if round < LAST { 5e-3 } else { 1e-3 };
            if step[..3].iter().all(|s| s.abs() < near) {
                break;
            }
        }
        if round < LAST {
            let loose = if round < FIRST_FULL { 0.004 * radius } else { 0.0 };
            let half_width = (5.0 * shape.blur + 1.0 + loose).min(0.12 * radius);
            annulus = self::annulus(patch, &shape, half_width);
        }
    }
    Ok(finish(&annulus, &shape, ring_level))
}

fn sector_fits(annulus: &Annulus, shape: &Shape, stage: Stage, ring_level: Option<f64>) -> Vec<SectorFit> {
    annulus.profiles.iter().map(|p| sector_fit(p, annulus, shape, stage, ring_level)).collect()
}

fn finish(annulus: &Annulus, shape: &Shape, ring_level: Option<f64>) -> Edge {
    let profiles = &annulus.profiles;
    let fits = sector_fits(annulus, shape, Stage::Full, ring_level);
    let weights = sector_weights(&fits, profiles);
    let agrees: Vec<bool> = weights.iter().map(|&w| w > 0.1).collect();
    let usable = agrees.iter().filter(|&&a| a).count();
    // The scatter of the sectors' own edges, which holds the ferrule's grain as well as the noise, is what
    // limits centre and radius.
    let mut offsets: Vec<f64> =
        fits.iter().zip(&agrees).filter(|(_, a)| **a).map(|(f, _)| f.own_offset().abs()).collect();
    let scatter = 1.4826 * solve::median(&mut offsets);
    let n = (usable as f64).max(1.0);
    Edge {
        x: shape.x,
        y: shape.y,
        radius: shape.radius,
        ellipticity: shape.oval[0].hypot(shape.oval[1]),
        widening: shape.oval[0],
        blur: shape.blur,
        offsets: fits.iter().map(|f| f.own_offset() as f32).collect(),
        smear: smear(&fits, &weights, shape),
        centre_u: scatter * (2.0 / n).sqrt(),
        radius_u: scatter / n.sqrt(),
        seen: usable as f64 / SECTORS as f64,
        inside: fits.iter().map(|f| f.inside as f32).collect(),
        ring: fits.iter().map(|f| f.ring as f32).collect(),
        outside: fits.iter().map(|f| f.outside as f32).collect(),
        ring_width: shape.ring,
        agrees,
    }
}

/// Ratio of the widest to the narrowest blur over four directions, each from its own sectors.
fn smear(fits: &[SectorFit], weights: &[f64], shape: &Shape) -> f64 {
    let (mut top, mut bottom) = ([0.0; 3], [[0.0; 3]; 3]);
    for (s, (fit, &w)) in fits.iter().zip(weights).enumerate() {
        let Some((pull, firm)) = fit.own_blur() else { continue };
        let a = 2.0 * angle_of(s);
        let basis = [1.0, a.cos(), a.sin()];
        for u in 0..3 {
            top[u] += w * pull * basis[u];
            for v in 0..3 {
                bottom[u][v] += w * firm * basis[u] * basis[v];
            }
        }
    }
    let mut flat: Vec<f64> = bottom.iter().flatten().copied().collect();
    let Some(d) = solve::cholesky(&mut flat, &top) else { return 1.0 };
    let swing = d[1].hypot(d[2]).min(0.9 * shape.blur);
    (shape.blur + swing) / (shape.blur - swing)
}
