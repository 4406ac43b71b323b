//! The cladding's edge, fitted below the pixel: centre, radius, blur and the adhesive's ring of one fibre.
//! Told by the picture alone; what lies on the glass is left to `glass` and `marks`.
//!
//! Method: the edge-spread function of ISO 12233 taken along the radius of a circle. Pixels of an annulus
//! are binned by angle and radius; every sector's profile is modelled as cladding, adhesive ring and ferrule,
//! each blurred by one normal curve. The sector's own grey levels are linear and are projected out
//! (variable projection: Kaufman, 1975, "A variable projection method for solving separable nonlinear
//! least squares problems"); ten shape parameters are found by damped Gauss-Newton steps with sectors
//! weighted by Tukey's biweight, so that chips and dirt on the edge do not pull it.

use crate::normal::both;
use crate::solve;
use imaging::Plane;

/// Sectors of the annulus; an adhesive ring and the ferrule's grain change little within one.
pub const SECTORS: usize = 96;

/// Number of shape parameters, see `Shape`.
const SHAPES: usize = 9;

/// The first of them: centre, radius, blur.
const CIRCLE: usize = 4;

/// Number of the first round in which all parameters move.
const FIRST_FULL: usize = 1;

/// How firmly ring and ferrule are tied, see `Levels::solve`.
const TIE: f64 = 0.05;

/// How firmly one sector's ring is tied to the whole ring's level.
const TIE_TO_RING: f64 = 0.12;

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

/// The shape parameters, in the order of the normal equations.
#[derive(Clone, Copy, Debug)]
struct Shape {
    /// Centre.
    x: f64,
    y: f64,
    /// Mean radius.
    radius: f64,
    /// Radius along cos 2a and sin 2a.
    oval: [f64; 2],
    /// Blur.
    blur: f64,
    /// Ring width: mean, along cos a, along sin a. Cladding and bore are two circles that need not share
    /// their centre, so the width follows the cosine of the angle.
    ring: [f64; 3],
}

impl Shape {
    fn moved(&self, step: &[f64; SHAPES]) -> Shape {
        Shape {
            x: self.x + step[0],
            y: self.y + step[1],
            radius: self.radius + step[2],
            blur: (self.blur + step[3]).clamp(0.3, 0.2 * self.radius),
            oval: [self.oval[0] + step[4], self.oval[1] + step[5]],
            ring: [self.ring[0] + step[6], self.ring[1] + step[7], self.ring[2] + step[8]],
        }
    }
}

/// One radial bin of one sector.
#[derive(Clone, Copy, Default)]
struct Bin {
    count: f64,
    radius: f64,
    level: f64,
}

/// The profiles of all sectors, binned about one centre.
struct Annulus {
    x: f64,
    y: f64,
    profiles: Vec<Profile>,
}

/// One sector's profile.
struct Profile {
    cos: f64,
    sin: f64,
    bins: Vec<Bin>,
}

/// Levels, misfit and projected derivatives of one sector.
struct SectorFit {
    inside: f64,
    ring: f64,
    outside: f64,
    /// Pixels that show the ring, squared shares.
    ring_seen: f64,
    /// Sum of squared residuals and number of pixels.
    chi2: f64,
    count: f64,
    normal: [[f64; SHAPES]; SHAPES],
    rhs: [f64; SHAPES],
}

impl SectorFit {
    const fn empty() -> SectorFit {
        SectorFit {
            inside: 0.0,
            ring: 0.0,
            outside: 0.0,
            ring_seen: 0.0,
            chi2: 0.0,
            count: 0.0,
            normal: [[0.0; SHAPES]; SHAPES],
            rhs: [0.0; SHAPES],
        }
    }
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
    let mut half_width = 0.075 * radius + 2.0;
    let mut weights = vec![1.0; SECTORS];
    let mut ring_level = None;
    for (round, stage) in [Stage::Circle, Stage::Full, Stage::Full].into_iter().enumerate() {
        if round == FIRST_FULL {
            // With the ring still held the blur stands in for it; from below it finds its own value.
            shape.blur *= 0.65;
        }
        let annulus = annulus(patch, &shape, half_width);
        let profiles = &annulus.profiles;
        if profiles.iter().filter(|p| p.bins.len() >= 8).count() < SECTORS / 4 {
            return Err(NoEdge::TooLittleInView);
        }
        for _ in 0..if stage == Stage::Full { 6 } else { 4 } {
            let fits: Vec<SectorFit> =
                profiles.iter().map(|p| sector_fit(p, &annulus, &shape, stage, ring_level)).collect();
            if stage == Stage::Full {
                ring_level = common_ring(&fits);
            }
            weights = sector_weights(&fits, profiles);
            let step = solve_step(&fits, &weights, stage, &shape);
            shape = shape.moved(&step);
            if !((shape.x - x).hypot(shape.y - y) < 0.15 * radius
                && (shape.radius / radius - 1.0).abs() < 0.15)
            {
                return Err(NoEdge::NotSettled);
            }
            // A first look need only come near.
            let near = if round < 2 { 5e-3 } else { 1e-3 };
            if step[..3].iter().all(|s| s.abs() < near) {
                break;
            }
        }
        half_width = (5.0 * shape.blur + 1.0 + 0.004 * radius * f64::from(u8::from(round < FIRST_FULL)))
            .min(0.12 * radius);
    }
    Ok(finish(patch, &shape, half_width, ring_level, &mut weights))
}

/// Which parameters may move.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Stage {
    /// Centre, radius, blur.
    Circle,
    /// All.
    Full,
}

fn annulus(patch: &Plane<f32>, shape: &Shape, half_width: f64) -> Annulus {
    let (inner, outer) = (shape.radius - half_width, shape.radius + half_width);
    let count = (2.0 * half_width / 0.5).ceil() as usize;
    let mut bins = vec![Bin::default(); SECTORS * count];
    let rows = clip(shape.y - outer, shape.y + outer, patch.height());
    for py in rows {
        let dy = py as f64 - shape.y;
        let half = (outer * outer - dy * dy).max(0.0).sqrt();
        let gap = (inner * inner - dy * dy).max(0.0).sqrt();
        for (from, to) in [(shape.x - half, shape.x - gap), (shape.x + gap, shape.x + half)] {
            for px in clip(from, to, patch.width()) {
                let dx = px as f64 - shape.x;
                let r = (dx * dx + dy * dy).sqrt();
                let k = (r - inner) / 0.5;
                if k >= 0.0 && (k as usize) < count {
                    let bin = &mut bins[sector_of(dx, dy) * count + k as usize];
                    bin.count += 1.0;
                    bin.radius += r;
                    bin.level += f64::from(patch.at(px, py));
                }
            }
        }
    }
    let profiles = (0..SECTORS)
        .map(|s| {
            let (sin, cos) = angle_of(s).sin_cos();
            let full = bins[s * count..(s + 1) * count].iter().filter(|b| b.count > 0.0);
            let bins =
                full.map(|b| Bin { count: b.count, radius: b.radius / b.count, level: b.level / b.count });
            Profile { cos, sin, bins: bins.collect() }
        })
        .collect();
    Annulus { x: shape.x, y: shape.y, profiles }
}

/// Whole numbers from `from` to `to` that lie in 0..size.
fn clip(from: f64, to: f64, size: usize) -> std::ops::Range<usize> {
    let start = from.ceil().max(0.0) as usize;
    let end = (to.floor() + 1.0).clamp(0.0, size as f64) as usize;
    start..end.max(start)
}

/// The sector that the direction (dx, dy) lies in.
pub fn sector_of(dx: f64, dy: f64) -> usize {
    // The angle within its octant by a rational curve (error below 0.005 of a sector); atan2 is five times
    // as slow and this runs for every pixel of the annulus.
    let (a, b) = (dx.abs(), dy.abs());
    let t = a.min(b) / a.max(b).max(1e-12);
    let octant = t
        * (0.999_866
            + t * t * (-0.330_299_5 + t * t * (0.180_141 + t * t * (-0.085_133 + t * t * 0.020_835_1))));
    let quarter = if b > a { std::f64::consts::FRAC_PI_2 - octant } else { octant };
    let half = if dx < 0.0 { std::f64::consts::PI - quarter } else { quarter };
    let full = if dy < 0.0 { std::f64::consts::TAU - half } else { half };
    ((full / std::f64::consts::TAU * SECTORS as f64) as usize).min(SECTORS - 1)
}

/// The angle of a sector's middle, radians.
pub fn angle_of(sector: usize) -> f64 {
    (sector as f64 + 0.5) * std::f64::consts::TAU / SECTORS as f64
}

fn sector_fit(
    profile: &Profile,
    annulus: &Annulus,
    shape: &Shape,
    stage: Stage,
    ring_level: Option<f64>,
) -> SectorFit {
    let mut fit = SectorFit::empty();
    if profile.bins.len() < 8 {
        return fit;
    }
    let (cos, sin) = (profile.cos, profile.sin);
    let (cos2, sin2) = (cos * cos - sin * sin, 2.0 * cos * sin);
    // The bins were taken about the annulus' centre; a centre moved since then is a change of radius.
    let moved = (shape.x - annulus.x) * cos + (shape.y - annulus.y) * sin;
    let edge = shape.radius + moved + shape.oval[0] * cos2 + shape.oval[1] * sin2;
    let free_width = shape.ring[0] + shape.ring[1] * cos + shape.ring[2] * sin;
    let width = free_width.max(0.0);
    let widens = f64::from(u8::from(free_width > 0.0));
    let s = shape.blur;
    let rows: Vec<Row> = profile.bins.iter().map(|bin| Row::new(bin, edge, width, s)).collect();
    let Some(levels) = Levels::solve(&rows, ring_level) else { return fit };
    let [glass, ring, ferrule] = levels.values;
    (fit.inside, fit.ring, fit.outside) = (glass, ring, ferrule);
    fit.ring_seen = rows.iter().map(|r| r.count * r.base[1].powi(4)).sum();
    let free = if stage == Stage::Full { SHAPES } else { CIRCLE };
    let mut cross = [[0.0; SHAPES]; 3];
    for row in &rows {
        let d_edge = (glass - ring) * row.slope + (ring - ferrule) * row.slope2;
        let d_width = (ring - ferrule) * row.slope2 * widens;
        let d_blur = -((glass - ring) * row.slope * row.z + (ring - ferrule) * row.slope2 * row.z2);
        let j = [
            d_edge * cos,
            d_edge * sin,
            d_edge,
            d_blur,
            d_edge * cos2,
            d_edge * sin2,
            d_width,
            d_width * cos,
            d_width * sin,
        ];
        let residual = row.level - (glass * row.base[0] + ring * row.base[1] + ferrule * row.base[2]);
        fit.chi2 += row.count * residual * residual;
        fit.count += row.count;
        for u in 0..free {
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
    for u in 0..free {
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

/// Level of the whole ring: the sectors' own, weighed by how much ring they show.
fn common_ring(fits: &[SectorFit]) -> Option<f64> {
    let (top, bottom) = fits.iter().fold((0.0, 0.0), |(t, b), f| (t + f.ring_seen * f.ring, b + f.ring_seen));
    (bottom > 0.0).then(|| top / bottom)
}

/// Tukey weights of the sectors: by the misfit of their profile and by how far their own edge lies off.
fn sector_weights(fits: &[SectorFit], profiles: &[Profile]) -> Vec<f64> {
    let usable: Vec<usize> =
        (0..fits.len()).filter(|&s| fits[s].count > 0.0 && profiles[s].bins.len() >= 8).collect();
    let mut misfit: Vec<f64> = usable.iter().map(|&s| (fits[s].chi2 / fits[s].count).sqrt()).collect();
    let mut off: Vec<f64> = usable.iter().map(|&s| own_offset(&fits[s])).collect();
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
    misfit.clear();
    off.clear();
    weights
}

fn tukey(t: f64) -> f64 {
    if t.abs() < 1.0 { (1.0 - t * t).powi(2) } else { 0.0 }
}

/// How far one sector's own edge lies from the model, pixels outwards.
fn own_offset(fit: &SectorFit) -> f64 {
    if fit.normal[2][2] > 0.0 { fit.rhs[2] / fit.normal[2][2] } else { 0.0 }
}

fn sums(fits: &[SectorFit], weights: &[f64]) -> ([[f64; SHAPES]; SHAPES], [f64; SHAPES], f64, f64) {
    let (mut normal, mut rhs, mut chi2, mut count) = ([[0.0; SHAPES]; SHAPES], [0.0; SHAPES], 0.0, 0.0);
    for (fit, &w) in fits.iter().zip(weights) {
        chi2 += w * fit.chi2;
        count += w * fit.count;
        for u in 0..SHAPES {
            rhs[u] += w * fit.rhs[u];
            for v in 0..SHAPES {
                normal[u][v] += w * fit.normal[u][v];
            }
        }
    }
    (normal, rhs, chi2, count)
}

fn solve_step(fits: &[SectorFit], weights: &[f64], stage: Stage, shape: &Shape) -> [f64; SHAPES] {
    let (mut normal, mut rhs, chi2, count) = sums(fits, weights);
    let variance = (chi2 / count.max(1.0)).max(1e-12);
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
    let free = if stage == Stage::Full { SHAPES } else { CIRCLE };
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

fn finish(
    patch: &Plane<f32>,
    shape: &Shape,
    half_width: f64,
    ring_level: Option<f64>,
    weights: &mut Vec<f64>,
) -> Edge {
    let annulus = annulus(patch, shape, half_width);
    let profiles = &annulus.profiles;
    let fits: Vec<SectorFit> =
        profiles.iter().map(|p| sector_fit(p, &annulus, shape, Stage::Full, ring_level)).collect();
    *weights = sector_weights(&fits, profiles);
    let (normal, _, _, _) = sums(&fits, weights);
    let agrees: Vec<bool> = weights.iter().map(|&w| w > 0.1).collect();
    let usable = agrees.iter().filter(|&&a| a).count();
    // The scatter of the sectors' own edges, which holds the ferrule's grain as well as the noise, is what
    // limits centre and radius.
    let mut offsets: Vec<f64> =
        fits.iter().zip(&agrees).filter(|(_, a)| **a).map(|(f, _)| own_offset(f).abs()).collect();
    let scatter = 1.4826 * solve::median(&mut offsets);
    let n = (usable as f64).max(1.0);
    let floor = (normal[2][2] > 0.0).then(|| 1.0 / normal[2][2].sqrt()).unwrap_or(0.0);
    let _ = floor;
    Edge {
        x: shape.x,
        y: shape.y,
        radius: shape.radius,
        ellipticity: shape.oval[0].hypot(shape.oval[1]),
        blur: shape.blur,
        smear: smear(&fits, weights, shape),
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
        if fit.normal[3][3] <= 0.0 {
            continue;
        }
        let a = 2.0 * angle_of(s);
        let basis = [1.0, a.cos(), a.sin()];
        for u in 0..3 {
            top[u] += w * fit.rhs[3] * basis[u];
            for v in 0..3 {
                bottom[u][v] += w * fit.normal[3][3] * basis[u] * basis[v];
            }
        }
    }
    let mut flat: Vec<f64> = bottom.iter().flatten().copied().collect();
    let Some(d) = solve::cholesky(&mut flat, &top) else { return 1.0 };
    let swing = d[1].hypot(d[2]).min(0.9 * shape.blur);
    (shape.blur + swing) / (shape.blur - swing)
}
