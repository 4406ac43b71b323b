//! Pixels about a circle, binned by angle and radius.

use super::shape::Shape;
use imaging::Plane;

/// Sectors of the annulus; an adhesive ring and the ferrule's grain change little within one.
pub const SECTORS: usize = 96;

/// Pixels whose places are told at once.
const BLOCK: usize = 8;

/// One radial bin of one sector.
#[derive(Clone, Copy, Default)]
pub(super) struct Bin {
    pub(super) count: f64,
    pub(super) radius: f64,
    pub(super) level: f64,
}

/// The profiles of all sectors, binned about one centre.
pub(super) struct Annulus {
    pub(super) x: f64,
    pub(super) y: f64,
    pub(super) profiles: Vec<Profile>,
}

/// One sector's profile.
pub(super) struct Profile {
    pub(super) cos: f64,
    pub(super) sin: f64,
    pub(super) bins: Vec<Bin>,
}

pub(super) fn annulus(patch: &Plane<f32>, shape: &Shape, half_width: f64) -> Annulus {
    let (inner, outer) = (shape.radius - half_width, shape.radius + half_width);
    // Half a blur is fine enough: every bin knows the mean radius of its pixels.
    let bin_width = (0.5 * shape.blur).clamp(0.5, 2.0);
    let count = (2.0 * half_width / bin_width).ceil() as usize;
    let mut bins = vec![Bin::default(); SECTORS * count];
    let rows = clip(shape.y - outer, shape.y + outer, patch.height());
    for py in rows {
        let dy = py as f64 - shape.y;
        let half = (outer * outer - dy * dy).max(0.0).sqrt();
        let gap = (inner * inner - dy * dy).max(0.0).sqrt();
        for (from, to) in [(shape.x - half, shape.x - gap), (shape.x + gap, shape.x + half)] {
            let columns = clip(from, to, patch.width());
            let first = columns.start;
            for (block, levels) in patch.row(py)[columns].chunks(BLOCK).enumerate() {
                let start = (first + block * BLOCK) as f64;
                // Places first, several at once; then what falls into one bin after the other.
                let places: [(f64, f64, f64); BLOCK] = std::array::from_fn(|i| {
                    let dx = start + i as f64 - shape.x;
                    let r = (dx * dx + dy * dy).sqrt();
                    (r, (r - inner) / bin_width, turn(dx, dy))
                });
                for ((r, k, turn), level) in places.into_iter().zip(levels) {
                    if k >= 0.0 && k < count as f64 {
                        let bin = &mut bins[sector(turn) * count + k as u32 as usize];
                        bin.count += 1.0;
                        bin.radius += r;
                        bin.level += f64::from(*level);
                    }
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

/// Whole numbers from `from` to `to` that lie in 0..size; an empty range ends at `size` at most.
pub(super) fn clip(from: f64, to: f64, size: usize) -> std::ops::Range<usize> {
    let start = (from.ceil().max(0.0) as usize).min(size);
    let end = (to.floor() + 1.0).clamp(0.0, size as f64) as usize;
    start..end.max(start)
}

/// The sector that the direction (dx, dy) lies in.
pub fn sector_of(dx: f64, dy: f64) -> usize {
    sector(turn(dx, dy))
}

fn sector(turn: f64) -> usize {
    (turn as u32 as usize).min(SECTORS - 1)
}

/// The angle of the direction (dx, dy) in sectors.
#[inline(always)]
fn turn(dx: f64, dy: f64) -> f64 {
    // The angle within its octant by a rational curve (error below 0.005 of a sector); atan2 is five times
    // as slow and this runs for every pixel of the annulus.
    let (a, b) = (dx.abs(), dy.abs());
    let (low, high) = if a < b { (a, b) } else { (b, a) };
    let t = low / if high > 1e-12 { high } else { 1e-12 };
    let octant = t
        * (0.999_866
            + t * t * (-0.330_299_5 + t * t * (0.180_141 + t * t * (-0.085_133 + t * t * 0.020_835_1))));
    let quarter = if b > a { std::f64::consts::FRAC_PI_2 - octant } else { octant };
    let half = if dx < 0.0 { std::f64::consts::PI - quarter } else { quarter };
    let full = if dy < 0.0 { std::f64::consts::TAU - half } else { half };
    full / std::f64::consts::TAU * SECTORS as f64
}

/// The angle of a sector's middle, radians.
pub fn angle_of(sector: usize) -> f64 {
    (sector as f64 + 0.5) * std::f64::consts::TAU / SECTORS as f64
}

#[cfg(test)]
mod tests {
    use super::clip;

    #[test]
    fn a_range_lies_within_the_picture_also_where_it_is_empty() {
        let cases = [((-3.2, 2.5), 0..3), ((3.5, 20.0), 4..8), ((9.5, 20.0), 8..8), ((-9.0, -5.0), 0..0)];
        for ((from, to), range) in cases {
            assert_eq!(clip(from, to, 8), range, "{from} {to}");
        }
    }
}
