//! From light to samples: uneven light, exposure, shot and read noise, hot pixels, and the steps of the
//! converter.

use crate::camera::{Bits, Camera};
use crate::random::{Stream, Topic, hash, topic_seed, unit};
use imaging::{Frame, Plane, Samples};
use rayon::prelude::*;
use std::f64::consts::TAU;

/// The picture that the sensor makes of the light. None only for an empty picture.
pub(crate) fn expose(gathered: &Plane<f32>, camera: &Camera) -> Option<Frame> {
    let (width, height) = (gathered.width(), gathered.height());
    let samples = match camera.bits {
        Bits::Eight => Samples::Eight(sampled(gathered, camera, 255.0, |v| v as u8)),
        Bits::Sixteen => Samples::Sixteen(sampled(gathered, camera, 65535.0, |v| v as u16)),
    };
    Frame::new(width, height, samples)
}

fn sampled<T: Copy + Default + Send>(
    gathered: &Plane<f32>,
    camera: &Camera,
    full: f32,
    convert: impl Fn(f32) -> T + Sync,
) -> Vec<T> {
    let width = gathered.width();
    let sensor = Sensor::new(camera);
    let hot = hot_pixels(camera);
    let mut out = vec![T::default(); width * gathered.height()];
    out.par_chunks_mut(width).enumerate().for_each(|(q, row)| {
        let mut noise = RowNoise::new(sensor.seed, q);
        for (p, (out, &value)) in row.iter_mut().zip(gathered.row(q)).enumerate() {
            let light = value * sensor.light(p, q);
            let level = sensor.exposure * light + sensor.spread(light) * noise.at(p);
            // Rounds to the nearest step: the conversion cuts off what is left.
            *out = convert((level * full + 0.5).clamp(0.0, full));
        }
        for &(at, level) in hot.iter().filter(|h| h.0 / width == q) {
            row[at % width] = convert(level * full + 0.5);
        }
    });
    out
}

struct Sensor {
    exposure: f32,
    read: f32,
    shot: f32,
    middle: (f32, f32),
    slope: (f32, f32),
    vignette: f32,
    seed: u64,
}

impl Sensor {
    fn new(camera: &Camera) -> Sensor {
        let (w, h) = (camera.width_px as f32, camera.height_px as f32);
        let middle = (0.5 * (w - 1.0), 0.5 * (h - 1.0));
        let (sin, cos) = camera.light.slope_deg.to_radians().sin_cos();
        let half = 0.5 * f64::from(w).max(f64::from(h));
        let per_px = camera.light.slope / half;
        let variance = (camera.exposure / camera.signal_to_noise).powi(2);
        Sensor {
            exposure: camera.exposure as f32,
            read: (variance * (1.0 - camera.shot_share)) as f32,
            shot: (variance * camera.shot_share) as f32,
            middle,
            slope: ((per_px * cos) as f32, (per_px * sin) as f32),
            vignette: (camera.light.vignette / f64::from(middle.0 * middle.0 + middle.1 * middle.1)) as f32,
            seed: topic_seed(camera.seed, Topic::Sensor),
        }
    }

    #[inline]
    fn light(&self, p: usize, q: usize) -> f32 {
        let (dx, dy) = (p as f32 - self.middle.0, q as f32 - self.middle.1);
        let slope = 1.0 + self.slope.0 * dx + self.slope.1 * dy;
        (slope * (1.0 - self.vignette * (dx * dx + dy * dy))).max(0.0)
    }

    /// Standard deviation of the noise where `light` is 1 on clean glass under even light.
    #[inline]
    fn spread(&self, light: f32) -> f32 {
        (self.read + self.shot * light.max(0.0)).sqrt()
    }
}

/// Standard normal numbers along a row, two from each hash (Box and Muller, 1958).
struct RowNoise {
    seed: u64,
    row: i64,
    second: f32,
}

impl RowNoise {
    fn new(seed: u64, row: usize) -> RowNoise {
        RowNoise { seed, row: row as i64, second: 0.0 }
    }

    /// The number of column `p`; columns are asked for in order from 0.
    #[inline]
    fn at(&mut self, p: usize) -> f32 {
        if p % 2 == 1 {
            return self.second;
        }
        let bits = hash(self.seed, self.row, (p / 2) as i64);
        let share = ((bits >> 32) as f64 + 0.5) / 4_294_967_296.0;
        let radius = (-2.0 * share.ln()).sqrt();
        let (sin, cos) = (TAU * f64::from(bits as u32) / 4_294_967_296.0).sin_cos();
        self.second = (radius * sin) as f32;
        (radius * cos) as f32
    }
}

/// Places (index in row order) and levels of hot pixels.
fn hot_pixels(camera: &Camera) -> Vec<(usize, f32)> {
    let count = camera.width_px * camera.height_px;
    (0..camera.hot_pixels)
        .map(|k| {
            let mut chance = Stream::new(camera.seed, Topic::HotPixel, k as i64, 0);
            let at = (unit(chance.bits()) * count as f64) as usize;
            (at.min(count - 1), chance.between(0.75, 1.0) as f32)
        })
        .collect()
}
