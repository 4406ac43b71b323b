//! The light on one fibre: a quadratic surface over its cladding, and what the whole picture says of it. Light changes
//! smoothly over a picture, a film does not: a fibre whose light bends unlike its neighbours' is given theirs, unless nearly
//! all of the cladding lies on its own. Where more of the cladding lies on a plane, curved as the neighbours' light is, than
//! on its own light, that plane is the light. What bends more than light can is a film, though all fibres agree on it.

use super::clean::{self, Block};
use super::{Spot, sloped};
use crate::solve;
use rayon::prelude::*;

/// Bend of the light, relative at the cladding's rim, that one fibre may have for itself.
const OWN_BEND: f64 = 0.022;

/// Curvature of the light over one fibre, relative at the cladding's rim, that no light exceeds: in a picture as narrow as
/// two fibres that loses 35 % to its corners it is 0.03.
const LIGHT_BEND: f64 = 0.05;

/// Light that bends unlike that of the neighbours is the fibre's own if so much of the cladding, share of it, lies on it: a
/// film has an edge, and other marks are small.
const EVEN: f64 = 0.95;

/// Light that is curved as the neighbours' is the fibre's if so much more of the cladding, share of it, lies on it than on
/// its own.
const MORE: f64 = 0.02;

/// A step of the fit smaller than this share of the light ends it.
const SETTLED: f64 = 2e-5;

/// A quadratic surface of the light over the cladding, in units of the cladding's radius.
#[derive(Clone, Debug)]
pub struct Surface {
    c: [f64; 6],
    /// Whether its bends are those of the neighbours.
    pub borrowed: bool,
}

impl Surface {
    fn terms(dx: f32, dy: f32, unit: f64) -> [f64; 6] {
        let (x, y) = (f64::from(dx) / unit, f64::from(dy) / unit);
        [1.0, x, y, x * x, x * y, y * y]
    }

    /// Fits the cladding between the radii `from` and `to`, pixels; `unit` is the cladding's radius.
    pub fn fit(spots: &[Spot], from: f64, to: f64, unit: f64) -> Option<Surface> {
        let step = (spots.len() / 6000).max(1);
        let ring: Vec<(f32, [f64; 6])> = spots
            .iter()
            .step_by(step)
            .filter(|s| (from..to).contains(&f64::from(s.r)))
            .map(|s| (s.value, Surface::terms(s.dx, s.dy, unit)))
            .collect();
        if ring.len() < 60 {
            return None;
        }
        let mut values: Vec<f32> = ring.iter().map(|s| s.0).collect();
        let mut surface = Surface {
            c: [f64::from(solve::quantile32(&mut values, 0.5)), 0.0, 0.0, 0.0, 0.0, 0.0],
            borrowed: false,
        };
        for _ in 0..6 {
            let off: Vec<f32> = ring.iter().map(|(v, f)| v - surface.of(f)).collect();
            let scale = f64::from(solve::spread32(&off)).max(1e-5);
            let (mut a, mut b) = ([[0.0; 6]; 6], [0.0; 6]);
            for ((_, f), &o) in ring.iter().zip(&off) {
                let t = f64::from(o).abs() / (1.5 * scale);
                // Huber near the surface, nothing beyond five times that: a mark is no light.
                let w = if t < 1.0 {
                    1.0
                } else if t < 5.0 {
                    1.0 / t
                } else {
                    continue;
                };
                for u in 0..6 {
                    let wf = w * f[u];
                    b[u] += wf * f64::from(o);
                    for v in 0..=u {
                        a[u][v] += wf * f[v];
                    }
                }
            }
            let mut lower: Vec<f64> = a.iter().flatten().copied().collect();
            let step = solve::cholesky(&mut lower, &b)?;
            for (c, s) in surface.c.iter_mut().zip(&step) {
                *c += s;
            }
            // What is left to move is far below the light's own noise.
            if step.iter().all(|s| s.abs() < SETTLED * surface.c[0]) {
                break;
            }
        }
        (surface.c[0] > 1e-3).then_some(surface)
    }

    /// The light at (dx, dy) pixels from the centre.
    pub fn at(&self, dx: f32, dy: f32, unit: f64) -> f32 {
        self.of(&Surface::terms(dx, dy, unit))
    }

    fn of(&self, terms: &[f64; 6]) -> f32 {
        terms.iter().zip(&self.c).map(|(f, c)| f * c).sum::<f64>() as f32
    }

    /// The light at the centre.
    pub fn level(&self) -> f64 {
        self.c[0]
    }

    /// The light with the bends `bends`, relative to its level, if spots between the radii `from` and `to` show that a
    /// film covers them in part: its level is then that of the clean ones.
    fn beside_film(bends: [f64; 5], spots: &[Spot], from: f64, to: f64, unit: f64) -> Option<Surface> {
        let shape = Surface::bent_by(bends);
        let on_ring = spots.iter().filter(|s| (from..to).contains(&f64::from(s.r)));
        let flat = on_ring.map(|s| Spot { value: s.value / shape.at(s.dx, s.dy, unit).max(0.05), ..*s });
        clean::level(flat, unit).map(|level| shape.at_level(level))
    }

    /// The same level with the bends `bends`, relative to it; the level is taken anew from the spots between
    /// the radii `from` and `to`.
    fn bent(&self, bends: [f64; 5], spots: &[Spot], from: f64, to: f64, unit: f64) -> Surface {
        let shape = Surface::bent_by(bends);
        let mut levels: Vec<f32> = spots
            .iter()
            .step_by((spots.len() / 6000).max(1))
            .filter(|s| (from..to).contains(&f64::from(s.r)))
            .map(|s| s.value / shape.at(s.dx, s.dy, unit).max(0.05))
            .collect();
        let level = f64::from(solve::quantile32(&mut levels, 0.5));
        shape.at_level(level)
    }

    /// Light of level 1 with the bends of the neighbours.
    fn bent_by(bends: [f64; 5]) -> Surface {
        Surface { c: [1.0, bends[0], bends[1], bends[2], bends[3], bends[4]], borrowed: true }
    }

    fn at_level(self, level: f64) -> Surface {
        Surface { c: self.c.map(|c| c * level), ..self }
    }

    fn bends(&self) -> [f64; 5] {
        std::array::from_fn(|k| self.c[k + 1] / self.c[0])
    }

    /// Whether it bends more than light can.
    pub fn is_no_light(&self) -> bool {
        curvature(&self.bends()) > LIGHT_BEND
    }
}

/// One fibre's light and where it lies in the picture.
pub struct Lit<'a> {
    /// Centre in the picture, pixels.
    pub at: (f64, f64),
    /// Radius of the cladding, pixels.
    pub unit: f64,
    /// The light found on it, to be corrected.
    pub surface: &'a mut Surface,
    /// The pixels it was found from.
    pub spots: &'a [Spot],
    /// The radii of the cladding that were used.
    pub ring: (f64, f64),
}

impl Lit<'_> {
    /// Small blocks of the cladding once `light` is taken off them.
    fn blocks(&self, light: &Surface) -> Vec<Block> {
        let (from, to) = self.ring;
        let on_ring = self.spots.iter().filter(|s| (from..to).contains(&f64::from(s.r)));
        let level = |s: &Spot| s.value / light.at(s.dx, s.dy, self.unit).max(1e-4);
        clean::blocks(on_ring.map(|s| Spot { value: level(s), ..*s }), self.unit)
    }

    /// The plane, curved as `bends` say, that most of the cladding lies on, if it holds enough of it.
    fn plane(&self, bends: [f64; 5], scatter: f64) -> Option<Surface> {
        let curved = Surface::bent_by([0.0, 0.0, bends[2], bends[3], bends[4]]);
        let (level, [x, y]) = sloped::plane(&self.blocks(&curved), scatter)?;
        Some(Surface::bent_by([x, y, bends[2], bends[3], bends[4]]).at_level(level))
    }

    /// The light if a film covers the cladding in part: curved as the neighbours', with a slope of its own where the plane
    /// `own` shows one unlike theirs, or theirs shows no film.
    fn beside_film(&self, bends: [f64; 5], own: Option<&Surface>) -> Option<Surface> {
        let (from, to) = self.ring;
        let beside = |bends| Surface::beside_film(bends, self.spots, from, to, self.unit);
        let unlike = |[x, y, ..]: [f64; 5]| (x - bends[0]).hypot(y - bends[1]) > OWN_BEND;
        match own.map(Surface::bends) {
            Some(own) if unlike(own) => beside(own).or_else(|| beside(bends)),
            own => beside(bends).or_else(|| beside(own?)),
        }
    }
}

/// Scatter of most blocks about a light, whatever marks lie on the others; infinite where too few can tell.
fn scatter(blocks: &[Block]) -> f64 {
    let mut off: Vec<f64> = blocks.iter().map(|b| (b.level - 1.0).abs()).collect();
    if off.len() < clean::FEWEST { f64::INFINITY } else { 1.4826 * solve::median(&mut off) }
}

/// Share of blocks that lie on a light.
fn share_on(blocks: &[Block], scatter: f64) -> f64 {
    let near = |b: &&Block| (b.level - 1.0).abs() < sloped::NEAR * scatter;
    blocks.iter().filter(near).count() as f64 / blocks.len().max(1) as f64
}

/// Gives fibres whose light bends unlike that of the others what the others say; six fibres are needed.
pub fn agree(fibres: &mut [Lit]) {
    if fibres.len() < 6 {
        return;
    }
    let own: Vec<[f64; 5]> = fibres.iter().map(|f| f.surface.bends()).collect();
    let trends: Vec<Trend> = (0..5)
        .map(|k| Trend::fit(&fibres.iter().zip(&own).map(|(f, b)| (f.at, b[k])).collect::<Vec<_>>()))
        .collect();
    let common: Vec<[f64; 5]> =
        fibres.iter().map(|f| of_light(std::array::from_fn(|k| trends[k].at(f.at)))).collect();
    let gaps: Vec<f64> = own.iter().zip(&common).map(|(a, b)| bend_gap(a, b)).collect();
    let covered = fibres.iter().filter(|f| f.surface.is_no_light()).count();
    let blocks: Vec<Vec<Block>> = fibres.par_iter().map(|f| f.blocks(f.surface)).collect();
    let scatter = solve::quantile(&mut blocks.iter().map(|b| scatter(b)).collect::<Vec<_>>(), 0.25);
    // Where films cover most fibres, how far these differ says nothing of the light.
    let filmed = 2 * covered > fibres.len();
    let usual = if filmed { 0.0 } else { solve::median(&mut gaps.clone()) };
    let allowed = OWN_BEND.max(3.0 * usual);
    let told = common.into_par_iter().zip(gaps).zip(blocks);
    fibres.par_iter_mut().zip(told).for_each(|(fibre, ((bends, gap), blocks))| {
        let (from, to) = fibre.ring;
        let on_own = share_on(&blocks, scatter);
        let even = !filmed && on_own > EVEN;
        let can_tell = !filmed && blocks.len() >= clean::FEWEST;
        let plane = if can_tell { fibre.plane(bends, scatter) } else { None };
        let light = fibre.beside_film(bends, plane.as_ref().filter(|_| !even)).or_else(|| {
            let bent = gap > allowed && !even || fibre.surface.is_no_light();
            bent.then(|| fibre.surface.bent(bends, fibre.spots, from, to, fibre.unit))
        });
        let holds_more = |plane: &Surface| share_on(&fibre.blocks(plane), scatter) > on_own + MORE;
        if let Some(light) = light.or_else(|| plane.filter(holds_more)) {
            *fibre.surface = light;
        }
    });
}

/// The bends that fibres have in common, without a curvature that no light has: films cover most of them.
fn of_light(bends: [f64; 5]) -> [f64; 5] {
    if curvature(&bends) > LIGHT_BEND { [bends[0], bends[1], 0.0, 0.0, 0.0] } else { bends }
}

/// Greatest departure from a plane over the cladding's rim.
fn curvature(bends: &[f64; 5]) -> f64 {
    bend_gap(bends, &[bends[0], bends[1], 0.0, 0.0, 0.0])
}

/// Greatest difference of two bends over the cladding's rim.
fn bend_gap(a: &[f64; 5], b: &[f64; 5]) -> f64 {
    (0..12)
        .map(|k| {
            let (y, x) = (f64::from(k) * std::f64::consts::TAU / 12.0).sin_cos();
            let f = [x, y, x * x, x * y, y * y];
            (0..5).map(|k| f[k] * (a[k] - b[k])).sum::<f64>().abs()
        })
        .fold(0.0, f64::max)
}

/// A plane over the picture through one value a fibre, robust against a few that lie off.
struct Trend {
    middle: (f64, f64),
    c: [f64; 3],
}

impl Trend {
    fn fit(values: &[((f64, f64), f64)]) -> Trend {
        let n = values.len() as f64;
        let middle =
            (values.iter().map(|v| v.0.0).sum::<f64>() / n, values.iter().map(|v| v.0.1).sum::<f64>() / n);
        let level = solve::median(&mut values.iter().map(|v| v.1).collect::<Vec<_>>());
        let mut trend = Trend { middle, c: [level, 0.0, 0.0] };
        for _ in 0..8 {
            let off: Vec<f64> = values.iter().map(|(at, v)| v - trend.at(*at)).collect();
            let scale = 1.4826 * solve::median(&mut off.iter().map(|o| o.abs()).collect::<Vec<_>>());
            let (mut a, mut b) = ([0.0; 9], [0.0; 3]);
            for ((at, _), o) in values.iter().zip(&off) {
                let t = o / (4.0 * scale.max(1e-4));
                let w = if t.abs() < 1.0 { (1.0 - t * t).powi(2) } else { 0.0 };
                let f = trend.terms(*at);
                for u in 0..3 {
                    b[u] += w * f[u] * o;
                    for v in 0..3 {
                        a[u * 3 + v] += w * f[u] * f[v];
                    }
                }
            }
            // One row tells nothing of the change across it.
            for u in 0..3 {
                a[u * 3 + u] += 1e-3;
            }
            let Some(step) = solve::cholesky(&mut a, &b) else { break };
            for (c, s) in trend.c.iter_mut().zip(step) {
                *c += s;
            }
        }
        trend
    }

    fn terms(&self, at: (f64, f64)) -> [f64; 3] {
        [1.0, (at.0 - self.middle.0) / 1000.0, (at.1 - self.middle.1) / 1000.0]
    }

    fn at(&self, at: (f64, f64)) -> f64 {
        self.terms(at).iter().zip(&self.c).map(|(f, c)| f * c).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Cladding of a radius of 100 pixels, on light that slopes by `slope` in x, with noise and a few dark marks.
    fn spots(slope: f64, marks: &[(f64, f64)]) -> Vec<Spot> {
        let grid = (-97..=97).flat_map(|y| (-97..=97).map(move |x| (f64::from(x), f64::from(y))));
        let inside = grid.filter(|(x, y)| x.hypot(*y) < 97.0);
        let mut state = 7u64;
        inside
            .map(|(x, y)| {
                state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                let noise = 0.06 * ((state >> 40) as f64 / f64::from(1 << 24) - 0.5);
                let marked = marks.iter().any(|m| (m.0 - x).hypot(m.1 - y) < 5.0);
                let value = 0.5 * (1.0 + slope * x / 100.0 + noise - if marked { 0.5 } else { 0.0 });
                Spot { dx: x as f32, dy: y as f32, r: x.hypot(y) as f32, value: value as f32 }
            })
            .collect()
    }

    #[test]
    fn a_slope_of_its_own_below_dark_marks_is_light() {
        let marks = [(75.0, 20.0), (-60.0, 55.0), (10.0, -80.0)];
        let spots: Vec<_> =
            (0..12).map(|k| if k == 5 { spots(0.04, &marks) } else { spots(0.0, &[]) }).collect();
        let fit = |s: &Vec<Spot>| Surface::fit(s, 58.0, 96.0, 100.0).unwrap();
        let mut surfaces: Vec<_> = spots.iter().map(fit).collect();
        let lit = surfaces.iter_mut().zip(&spots).enumerate();
        let at = |k: usize| (400.0 * k as f64, 0.0);
        let mut lit: Vec<_> = lit
            .map(|(k, (surface, spots))| Lit { at: at(k), unit: 100.0, surface, spots, ring: (58.0, 96.0) })
            .collect();
        agree(&mut lit);
        for (k, surface) in surfaces.iter().enumerate() {
            let due = if k == 5 { 0.04 } else { 0.0 };
            assert!((surface.bends()[0] - due).abs() < 0.004, "{k}: {:?}", surface.bends());
        }
    }
}
