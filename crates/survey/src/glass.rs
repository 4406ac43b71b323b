//! The clean glass of one fibre as a model, and what departs from it. Light that falls off across the fibre,
//! the core's own look (disc, ring, graded or single-mode spot, lit or dark) and the radial shading of the
//! polish belong to the model; everything else is left in the residual for `lines` and `blobs` to judge.
//!
//! Method: a quadratic surface by iteratively reweighted least squares (Huber, 1964, "Robust estimation of
//! a location parameter") over the cladding, then medians over rings about the core's own centre, which is
//! found with its ellipticity from the first and second angular harmonic of the residual.

use crate::edge::Edge;
use crate::solve;
use imaging::Plane;
use terms::Core;

mod middle;

pub use middle::agree;

/// Share of the cladding's radius within which the core's look may reach: 62.5 um core, its offset and blur.
const CORE_SHARE: f64 = 0.58;

/// The glass of one fibre after its model is taken away.
#[derive(Clone, Debug)]
pub struct Glass {
    /// Relative residual, (picture - model) / model; 0 where `inside` is 0.
    pub residual: Plane<f32>,
    /// 1 on glass that can be judged, 0 elsewhere.
    pub inside: Plane<f32>,
    /// Radius within which glass is judged, pixels from the cladding's centre.
    pub radius: f64,
    /// Median level of the clean cladding, 0 to 1.
    pub level: f64,
    /// Standard deviation of one pixel of the residual.
    pub noise: f64,
    /// How the core looks.
    pub core: Core,
}

/// A pixel on the glass, about the cladding's centre.
#[derive(Clone, Copy, Debug)]
struct Spot {
    dx: f32,
    dy: f32,
    r: f32,
    value: f32,
}

/// The light and the looks of one fibre, before it was compared with its neighbours.
#[derive(Clone, Debug)]
pub struct Looks {
    radius: f64,
    level: f64,
    relative: Vec<Spot>,
    core: CoreLook,
    cladding: Rings,
}

/// Looks at the glass inside `edge`. None if too little of it is in the patch or the light is nothing.
pub fn look(patch: &Plane<f32>, edge: &Edge) -> Option<Looks> {
    let radius = edge.radius - 2.0 * edge.blur - 0.5;
    let spots = spots(patch, edge, radius);
    let surface = Surface::fit(&spots, CORE_SHARE * edge.radius, radius - edge.blur, edge.radius)?;
    let relative: Vec<Spot> = spots
        .iter()
        .map(|s| Spot { value: s.value / surface.at(s.dx, s.dy, edge.radius).max(1e-4) - 1.0, ..*s })
        .collect();
    let core = CoreLook::fit(&relative, CORE_SHARE * edge.radius);
    let cladding = Rings::about_centre(&relative, CORE_SHARE * edge.radius, radius);
    Some(Looks { radius, level: surface.level(), relative, core, cladding })
}

/// Takes the looks away from the picture.
pub fn model(patch: &Plane<f32>, edge: &Edge, looks: &Looks) -> Glass {
    let mut residual = Plane::filled(patch.width(), patch.height(), 0.0f32);
    let mut inside = Plane::filled(patch.width(), patch.height(), 0.0f32);
    for (spot, (x, y)) in looks.relative.iter().zip(places(patch, edge, looks.radius)) {
        let r = spot.r;
        let in_core = f64::from(r) < CORE_SHARE * edge.radius;
        let clean = if in_core { looks.core.at(spot) } else { looks.cladding.at(r) };
        residual.set(x, y, (1.0 + spot.value) / (1.0 + clean).max(0.05) - 1.0);
        inside.set(x, y, 1.0);
    }
    let noise = pixel_noise(&residual, &inside);
    Glass {
        residual,
        inside,
        radius: looks.radius,
        level: looks.level,
        noise,
        core: looks.core.look(edge.radius),
    }
}

/// Pixels of the patch whose centre lies within `radius` of the cladding's centre, row by row.
fn places(patch: &Plane<f32>, edge: &Edge, radius: f64) -> impl Iterator<Item = (usize, usize)> {
    let (x, y, width, height) = (edge.x, edge.y, patch.width(), patch.height());
    let rows = (y - radius).ceil().max(0.0) as usize
        ..((y + radius).floor() + 1.0).clamp(0.0, height as f64) as usize;
    rows.flat_map(move |py| {
        let dy = py as f64 - y;
        let half = (radius * radius - dy * dy).max(0.0).sqrt();
        let from = (x - half).ceil().max(0.0) as usize;
        let to = ((x + half).floor() + 1.0).clamp(0.0, width as f64) as usize;
        (from..to.max(from)).map(move |px| (px, py))
    })
}

fn spots(patch: &Plane<f32>, edge: &Edge, radius: f64) -> Vec<Spot> {
    places(patch, edge, radius)
        .map(|(x, y)| {
            let (dx, dy) = ((x as f64 - edge.x) as f32, (y as f64 - edge.y) as f32);
            Spot { dx, dy, r: (dx * dx + dy * dy).sqrt(), value: patch.at(x, y) }
        })
        .collect()
}

/// A quadratic surface of the light over the cladding, in units of the cladding's radius.
struct Surface {
    c: [f64; 6],
}

impl Surface {
    fn terms(dx: f32, dy: f32, unit: f64) -> [f64; 6] {
        let (x, y) = (f64::from(dx) / unit, f64::from(dy) / unit);
        [1.0, x, y, x * x, x * y, y * y]
    }

    fn fit(spots: &[Spot], from: f64, to: f64, unit: f64) -> Option<Surface> {
        let step = (spots.len() / 6000).max(1);
        let ring: Vec<&Spot> =
            spots.iter().step_by(step).filter(|s| (from..to).contains(&f64::from(s.r))).collect();
        if ring.len() < 60 {
            return None;
        }
        let mut values: Vec<f32> = ring.iter().map(|s| s.value).collect();
        let mut surface =
            Surface { c: [f64::from(solve::quantile32(&mut values, 0.5)), 0.0, 0.0, 0.0, 0.0, 0.0] };
        for _ in 0..6 {
            let off: Vec<f32> = ring.iter().map(|s| s.value - surface.at(s.dx, s.dy, unit)).collect();
            let scale = f64::from(solve::spread32(&off)).max(1e-5);
            let (mut a, mut b) = (vec![0.0; 36], vec![0.0; 6]);
            for (s, &o) in ring.iter().zip(&off) {
                let t = f64::from(o).abs() / (1.5 * scale);
                // Huber near the surface, nothing beyond five times that: a mark is no light.
                let w = if t < 1.0 {
                    1.0
                } else if t < 5.0 {
                    1.0 / t
                } else {
                    0.0
                };
                let f = Surface::terms(s.dx, s.dy, unit);
                for u in 0..6 {
                    b[u] += w * f[u] * f64::from(o);
                    for v in 0..6 {
                        a[u * 6 + v] += w * f[u] * f[v];
                    }
                }
            }
            let step = solve::cholesky(&mut a, &b)?;
            for (c, s) in surface.c.iter_mut().zip(&step) {
                *c += s;
            }
        }
        (surface.c[0] > 1e-3).then_some(surface)
    }

    fn at(&self, dx: f32, dy: f32, unit: f64) -> f32 {
        Surface::terms(dx, dy, unit).iter().zip(&self.c).map(|(f, c)| f * c).sum::<f64>() as f32
    }

    fn level(&self) -> f64 {
        self.c[0]
    }
}

/// Median level by radius, with straight lines between the rings.
#[derive(Clone, Debug)]
struct Rings {
    radius: Vec<f32>,
    level: Vec<f32>,
}

impl Rings {
    /// The innermost ring is a disc wide enough for a median to mean something.
    const FIRST: f32 = 2.5;

    fn of(samples: impl Iterator<Item = (f32, f32)>, from: f32, to: f32) -> Rings {
        let first = if from > 0.0 { from } else { Rings::FIRST };
        let count = ((to - first).ceil().max(0.0)) as usize + 1;
        let mut rings: Vec<(Vec<f32>, f32)> = vec![(Vec::new(), 0.0); count];
        for (r, value) in samples.filter(|(r, _)| (from..to).contains(r)) {
            let k = if r < first { 0 } else { ((r - first) as usize + 1).min(count - 1) };
            rings[k].0.push(value);
            rings[k].1 += r;
        }
        let (mut radius, mut level) = (Vec::new(), Vec::new());
        for (mut values, sum) in rings {
            if !values.is_empty() {
                radius.push(sum / values.len() as f32);
                level.push(solve::quantile32(&mut values, 0.5));
            }
        }
        Rings { radius, level }
    }

    fn about_centre(spots: &[Spot], from: f64, to: f64) -> Rings {
        Rings::of(spots.iter().map(|s| (s.r, s.value)), from as f32, to as f32)
    }

    fn at(&self, r: f32) -> f32 {
        let n = self.level.len();
        if n == 0 {
            return 0.0;
        }
        // Rings are a pixel apart from the second on, so the place in the table follows from the radius.
        let mut k = ((r - self.radius[0]).max(0.0) as usize).min(n - 1);
        while k > 0 && self.radius[k] >= r {
            k -= 1;
        }
        while k + 1 < n && self.radius[k + 1] < r {
            k += 1;
        }
        if r <= self.radius[k] || k + 1 == n {
            return self.level[k];
        }
        let t = (r - self.radius[k]) / (self.radius[k + 1] - self.radius[k]).max(1e-6);
        self.level[k] * (1.0 - t) + self.level[k + 1] * t
    }

    fn slope(&self, r: f32) -> f32 {
        (self.at(r + 1.0) - self.at(r - 1.0)) / 2.0
    }
}

/// The core's look: rings about its own centre, slightly oval.
#[derive(Clone, Debug)]
struct CoreLook {
    x: f32,
    y: f32,
    /// Relative lengthening along cos 2a and sin 2a.
    oval: [f32; 2],
    rings: Rings,
}

impl CoreLook {
    fn fit(spots: &[Spot], reach: f64) -> CoreLook {
        // Every pixel counts in the middle, where rings are short; farther out every third is plenty.
        let near: Vec<Spot> = spots
            .iter()
            .enumerate()
            .filter(|(i, s)| f64::from(s.r) < reach && (s.r < 12.0 || i % 3 == 0))
            .map(|(_, s)| *s)
            .collect();
        let mut look =
            CoreLook { x: 0.0, y: 0.0, oval: [0.0; 2], rings: Rings { radius: vec![], level: vec![] } };
        let most = 0.04 * reach as f32 / CORE_SHARE as f32;
        for round in 0..4 {
            look.rings =
                Rings::of(near.iter().map(|s| (look.reduced(s).0, s.value)), 0.0, 1.1 * reach as f32);
            if round == 3 {
                break;
            }
            let Some(step) = look.step(&near, reach as f32) else { break };
            look.x = (look.x + step[0]).clamp(-most, most);
            look.y = (look.y + step[1]).clamp(-most, most);
            for k in 0..2 {
                look.oval[k] = (look.oval[k] + step[2 + k]).clamp(-0.06, 0.06);
            }
        }
        look
    }

    /// Radius about the core's centre with its oval taken out, and the direction (cos, sin).
    fn reduced(&self, s: &Spot) -> (f32, f32, f32) {
        let (dx, dy) = (s.dx - self.x, s.dy - self.y);
        let r = (dx * dx + dy * dy).sqrt().max(1e-3);
        let (c, n) = (dx / r, dy / r);
        (r * (1.0 - self.oval[0] * (c * c - n * n) - self.oval[1] * 2.0 * c * n), c, n)
    }

    fn at(&self, s: &Spot) -> f32 {
        self.rings.at(self.reduced(s).0)
    }

    /// One robust step of centre and oval from the residual's angular harmonics, where the look is steep.
    fn step(&self, near: &[Spot], reach: f32) -> Option<[f32; 4]> {
        let rows: Vec<([f64; 4], f32)> = near
            .iter()
            .filter_map(|s| {
                let (r, c, n) = self.reduced(s);
                let slope = self.rings.slope(r);
                (r < reach && r > 1.0 && slope.abs() > 1e-4).then(|| {
                    let g = f64::from(-slope);
                    let (c, n, r64) = (f64::from(c), f64::from(n), f64::from(r));
                    let j = [g * c, g * n, g * r64 * (c * c - n * n), g * r64 * 2.0 * c * n];
                    (j, s.value - self.rings.at(r))
                })
            })
            .collect();
        if rows.len() < 50 {
            return None;
        }
        let off: Vec<f32> = rows.iter().map(|r| r.1).collect();
        let scale = f64::from(solve::spread32(&off)).max(1e-5);
        let (mut a, mut b) = (vec![0.0; 16], vec![0.0; 4]);
        for (j, o) in &rows {
            let t = f64::from(*o).abs() / (1.5 * scale);
            let w = if t < 1.0 {
                1.0
            } else if t < 4.0 {
                1.0 / t
            } else {
                0.0
            };
            for u in 0..4 {
                b[u] += w * j[u] * f64::from(*o);
                for v in 0..4 {
                    a[u * 4 + v] += w * j[u] * j[v];
                }
            }
        }
        // A belief that the core is centred and round to a few percent keeps a flat look from drifting.
        let variance = scale * scale;
        for (u, sd) in [(0, 0.02), (1, 0.02)]
            .map(|(u, s)| (u, s * f64::from(reach)))
            .into_iter()
            .chain([(2, 0.02), (3, 0.02)])
        {
            a[u * 4 + u] += variance / (sd * sd);
        }
        let x = solve::cholesky(&mut a, &b)?;
        Some([x[0] as f32, x[1] as f32, x[2] as f32, x[3] as f32])
    }

    fn look(&self, radius: f64) -> Core {
        let middle = self.rings.at(0.03 * radius as f32);
        if self.rings.level.is_empty() {
            Core::Unknown
        } else if middle > 0.08 {
            Core::Lit
        } else {
            Core::Dark
        }
    }
}

/// Standard deviation of one pixel from differences of neighbours two apart, which ignore slow changes.
fn pixel_noise(residual: &Plane<f32>, inside: &Plane<f32>) -> f64 {
    let mut differences = Vec::new();
    for y in (0..residual.height()).step_by(2) {
        let (row, mask) = (residual.row(y), inside.row(y));
        for x in (2..row.len()).step_by(3) {
            if mask[x] > 0.0 && mask[x - 2] > 0.0 {
                differences.push(row[x] - row[x - 2]);
            }
        }
    }
    f64::from(solve::spread32(&differences)) / std::f64::consts::SQRT_2
}
