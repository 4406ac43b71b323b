//! Dirt on the camera's optics: what stays at the same pixels while the pictures step along the face. The textures of
//! all pictures are laid on one another; grain and marks of the face fall on different pixels in each, so that
//! only what belongs to the camera stands out of the median (P. J. Huber 1981, Robust statistics, for the median's
//! own scatter). So spots off the fibres are found; those on fibres are proven mark by mark (`stays`).

use super::rigid::Spot;
use super::stays::{Proof, Stays};
use super::texture::Texture;
use crate::solve::quantile32;
use imaging::Plane;
use imaging::blur::gaussian;
use imaging::regions::{Connectivity, Region, regions};
use rayon::prelude::*;
use terms::{OpticsSpot, Point};

/// Fewer pictures than this tell nothing of the optics.
const LEAST_PICTURES: usize = 6;

/// Blur of the textures before they are laid on one another, pixels of the textures.
const SMOOTH: f64 = 1.0;

/// The median of the pictures must exceed this many of its own standard deviations, and this many usual contrasts; and
/// such a share of the pictures show half of it or more, on the ferrule as well as elsewhere.
const CLEAR: f32 = 7.0;
const LEAST_CONTRAST: f32 = 0.5;
const SHOWING: f64 = 0.75;

/// The scatter of one picture's texture is never taken to be below this, usual contrasts.
const LEAST_SCATTER: f32 = 0.25;

/// So many of them show it on the ferrule: where the steps are as long as the pitch, the same part of a fibre's look comes
/// to lie at the same pixels again and again.
const ON_FERRULE: usize = 3;

/// Spots cover at least so many pixels of the textures and are at most so many times as long as wide: an edge of the
/// ferrule that runs along all pictures is no spot.
const LEAST_AREA: usize = 4;
pub(crate) const LONGEST: f64 = 2.5;

/// What lies nearer to a spot than this share of both their sizes lies beside it.
const BESIDE: f64 = 0.75;

/// A picture's texture, smoothed; not a number where nothing counts.
struct Smooth {
    plane: Plane<f32>,
    /// The ring about a fibre's middle that it shows.
    rings: Plane<Option<u8>>,
}

/// What the pictures of a run show at each of their pixels, whatever part of the face is there.
pub(crate) struct Optics {
    /// Frame pixels along the side of one pixel.
    factor: f64,
    /// The usual contrast, as a share of the light.
    usual: f32,
    /// The spots that stay at the same pixels, largest first.
    pub spots: Vec<OpticsSpot>,
}

impl Optics {
    /// Finds no spot where the pictures differ in size or are too few.
    pub fn new(textures: &[Texture]) -> Optics {
        let factor = textures.first().map_or(1.0, |t| t.factor);
        let size = |t: &Texture| (t.plane.width(), t.plane.height());
        let alike = textures.windows(2).all(|pair| size(&pair[0]) == size(&pair[1]));
        let told = if alike && textures.len() >= LEAST_PICTURES { textures } else { &[] };
        let usual = quantile32(&mut told.iter().map(|t| t.usual).collect::<Vec<_>>(), 0.5);
        let smooth = |t: &Texture| Smooth { plane: smoothed(&t.plane), rings: t.rings.clone() };
        let pictures: Vec<Smooth> = told.par_iter().map(smooth).collect();
        let mut new = Optics { factor, usual, spots: Vec::new() };
        new.spots = new.clear_spots(&pictures);
        new
    }

    fn clear_spots(&self, pictures: &[Smooth]) -> Vec<OpticsSpot> {
        let stack = Stack::new(pictures);
        let found = [-1.0f32, 1.0].into_iter().flat_map(|sign| {
            regions(&stack.clear, Connectivity::Eight, move |v| sign * v > 0.0)
                .into_iter()
                .filter_map(|region| stack.spot(&region, self))
                .collect::<Vec<_>>()
        });
        let mut found: Vec<OpticsSpot> = found.collect();
        found.sort_by(|a, b| b.size_px.total_cmp(&a.size_px));
        found
    }

    fn to_frame(&self, (x, y): (f64, f64)) -> Spot {
        ((x + 0.5) * self.factor - 0.5, (y + 0.5) * self.factor - 0.5)
    }

    /// The contrast of what the pictures show, told in usual contrasts.
    fn contrast(&self, level: f32) -> f64 {
        f64::from((level * self.usual).exp() - 1.0)
    }

    /// Leaves what each of the pictures bears out.
    pub fn settle(&mut self, stays: &Stays) {
        let spots = std::mem::take(&mut self.spots);
        let proof = |s: &OpticsSpot| stays.proven(None, (s.centre.x, s.centre.y), s.size_px, s.contrast);
        self.add(spots.iter().filter_map(proof).collect());
    }

    /// Adds what was proven elsewhere. A spot is as large as the largest mark that proves it.
    pub fn add(&mut self, mut proofs: Vec<Proof>) {
        proofs.sort_by(|a, b| b.evidence.total_cmp(&a.evidence));
        for Proof { spot, .. } in proofs {
            let at = (spot.centre.x, spot.centre.y);
            match over(&self.spots, at, spot.size_px, spot.contrast) {
                Some(known) => self.spots[known].size_px = self.spots[known].size_px.max(spot.size_px),
                None if self.spots.iter().any(|s| beside(s, &spot)) => {}
                None => self.spots.push(spot),
            }
        }
    }
}

/// Smoothed over what counts alone; not a number where nothing does.
fn smoothed(plane: &Plane<f32>) -> Plane<f32> {
    let counts = plane.map(|v| f32::from(u8::from(v != 0.0)));
    let (mut sum, weight) = (gaussian(plane, SMOOTH), gaussian(&counts, SMOOTH));
    let each = sum.data_mut().iter_mut().zip(weight.data()).zip(counts.data());
    each.for_each(|((v, w), c)| *v = if *c > 0.0 { *v / w.max(0.1) } else { f32::NAN });
    sum
}

/// The pictures laid on one another.
struct Stack {
    /// Median contrast, usual contrasts; 0 where too few pictures tell.
    median: Plane<f32>,
    /// The same where it is clear; 0 elsewhere.
    clear: Plane<f32>,
    /// Pictures that show it.
    shown: Plane<u16>,
}

impl Stack {
    fn new(pictures: &[Smooth]) -> Stack {
        let (width, height) = pictures.first().map_or((0, 0), |p| (p.plane.width(), p.plane.height()));
        let rows: Vec<Vec<Level>> = (0..height)
            .into_par_iter()
            .map_init(Told::default, |told, y| (0..width).map(|x| Level::of(pictures, x, y, told)).collect())
            .collect();
        let plane = |f: fn(&Level) -> f32| Plane::from_fn(width, height, |x, y| f(&rows[y][x]));
        Stack {
            median: plane(|l| l.median),
            clear: plane(|l| if l.clear { l.median } else { 0.0 }),
            shown: Plane::from_fn(width, height, |x, y| rows[y][x].shown),
        }
    }

    /// A region as a spot, out to half its height.
    fn spot(&self, region: &Region, optics: &Optics) -> Option<OpticsSpot> {
        let axes = region.moments().axes();
        if region.area() < LEAST_AREA || axes.major > LONGEST * axes.minor.max(1.0) {
            return None;
        }
        let height = |(x, y): (usize, usize)| self.median.at(x, y).abs();
        let peak = region.pixels().max_by(|a, b| height(*a).total_cmp(&height(*b)))?;
        let level = self.median.at(peak.0, peak.1);
        let half = |v: f32| v * level.signum() > 0.5 * level.abs();
        let whole = imaging::regions::region_at(&self.median, peak, Connectivity::Four, half)?;
        let moments = whole.moments();
        let (x, y) = optics.to_frame((moments.x, moments.y));
        let diameter = 2.0 * (whole.area() as f64 / std::f64::consts::PI).sqrt();
        Some(OpticsSpot {
            centre: Point::new(x, y),
            size_px: diameter * optics.factor,
            contrast: optics.contrast(level),
            pictures: usize::from(self.shown.at(peak.0, peak.1)),
        })
    }
}

/// What the pictures show at one pixel.
struct Level {
    median: f32,
    clear: bool,
    shown: u16,
}

impl Level {
    fn of(pictures: &[Smooth], x: usize, y: usize, told: &mut Told) -> Level {
        told.ask(pictures, x, y);
        let Told { witnesses, values, .. } = told;
        if values.len() < LEAST_PICTURES {
            return Level { median: 0.0, clear: false, shown: 0 };
        }
        let median = quantile32(values, 0.5);
        if median.abs() <= LEAST_CONTRAST {
            return Level { median, clear: false, shown: 0 };
        }
        let showing = || witnesses.iter().filter(|w| w.value * median.signum() > 0.5 * median.abs());
        let on_ferrule = showing().filter(|w| w.ring.is_none()).count();
        let ferrule = witnesses.iter().filter(|w| w.ring.is_none()).count();
        values.iter_mut().for_each(|v| *v = (*v - median).abs());
        let scatter = (1.4826 * quantile32(values, 0.5)).max(LEAST_SCATTER);
        // The median of normal values scatters 1.2533 times as much as their mean.
        let own = 1.2533 * scatter / (values.len() as f32).sqrt();
        let clear = median.abs() > CLEAR * own
            && showing().count() as f64 >= SHOWING * values.len() as f64
            && on_ferrule >= ON_FERRULE
            && on_ferrule as f64 >= SHOWING * ferrule as f64;
        let shown = showing().map(|w| w.pictures).sum();
        Level { median, clear, shown }
    }
}

/// What one picture shows at a pixel of the ferrule, or several on one ring about a fibre: their median.
struct Witness {
    value: f32,
    ring: Option<u8>,
    pictures: u16,
}

/// What is told at one pixel; kept from one to the next for its room.
#[derive(Default)]
struct Told {
    levels: Vec<(Option<u8>, f32)>,
    witnesses: Vec<Witness>,
    values: Vec<f32>,
}

impl Told {
    /// Fibres look much alike on one ring, and equal steps bring the same ring to the same pixel again and again: it bears
    /// witness once, however many pictures show it.
    fn ask(&mut self, pictures: &[Smooth], x: usize, y: usize) {
        let levels = pictures.iter().map(|p| (p.rings.at(x, y), p.plane.at(x, y)));
        self.levels.clear();
        self.levels.extend(levels.filter(|t| t.1.is_finite()));
        self.levels.sort_unstable_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let alike = |a: &(Option<u8>, f32), b: &(Option<u8>, f32)| a.0.is_some() && a.0 == b.0;
        let witness = |same: &[(Option<u8>, f32)]| {
            let (ring, value) = same[same.len() / 2];
            Witness { value, ring, pictures: same.len() as u16 }
        };
        self.witnesses.clear();
        self.witnesses.extend(self.levels.chunk_by(alike).map(witness));
        self.values.clear();
        self.values.extend(self.witnesses.iter().map(|w| w.value));
    }
}

/// The spot of the optics that covers a mark in the picture: it lies within it and is no larger than it may look.
pub(crate) fn over(spots: &[OpticsSpot], centre: Spot, size: f64, contrast: f64) -> Option<usize> {
    let covers = |s: &OpticsSpot| {
        let off = (s.centre.x - centre.0).hypot(s.centre.y - centre.1);
        s.contrast * contrast > 0.0 && off < 0.5 * s.size_px + 2.0 && size < 2.0 * s.size_px + 3.0
    };
    spots.iter().position(covers)
}

/// Whether one that looks like a spot of the other sign is but the light beside another.
fn beside(spot: &OpticsSpot, other: &OpticsSpot) -> bool {
    let near = spot.centre.distance(other.centre) < BESIDE * (spot.size_px + other.size_px);
    spot.contrast * other.contrast < 0.0 && near
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Grain that differs from picture to picture, and what is added to all of them.
    fn textures(count: usize, add: impl Fn(f64, f64) -> f64) -> Vec<Texture> {
        let grain = |k: usize, x: usize, y: usize| {
            let mut h = (k as u64 + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ ((x as u64) << 20) ^ (y as u64);
            for _ in 0..3 {
                h = (h ^ (h >> 29)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
            }
            (h >> 40) as f64 / f64::from(1u32 << 24) * 3.4 - 1.7
        };
        let plane =
            |k: usize| Plane::from_fn(120, 90, |x, y| (grain(k, x, y) + add(x as f64, y as f64)) as f32);
        (0..count)
            .map(|k| Texture {
                plane: plane(k),
                factor: 2.0,
                rings: Plane::filled(120, 90, None),
                usual: 0.08,
            })
            .collect()
    }

    fn found(textures: &[Texture]) -> Vec<OpticsSpot> {
        Optics::new(textures).spots
    }

    #[test]
    fn grain_alone_is_no_dirt_and_what_stays_is() {
        for count in [6, 9, 14, 40] {
            assert_eq!(found(&textures(count, |_, _| 0.0)), [], "{count}");
        }
        let spot = |x: f64, y: f64| -2.5 * (-((x - 70.0).powi(2) + (y - 30.0).powi(2)) / 18.0).exp();
        for count in [9, 14, 40] {
            let spots = found(&textures(count, spot));
            assert_eq!(spots.len(), 1, "{count}: {spots:?}");
            assert!(spots[0].centre.distance(Point::new(140.5, 60.5)) < 2.0, "{spots:?}");
            // Full width at half height of a Gaussian of 3 pixels of the texture.
            assert!((spots[0].size_px - 14.1).abs() < 4.0, "{spots:?}");
            assert!((spots[0].contrast + 0.18).abs() < 0.05 && spots[0].pictures >= 7, "{spots:?}");
        }
    }

    #[test]
    fn a_line_along_all_pictures_is_an_edge_of_the_ferrule() {
        let line = |_: f64, y: f64| if (y - 40.0).abs() < 2.0 { -2.5 } else { 0.0 };
        assert_eq!(found(&textures(14, line)), []);
    }

    #[test]
    fn a_mark_is_covered_by_a_spot_of_its_sign_at_its_place() {
        let spot = OpticsSpot { centre: Point::new(50.0, 60.0), size_px: 16.0, contrast: -0.2, pictures: 9 };
        let spots = [spot];
        assert_eq!(over(&spots, (53.0, 58.0), 15.0, -0.2), Some(0));
        assert_eq!(over(&spots, (53.0, 58.0), 15.0, 0.2), None);
        assert_eq!(over(&spots, (80.0, 58.0), 15.0, -0.2), None);
        assert_eq!(over(&spots, (53.0, 58.0), 60.0, -0.2), None);
    }
}
