//! Looks that depend on the radius alone: medians over rings, about the cladding's centre or the core's own.

use super::Spot;
use crate::solve;

/// A core stands out whose middle differs from the cladding by so much of its level; thrice as far out as where half of that
/// is left there is less left than so much of it.
const STANDS_OUT: f32 = 0.04;
const SETTLED: f32 = 0.2;

/// Beside the widest core, at this share of the radius within which cores are fitted, clean glass lies no farther than so
/// much from the light.
const BESIDE: f32 = 0.93;
const CLEAN: f32 = 0.015;

/// Median level by radius, with straight lines between the rings.
#[derive(Clone, Debug)]
pub struct Rings {
    /// Radius of each ring, pixels.
    pub radius: Vec<f32>,
    /// Level of each ring, relative to the light.
    pub level: Vec<f32>,
}

impl Rings {
    /// The innermost ring is a disc wide enough for a median to mean something.
    const FIRST: f32 = 2.5;

    fn of(samples: impl Iterator<Item = (f32, f32)>, from: f32, to: f32) -> Rings {
        let first = if from > 0.0 { from } else { Rings::FIRST };
        let count = ((to - first).ceil().max(0.0)) as usize + 1;
        // A ring holds as many pixels as it is long: growing copies them again and again.
        let room = |k: usize| (std::f32::consts::TAU * (first + k as f32)) as usize + 8;
        let mut rings: Vec<(Vec<f32>, f32)> =
            (0..count).map(|k| (Vec::with_capacity(room(k)), 0.0)).collect();
        for (r, value) in samples.filter(|(r, _)| (from..to).contains(r)) {
            let k = if r < first { 0 } else { ((r - first) as u32 as usize + 1).min(count - 1) };
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

    /// Rings about the cladding's centre between two radii.
    pub fn about_centre(spots: &[Spot], from: f64, to: f64) -> Rings {
        Rings::of(spots.iter().map(|s| (s.r, s.value)), from as f32, to as f32)
    }

    /// Level at a radius.
    pub fn at(&self, r: f32) -> f32 {
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

    /// The same at steps of half a pixel, for looking up pixel by pixel.
    pub fn table(&self) -> Table {
        let last = self.radius.last().map_or(0.0, |r| r + 2.0);
        Table { values: (0..=(2.0 * last) as usize + 1).map(|k| self.at(k as f32 / 2.0)).collect() }
    }
}

/// Levels at radii of 0, 0.5, 1 .. pixels.
pub struct Table {
    values: Vec<f32>,
}

impl Table {
    /// Level at a radius, by straight lines; the last level beyond the table.
    #[inline]
    pub fn at(&self, r: f32) -> f32 {
        let t = (2.0 * r).clamp(0.0, (self.values.len() - 1) as f32);
        let k = (t as i32).min(self.values.len() as i32 - 2).max(0);
        let (t, k) = (t - k as f32, k as usize);
        self.values[k] * (1.0 - t) + self.values[k + 1] * t
    }

    fn slope(&self, r: f32) -> f32 {
        (self.at(r + 1.0) - self.at(r - 1.0)) / 2.0
    }
}

/// The core's look: rings about its own centre, slightly oval.
#[derive(Clone, Debug)]
pub struct CoreLook {
    x: f32,
    y: f32,
    /// Relative lengthening along cos 2a and sin 2a.
    oval: [f32; 2],
    /// The rings.
    pub rings: Rings,
}

impl CoreLook {
    /// A core that looks like the cladding.
    pub fn flat() -> CoreLook {
        CoreLook { x: 0.0, y: 0.0, oval: [0.0; 2], rings: Rings { radius: Vec::new(), level: Vec::new() } }
    }

    /// Fits the core among the spots within `reach` pixels of the cladding's centre.
    pub fn fit(spots: &[Spot], reach: f64) -> CoreLook {
        let near = near(spots, reach);
        let mut look = CoreLook::flat();
        let most = 0.04 * reach as f32 / super::CORE_SHARE as f32;
        for round in 0..4 {
            look.rings = look.rings_of(&near, reach);
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

    /// Counts the levels from the glass beside the core, if that is not clean: a film that covers both is no core.
    pub fn count_from_beside(&mut self, reach: f64) {
        let level = self.rings.at(BESIDE * reach as f32);
        if level.abs() > CLEAN {
            self.rings.level.iter_mut().for_each(|l| *l -= level);
        }
    }

    /// The core's centre, pixels from the cladding's.
    pub fn centre(&self) -> (f32, f32) {
        (self.x, self.y)
    }

    /// Looks about another centre, round.
    pub fn move_to(&mut self, at: (f32, f32), spots: &[Spot], reach: f64) {
        (self.x, self.y) = at;
        self.oval = [0.0; 2];
        self.rings = self.rings_of(&near(spots, reach), reach);
    }

    fn rings_of(&self, near: &[Spot], reach: f64) -> Rings {
        Rings::of(near.iter().map(|s| (self.reduced(s).0, s.value)), 0.0, 1.1 * reach as f32)
    }

    /// Radius about the core's centre with its oval taken out, and the direction (cos, sin).
    fn reduced(&self, s: &Spot) -> (f32, f32, f32) {
        let (dx, dy) = (s.dx - self.x, s.dy - self.y);
        let r = (dx * dx + dy * dy).sqrt().max(1e-3);
        let (c, n) = (dx / r, dy / r);
        (r * (1.0 - self.oval[0] * (c * c - n * n) - self.oval[1] * 2.0 * c * n), c, n)
    }

    /// The rings for looking up, as far as they are seen on most of their way: beyond `reach`, from which on no spots
    /// were read, those of a core that lies aside show one side only, and a mark there would be taken for the look.
    pub fn table(&self, reach: f64) -> Table {
        let whole = Rings::FIRST + (reach as f32 - Rings::FIRST).floor() - 0.5;
        let mut table = self.rings.table();
        let level = table.at(whole);
        table.values.iter_mut().skip((2.0 * whole) as usize + 1).for_each(|v| *v = level);
        table
    }

    /// Level at a spot; `table` is the rings'.
    pub fn at(&self, table: &Table, s: &Spot) -> f32 {
        table.at(self.reduced(s).0)
    }

    /// One robust step of centre and oval from the residual's angular harmonics, where the look is steep.
    fn step(&self, near: &[Spot], reach: f32) -> Option<[f32; 4]> {
        let table = self.rings.table();
        let rows: Vec<([f64; 4], f32)> = near
            .iter()
            .filter_map(|s| {
                let (r, c, n) = self.reduced(s);
                let slope = table.slope(r);
                (r < reach && r > 1.0 && slope.abs() > 1e-4).then(|| {
                    let g = f64::from(-slope);
                    let (c, n, r64) = (f64::from(c), f64::from(n), f64::from(r));
                    let j = [g * c, g * n, g * r64 * (c * c - n * n), g * r64 * 2.0 * c * n];
                    (j, s.value - table.at(r))
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
                for v in 0..=u {
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

    /// Where the level about the core's own centre has fallen to half the middle's, pixels across. None where the middle
    /// does not stand out, or where the level has not fallen to the cladding's farther out: a dip in the middle of a wide
    /// core is no narrow core. `radius` is the cladding's.
    pub fn width(&self, radius: f64) -> Option<f64> {
        let from = 0.03 * radius as f32;
        let middle = self.rings.at(from);
        let share = |level: f32| level / middle;
        let Rings { radius: at, level } = &self.rings;
        let outer = at.iter().zip(level).position(|(r, level)| *r > from && share(*level) < 0.5)?;
        let inner = outer.checked_sub(1)?;
        let (high, low) = (share(level[inner]), share(level[outer]));
        let part = ((high - 0.5) / (high - low).max(1e-6)).clamp(0.0, 1.0);
        let half = at[inner] + part * (at[outer] - at[inner]);
        let settled = share(self.rings.at(3.0 * half)).abs() < SETTLED;
        (middle.abs() >= STANDS_OUT && settled).then(|| f64::from(2.0 * half))
    }

    /// Level of the middle against the light about the core; none if nothing of it was seen. `radius` is the
    /// cladding's.
    pub fn light(&self, radius: f64) -> Option<f64> {
        (!self.rings.level.is_empty()).then(|| f64::from(self.rings.at(0.03 * radius as f32)))
    }
}

/// The spots among which a core is fitted: every pixel counts in the middle, where rings are short; farther out every third
/// is plenty.
fn near(spots: &[Spot], reach: f64) -> Vec<Spot> {
    let counts = |(i, s): &(usize, &Spot)| f64::from(s.r) < reach && (s.r < 12.0 || i % 3 == 0);
    spots.iter().enumerate().filter(counts).map(|(_, s)| *s).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Levels about a core, ring by ring, of a cladding whose radius is 250 pixels.
    fn width_of(level: impl Fn(f32) -> f32) -> Option<f64> {
        let radius: Vec<f32> = (2..160).map(|r| r as f32).collect();
        let rings = Rings { level: radius.iter().map(|r| level(*r)).collect(), radius };
        CoreLook { rings, ..CoreLook::flat() }.width(250.0)
    }

    #[test]
    fn a_core_is_as_wide_as_where_half_its_light_is_left() {
        let spot = |r: f32| -0.1 * (-(r / 20.0).powi(2)).exp();
        let width = width_of(spot).unwrap();
        // Half of what is left of it 7.5 pixels from its centre, which is the middle of this cladding.
        let due = 2.0 * 20.0 * (2f64.ln() + (7.5f64 / 20.0).powi(2)).sqrt();
        assert!((width - due).abs() < 0.5, "{width} for {due}");
        let disc = |r: f32| if r < 100.0 { 0.3 } else { 0.0 };
        assert!((width_of(disc).unwrap() - 199.0).abs() < 1.0);
        assert_eq!(width_of(|r| 0.3 * spot(r)), None, "it does not stand out");
        assert_eq!(width_of(|_| -0.1), None, "it ends nowhere");
        let dip = |r: f32| spot(r) + if r < 100.0 { -0.04 } else { 0.0 };
        assert_eq!(width_of(dip), None, "a dip in a wide core is no narrow core");
    }

    /// A dark core that lies aside, and a dark mark where only that side reaches the outermost rings about the core.
    #[test]
    fn a_mark_beside_a_core_that_lies_aside_is_no_ring() {
        let core = |x: f32, y: f32| -0.2 / (1.0 + (((x - 3.0).hypot(y) - 50.0) / 2.0).exp());
        let level = |x: f32, y: f32| if x < -66.0 && y.abs() < 30.0 { -0.3 } else { core(x, y) };
        let grid = (-110..=110).flat_map(|y| (-110..=110).map(move |x| (x as f32, y as f32)));
        let spot = |(x, y): (f32, f32)| Spot { dx: x, dy: y, r: x.hypot(y), value: level(x, y) };
        let spots: Vec<Spot> = grid.map(spot).filter(|s| s.r < 110.0).collect();
        let look = CoreLook::fit(&spots, 72.5);
        let clean = spot((-58.0, 42.0));
        assert!((look.x - 3.0).abs() < 0.5, "the core was found at {}", look.x);
        assert!(look.at(&look.table(72.5), &clean).abs() < 0.02);
    }
}
