//! One sector under a shape: its grey levels by least squares, its misfit, and what it says of the shape with
//! the levels projected out.

use super::profile::{Annulus, Bin, Profile};
use super::shape::{SHAPES, Shape, Stage};
use crate::normal::both;
use crate::solve;

/// How firmly ring and ferrule are tied, see `Levels::solve`.
const TIE: f64 = 0.05;

/// How firmly one sector's ring is tied to the whole ring's level.
const TIE_TO_RING: f64 = 0.12;

/// What one sector can tell of the shape: where its edge lies, how wide the blur and how wide the ring is. Every
/// shape parameter acts on a sector through one of them, by a factor of the sector's angle.
const OWN: usize = 3;
const EDGE: usize = 0;
const BLUR: usize = 1;
const WIDTH: usize = 2;

/// Which of them each shape parameter moves.
const MOVES: [usize; SHAPES] = [EDGE, EDGE, EDGE, BLUR, EDGE, EDGE, WIDTH, WIDTH, WIDTH];

/// Levels, misfit and projected derivatives of one sector.
pub(super) struct SectorFit {
    pub(super) inside: f64,
    pub(super) ring: f64,
    pub(super) outside: f64,
    /// Pixels that show the ring, squared shares.
    pub(super) ring_seen: f64,
    /// Sum of squared residuals and number of pixels.
    pub(super) chi2: f64,
    pub(super) count: f64,
    factors: [f64; SHAPES],
    normal: [[f64; OWN]; OWN],
    rhs: [f64; OWN],
}

impl SectorFit {
    fn empty(cos: f64, sin: f64) -> SectorFit {
        let (cos2, sin2) = (cos * cos - sin * sin, 2.0 * cos * sin);
        SectorFit {
            inside: 0.0,
            ring: 0.0,
            outside: 0.0,
            ring_seen: 0.0,
            chi2: 0.0,
            count: 0.0,
            factors: [cos, sin, 1.0, 1.0, cos2, sin2, 1.0, cos, sin],
            normal: [[0.0; OWN]; OWN],
            rhs: [0.0; OWN],
        }
    }

    /// How far this sector's own edge lies from the model, pixels outwards.
    pub(super) fn own_offset(&self) -> f64 {
        if self.normal[EDGE][EDGE] > 0.0 { self.rhs[EDGE] / self.normal[EDGE][EDGE] } else { 0.0 }
    }

    /// What it says of the blur: the slope of its misfit and how firmly; None if nothing.
    pub(super) fn own_blur(&self) -> Option<(f64, f64)> {
        (self.normal[BLUR][BLUR] > 0.0).then_some((self.rhs[BLUR], self.normal[BLUR][BLUR]))
    }

    /// Adds its normal equations of the first `free` shape parameters, the lower half, times `weight`.
    pub(super) fn add_to(
        &self,
        normal: &mut [[f64; SHAPES]; SHAPES],
        rhs: &mut [f64; SHAPES],
        weight: f64,
        free: usize,
    ) {
        for u in 0..free {
            let (own, factor) = (MOVES[u], weight * self.factors[u]);
            rhs[u] += factor * self.rhs[own];
            for v in 0..=u {
                normal[u][v] += factor * self.factors[v] * self.normal[own][MOVES[v]];
            }
        }
    }
}

pub(super) fn sector_fit(
    profile: &Profile,
    annulus: &Annulus,
    shape: &Shape,
    stage: Stage,
    ring_level: Option<f64>,
) -> SectorFit {
    let (cos, sin) = (profile.cos, profile.sin);
    let mut fit = SectorFit::empty(cos, sin);
    if profile.bins.len() < 8 {
        return fit;
    }
    // The bins were taken about the annulus' centre; a centre moved since then is a change of radius.
    let moved = (shape.x - annulus.x) * cos + (shape.y - annulus.y) * sin;
    let edge = shape.radius + moved + shape.oval[0] * fit.factors[4] + shape.oval[1] * fit.factors[5];
    let free_width = shape.ring[0] + shape.ring[1] * cos + shape.ring[2] * sin;
    let width = free_width.max(0.0);
    let widens = f64::from(u8::from(free_width > 0.0 && stage == Stage::Full));
    let rows: Vec<Row> = profile.bins.iter().map(|bin| Row::new(bin, edge, width, shape.blur)).collect();
    let Some(levels) = Levels::solve(&rows, ring_level) else { return fit };
    let [glass, ring, ferrule] = levels.values;
    (fit.inside, fit.ring, fit.outside) = (glass, ring, ferrule);
    fit.ring_seen = rows.iter().map(|r| r.count * r.base[1].powi(4)).sum();
    let mut cross = [[0.0; OWN]; 3];
    for row in &rows {
        let (inner, outer) = ((glass - ring) * row.slope, (ring - ferrule) * row.slope2);
        let j = [inner + outer, -(inner * row.z + outer * row.z2), outer * widens];
        let residual = row.level - (glass * row.base[0] + ring * row.base[1] + ferrule * row.base[2]);
        fit.chi2 += row.count * residual * residual;
        fit.count += row.count;
        for u in 0..OWN {
            let cj = row.count * j[u];
            fit.rhs[u] += cj * residual;
            for (c, b) in cross.iter_mut().zip(row.base) {
                c[u] += b * cj;
            }
            for v in 0..=u {
                fit.normal[u][v] += cj * j[v];
            }
        }
    }
    // Project the three levels out of the normal equations.
    for u in 0..OWN {
        let column = levels.apply([cross[0][u], cross[1][u], cross[2][u]]);
        for v in 0..=u {
            fit.normal[u][v] -= (0..3).map(|k| column[k] * cross[k][v]).sum::<f64>();
            fit.normal[v][u] = fit.normal[u][v];
        }
    }
    fit
}

/// One bin under the present shape: the shares of glass, ring and ferrule in it, and their slopes.
struct Row {
    count: f64,
    level: f64,
    base: [f64; 3],
    z: f64,
    z2: f64,
    slope: f64,
    slope2: f64,
}

impl Row {
    fn new(bin: &Bin, edge: f64, width: f64, blur: f64) -> Row {
        let (z, z2) = ((edge - bin.radius) / blur, (edge + width - bin.radius) / blur);
        let ((glass, slope), (before, slope2)) = (both(z), both(z2));
        let ferrule = 1.0 - before;
        Row {
            count: bin.count,
            level: bin.level,
            base: [glass, 1.0 - glass - ferrule, ferrule],
            z,
            z2,
            slope: slope / blur,
            slope2: slope2 / blur,
        }
    }
}

/// The three grey levels of a sector by least squares, and the inverse of their normal equations.
struct Levels {
    values: [f64; 3],
    inverse: [[f64; 3]; 3],
}

impl Levels {
    fn solve(rows: &[Row], ring_level: Option<f64>) -> Option<Levels> {
        let (mut m, mut y, mut count) = ([[0.0; 3]; 3], [0.0; 3], 0.0);
        for row in rows {
            count += row.count;
            for u in 0..3 {
                y[u] += row.count * row.base[u] * row.level;
                for v in 0..3 {
                    m[u][v] += row.count * row.base[u] * row.base[v];
                }
            }
        }
        // A ring thinner than the blur has no level of its own: it is tied to the level of the whole ring, where
        // that is known, else to the ferrule's. A ferrule beyond a ring too wide for the annulus is tied to it.
        let tie = 0.02 * count;
        match ring_level {
            Some(level) => {
                m[1][1] += tie * TIE_TO_RING;
                y[1] += tie * TIE_TO_RING * level;
                for (u, v, sign) in [(1, 1, 1.0), (2, 2, 1.0), (1, 2, -1.0), (2, 1, -1.0)] {
                    m[u][v] += sign * tie * 0.1 * TIE;
                }
            }
            None => {
                for (u, v, sign) in [(1, 1, 1.0), (2, 2, 1.0), (1, 2, -1.0), (2, 1, -1.0)] {
                    m[u][v] += sign * tie * TIE;
                }
            }
        }
        let inverse = solve::inverse3(&m)?;
        let values = std::array::from_fn(|u| (0..3).map(|v| inverse[u][v] * y[v]).sum());
        Some(Levels { values, inverse })
    }

    fn apply(&self, x: [f64; 3]) -> [f64; 3] {
        std::array::from_fn(|u| (0..3).map(|v| self.inverse[u][v] * x[v]).sum())
    }
}
