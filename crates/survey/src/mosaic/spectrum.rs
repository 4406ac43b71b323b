//! At which shifts two textures agree: their correlation at every shift at once, by way of their spectra
//! (C. D. Kuglin and D. C. Hines 1975, The phase correlation image alignment method; here the amplitudes are
//! kept, for the textures are white enough and noise is not to be raised).

use imaging::Plane;
use realfft::{ComplexToReal, RealFftPlanner, RealToComplex};
use rustfft::num_complex::Complex32;
use rustfft::{Fft, FftPlanner};
use std::sync::Arc;

/// Least overlap of two pictures, over the width and over the height, at which a shift is looked at.
const LEAST_OVERLAP: (f64, f64) = (0.05, 0.3);

/// Shifts nearer than this, pixels of the textures, are one peak.
const APART: i32 = 6;

/// The plans for pictures of one size.
pub(crate) struct Bench {
    /// Size of the textures.
    size: (usize, usize),
    /// Size of the transforms: room for every shift.
    room: (usize, usize),
    rows: Arc<dyn RealToComplex<f32>>,
    rows_back: Arc<dyn ComplexToReal<f32>>,
    columns: Arc<dyn Fft<f32>>,
    columns_back: Arc<dyn Fft<f32>>,
}

/// The spectrum of one texture, column by column.
pub(crate) struct Spectrum(Vec<Complex32>);

/// A shift at which two textures agree.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Peak {
    /// Place in the second texture less place in the first.
    pub shift: (i32, i32),
    /// Agreement over what chance brings.
    pub strength: f32,
}

impl Bench {
    /// Plans for textures of a size.
    pub fn new(size: (usize, usize)) -> Bench {
        let room = (even_room(size.0, LEAST_OVERLAP.0), even_room(size.1, LEAST_OVERLAP.1));
        let (mut real, mut complex) = (RealFftPlanner::new(), FftPlanner::new());
        Bench {
            size,
            room,
            rows: real.plan_fft_forward(room.0),
            rows_back: real.plan_fft_inverse(room.0),
            columns: complex.plan_fft_forward(room.1),
            columns_back: complex.plan_fft_inverse(room.1),
        }
    }

    fn half(&self) -> usize {
        self.room.0 / 2 + 1
    }

    /// The spectrum of a texture of at most this size; none for a larger one.
    pub fn spectrum(&self, plane: &Plane<f32>) -> Option<Spectrum> {
        if plane.width() > self.size.0 || plane.height() > self.size.1 {
            return None;
        }
        let (half, high) = (self.half(), self.room.1);
        let mut all = vec![Complex32::default(); half * high];
        let (mut line, mut out) = (vec![0.0; self.room.0], vec![Complex32::default(); half]);
        let mut scratch = self.rows.make_scratch_vec();
        for y in 0..plane.height() {
            line.fill(0.0);
            line[..plane.width()].copy_from_slice(plane.row(y));
            self.rows.process_with_scratch(&mut line, &mut out, &mut scratch).ok()?;
            out.iter().enumerate().for_each(|(u, &v)| all[u * high + y] = v);
        }
        self.columns.process(&mut all);
        Some(Spectrum(all))
    }

    /// The strongest agreements of two textures, strongest first, at most `count`.
    pub fn peaks(&self, a: &Spectrum, b: &Spectrum, count: usize) -> Vec<Peak> {
        let (half, high) = (self.half(), self.room.1);
        let mut product: Vec<Complex32> = a.0.iter().zip(&b.0).map(|(a, b)| a.conj() * b).collect();
        self.columns_back.process(&mut product);
        let reach_y = (self.size.1 as f64 * (1.0 - LEAST_OVERLAP.1)) as i32;
        let reach_x = (self.size.0 as f64 * (1.0 - LEAST_OVERLAP.0)) as i32;
        let (mut line, mut out) = (vec![Complex32::default(); half], vec![0.0f32; self.room.0]);
        let mut scratch = self.rows_back.make_scratch_vec();
        let mut surface = Plane::filled((2 * reach_x + 1) as usize, (2 * reach_y + 1) as usize, 0.0f32);
        for dy in -reach_y..=reach_y {
            let y = dy.rem_euclid(high as i32) as usize;
            line.iter_mut().enumerate().for_each(|(u, v)| *v = product[u * high + y]);
            line[0].im = 0.0;
            line[half - 1].im = 0.0;
            if self.rows_back.process_with_scratch(&mut line, &mut out, &mut scratch).is_err() {
                return Vec::new();
            }
            let tall = self.size.1 as f32 - dy.unsigned_abs() as f32;
            let row = surface.row_mut((dy + reach_y) as usize);
            for (x, value) in row.iter_mut().enumerate() {
                let dx = x as i32 - reach_x;
                let wide = self.size.0 as f32 - dx.unsigned_abs() as f32;
                *value = out[dx.rem_euclid(self.room.0 as i32) as usize] / (wide * tall).sqrt();
            }
        }
        strongest(&surface, (reach_x, reach_y), count)
    }
}

/// The least even length with small prime factors that holds a side and every shift looked at.
fn even_room(side: usize, least: f64) -> usize {
    let need = (side as f64 * (2.0 - least)).ceil() as usize + 1;
    let smooth = |mut n: usize| {
        for p in [2, 3, 5] {
            while n.is_multiple_of(p) {
                n /= p;
            }
        }
        n == 1
    };
    (need..).find(|&n| n % 2 == 0 && smooth(n)).unwrap_or(need)
}

/// Maxima of the surface, over its usual size.
fn strongest(surface: &Plane<f32>, (reach_x, reach_y): (i32, i32), count: usize) -> Vec<Peak> {
    let mut sizes: Vec<f32> = surface.data().iter().step_by(13).map(|v| v.abs()).collect();
    let middle = sizes.len() / 2;
    let usual = *sizes.select_nth_unstable_by(middle, f32::total_cmp).1 / 0.6745;
    if usual <= 0.0 {
        return Vec::new();
    }
    let floor = 5.0 * usual;
    let mut high: Vec<(f32, i32, i32)> = Vec::new();
    for y in 0..surface.height() {
        for (x, &v) in surface.row(y).iter().enumerate().filter(|(_, v)| **v > floor) {
            high.push((v, x as i32 - reach_x, y as i32 - reach_y));
        }
    }
    high.sort_by(|a, b| b.0.total_cmp(&a.0).then((a.1, a.2).cmp(&(b.1, b.2))));
    let mut peaks: Vec<Peak> = Vec::new();
    for (value, x, y) in high {
        let known = |p: &Peak| (p.shift.0 - x).abs() <= APART && (p.shift.1 - y).abs() <= APART;
        if !peaks.iter().any(known) {
            peaks.push(Peak { shift: (x, y), strength: value / usual });
            if peaks.len() == count {
                break;
            }
        }
    }
    peaks
}
