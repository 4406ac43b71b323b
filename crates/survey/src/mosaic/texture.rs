//! What makes one place of a ferrule unlike every other: its grain and the marks on it, on a coarse plane
//! free of uneven light and exposure. The rings of the fibres are left out, for they look the same at every
//! pitch.

use super::rigid::Spot;
use crate::locate::pyramid::Level;
use imaging::Plane;
use imaging::blur::gaussian;

/// Longest side of the plane, pixels, and the width that it keeps in spite of that: what pictures of a run have in common
/// is a strip of their width, and a tall picture must not lose the pixels of it.
const LONGEST: f64 = 420.0;
const LEAST_WIDTH: usize = 120;

/// Width of the structures that are kept, pixels: the blur that is taken as the light about them.
const LIGHT: f64 = 7.0;

/// Grains finer than this share of a cladding's radius are noise: the width of the blur that drops them. Below
/// so many pixels the plane's own pixels do as much.
const FINE: f64 = 0.015;
const LEAST_BLUR: f64 = 0.6;

/// Contrasts are cut off at so many times the usual one, so that one speck cannot outweigh the grain.
const CUT: f32 = 3.0;

/// Reach beyond the cladding, over its radius, of what is left out: the ring of adhesive.
const RING: f64 = 1.22;

/// The part of a cladding, over its radius, within which marks on the glass count; less its core.
const GLASS: (f64, f64) = (0.45, 0.88);

/// Reach and width, over the radius, of the rings in which fibres look alike: the ferrule beside the adhesive is
/// shaded by it.
const ALIKE: (f64, f64) = (1.4, 0.15);

/// Texture of one picture: 0 where nothing counts, else contrast over its usual size.
#[derive(Clone, Debug)]
pub(crate) struct Texture {
    pub plane: Plane<f32>,
    /// Frame pixels along the side of one pixel.
    pub factor: f64,
    /// On which ring about a fibre's middle a pixel lies: every fibre looks much the same there.
    pub rings: Plane<Option<u8>>,
    /// The usual size of a contrast, as a share of the light: what 1 on the plane means.
    pub usual: f32,
}

impl Texture {
    /// The texture of a picture; `centres` are places of the lattice, pixels of the frame, `radius` that of a
    /// cladding.
    pub fn new(level: &Level, centres: &[Spot], radius: f64) -> Texture {
        let side = level.plane.width().max(level.plane.height()) as f64;
        let shrink = ((side / LONGEST).ceil() as usize).min(level.plane.width() / LEAST_WIDTH).max(1);
        let plane = shrunk(&level.plane, shrink);
        let factor = level.factor * (level.plane.width() / plane.width()) as f64;
        let fine = FINE * radius / factor;
        let plane = if fine < LEAST_BLUR { plane } else { gaussian(&plane, fine) };
        let (counts, rings) = counts(&plane, centres, radius, factor);
        let (plane, usual) = contrast(plane, &counts);
        Texture { plane, factor, rings, usual }
    }

    /// A place of the plane as a place of the frame.
    pub fn to_frame(&self, (x, y): Spot) -> Spot {
        ((x + 0.5) * self.factor - 0.5, (y + 0.5) * self.factor - 0.5)
    }

    /// A place of the frame as a place of the plane.
    pub fn of_frame(&self, (x, y): Spot) -> Spot {
        ((x + 0.5) / self.factor - 0.5, (y + 0.5) / self.factor - 0.5)
    }
}

/// The plane with each pixel the mean of `k` x `k`.
pub(crate) fn shrunk(plane: &Plane<f32>, k: usize) -> Plane<f32> {
    let (width, height) = (plane.width() / k, plane.height() / k);
    if k == 1 || width == 0 || height == 0 {
        return plane.clone();
    }
    plane.shrunk(k, width, height)
}

/// 1 where texture counts, 0 on the fibres' rings and cores; and the rings about their middles.
fn counts(plane: &Plane<f32>, centres: &[Spot], radius: f64, factor: f64) -> (Plane<f32>, Plane<Option<u8>>) {
    let mut rings = Plane::filled(plane.width(), plane.height(), None);
    let mut counts = Plane::filled(plane.width(), plane.height(), 1.0f32);
    let r = radius / factor;
    for &(x, y) in centres {
        let (cx, cy) = ((x + 0.5) / factor - 0.5, (y + 0.5) / factor - 0.5);
        let span = |c: f64, size: usize| {
            let reach = ALIKE.0 * r;
            ((c - reach).ceil().max(0.0) as usize)..((c + reach + 1.0).clamp(0.0, size as f64) as usize)
        };
        for py in span(cy, plane.height()) {
            for px in span(cx, plane.width()) {
                let (dx, dy) = (px as f64 - cx, py as f64 - cy);
                let share = (dx * dx + dy * dy).sqrt() / r;
                if share < GLASS.0 || (GLASS.1..RING).contains(&share) {
                    counts.set(px, py, 0.0);
                }
                if share < ALIKE.0 {
                    rings.set(px, py, Some((share / ALIKE.1) as u8));
                }
            }
        }
    }
    (counts, rings)
}

/// The logarithm of the light less that about it, over its usual size and cut off; and that size.
fn contrast(mut plane: Plane<f32>, counts: &Plane<f32>) -> (Plane<f32>, f32) {
    plane.data_mut().iter_mut().for_each(|v| *v = (*v + 0.004).ln());
    let mut weighted = plane.clone();
    weighted.data_mut().iter_mut().zip(counts.data()).for_each(|(v, w)| *v *= w);
    let (light, weight) = (gaussian(&weighted, LIGHT), gaussian(counts, LIGHT));
    let about = light.data().iter().zip(weight.data()).map(|(l, w)| l / w.max(0.02));
    plane.data_mut().iter_mut().zip(about).zip(counts.data()).for_each(|((v, a), w)| *v = (*v - a) * w);
    let mut sizes: Vec<f32> =
        plane.data().iter().step_by(11).filter(|v| **v != 0.0).map(|v| v.abs()).collect();
    let middle = sizes.len() / 2;
    let usual = match sizes.is_empty() {
        true => 0.0,
        false => *sizes.select_nth_unstable_by(middle, f32::total_cmp).1 / 0.6745,
    };
    let usual = usual.max(1e-4);
    plane.data_mut().iter_mut().for_each(|v| *v = (*v / usual).clamp(-CUT, CUT));
    (plane, usual)
}
