//! From reflectance on the grid to the light that each pixel gathers: the lens's Gaussian blur (in um on the
//! face, perhaps varying), motion during the exposure, and the average over the pixel's square.

use crate::camera::Camera;
use crate::normal::windowed_kernel;
use crate::paint::{Grid, SOFT_SAMPLES};
use imaging::Plane;
use rayon::prelude::*;

/// Ratio of neighbouring blurs in the list of kernels of a varying blur.
const KERNEL_STEP: f64 = 1.01;

/// The blur of a whole picture.
pub(crate) struct Optics {
    kernels: Vec<Vec<f32>>,
    least_um: f64,
    smear: Option<(f64, f64)>,
}

impl Optics {
    /// The optics of a camera on a grid of the same camera.
    pub(crate) fn new(camera: &Camera, grid: &Grid) -> Optics {
        let (least, most) = blur_range(camera);
        let count = 1 + ((most / least).ln() / KERNEL_STEP.ln()).ceil() as usize;
        let kernel = |k: usize| {
            let sigma = least * KERNEL_STEP.powi(k as i32) / grid.um;
            windowed_kernel((sigma * sigma - SOFT_SAMPLES * SOFT_SAMPLES).sqrt(), grid.step)
        };
        let smear = (camera.smear_um > 0.0).then(|| {
            let (sin, cos) = camera.smear_deg.to_radians().sin_cos();
            let length = camera.smear_um / grid.um;
            (length * cos, length * sin)
        });
        Optics { kernels: (0..count).map(kernel).collect(), least_um: least, smear }
    }

    /// Pixels beyond the border that the blur of a camera reaches.
    pub(crate) fn pad_px(camera: &Camera) -> usize {
        let (_, most) = blur_range(camera);
        ((4.7 * most + 0.5 * camera.smear_um) / camera.um_per_px).ceil() as usize + 3
    }

    /// The light that each pixel of the picture gathers.
    pub(crate) fn gather(&self, scene: Plane<f32>, camera: &Camera, grid: &Grid) -> Plane<f32> {
        let scene = match self.smear {
            Some(by) => smeared(&scene, by),
            None => scene,
        };
        let level = |p: usize, j: usize| self.level(camera, grid, p, j);
        let tall = self.down(&scene, camera, grid, &level);
        self.across(&tall, camera, grid, &level)
    }

    /// Which kernel serves pixel column `p` and pixel row `q`.
    fn level(&self, camera: &Camera, grid: &Grid, p: usize, q: usize) -> usize {
        if self.kernels.len() == 1 {
            return 0;
        }
        let sample = |k: usize| (k * grid.step + grid.pad) as f64 + 0.5 * (grid.step as f64 - 1.0);
        let blur = camera.blur_at(grid.to_face(sample(p), sample(q)));
        let place = (blur / self.least_um).ln() / KERNEL_STEP.ln();
        (place.round() as usize).min(self.kernels.len() - 1)
    }

    /// Blurs down the columns: as many rows as the picture has, as many columns as the grid.
    fn down(
        &self,
        scene: &Plane<f32>,
        camera: &Camera,
        grid: &Grid,
        level: &(impl Fn(usize, usize) -> usize + Sync),
    ) -> Plane<f32> {
        let width = grid.width;
        let mut out = Plane::filled(width, camera.height_px, 0.0f32);
        out.data_mut().par_chunks_mut(width).enumerate().for_each(|(q, row)| {
            for (x0, x1, kernel) in self.runs(camera.width_px, grid, |p| level(p, q)) {
                let start = first_sample(q, kernel.len(), grid);
                for (t, weight) in kernel.iter().enumerate() {
                    let line = &scene.row(start + t)[x0..x1];
                    row[x0..x1].iter_mut().zip(line).for_each(|(o, v)| *o += weight * v);
                }
            }
        });
        out
    }

    /// Runs of grid columns that share a kernel; columns beyond the border take that of the nearest pixel.
    fn runs(
        &self,
        pixels: usize,
        grid: &Grid,
        level: impl Fn(usize) -> usize,
    ) -> Vec<(usize, usize, &[f32])> {
        if self.kernels.len() == 1 {
            return vec![(0, grid.width, &self.kernels[0])];
        }
        let mut runs: Vec<(usize, usize, usize)> = Vec::new();
        for p in 0..pixels {
            let x0 = if p == 0 { 0 } else { p * grid.step + grid.pad };
            let x1 = if p + 1 == pixels { grid.width } else { (p + 1) * grid.step + grid.pad };
            match runs.last_mut() {
                Some(run) if run.2 == level(p) => run.1 = x1,
                _ => runs.push((x0, x1, level(p))),
            }
        }
        runs.into_iter().map(|(x0, x1, k)| (x0, x1, self.kernels[k].as_slice())).collect()
    }

    /// Blurs along the rows and keeps one value for each pixel.
    fn across(
        &self,
        tall: &Plane<f32>,
        camera: &Camera,
        grid: &Grid,
        level: &(impl Fn(usize, usize) -> usize + Sync),
    ) -> Plane<f32> {
        let width = camera.width_px;
        let mut out = Plane::filled(width, camera.height_px, 0.0f32);
        let even = self.kernels.len() == 1 && grid.step == 1;
        out.data_mut().par_chunks_mut(width).enumerate().for_each(|(q, row)| {
            let line = tall.row(q);
            if even {
                return shifted_sums(
                    line,
                    &self.kernels[0],
                    first_sample(0, self.kernels[0].len(), grid),
                    row,
                );
            }
            for (p, out) in row.iter_mut().enumerate() {
                let kernel = &self.kernels[level(p, q)];
                let start = first_sample(p, kernel.len(), grid);
                *out = kernel.iter().zip(&line[start..]).map(|(k, v)| k * v).sum();
            }
        });
        out
    }
}

/// The first sample that a kernel of `length` about the middle of pixel `p` touches. Length and samples per
/// pixel are both odd or both even.
fn first_sample(p: usize, length: usize, grid: &Grid) -> usize {
    p * grid.step + grid.pad + grid.step / 2 - length / 2
}

fn shifted_sums(line: &[f32], kernel: &[f32], start: usize, out: &mut [f32]) {
    for (t, weight) in kernel.iter().enumerate() {
        out.iter_mut().zip(&line[start + t..]).for_each(|(o, v)| *o += weight * v);
    }
}

/// Smallest and largest blur in the picture, um.
fn blur_range(camera: &Camera) -> (f64, f64) {
    let lens = camera.lens();
    let (w, h) = (camera.width_px as f64 - 1.0, camera.height_px as f64 - 1.0);
    let corners = [(0.0, 0.0), (w, 0.0), (0.0, h), (w, h)];
    let at = |c: &(f64, f64)| camera.blur_at(lens.to_face(terms::Point::new(c.0, c.1)));
    // The blur is convex over the face: its largest value is in a corner.
    (camera.blur_um, corners.iter().map(at).fold(camera.blur_um, f64::max))
}

/// The scene drawn out evenly by (dx, dy) samples about each place.
fn smeared(scene: &Plane<f32>, (dx, dy): (f64, f64)) -> Plane<f32> {
    let count = (2.0 * dx.hypot(dy)).ceil().max(1.0) as usize;
    let (width, height) = (scene.width(), scene.height());
    let mut out = Plane::filled(width, height, 0.0f32);
    out.data_mut().par_chunks_mut(width).enumerate().for_each(|(j, row)| {
        for (i, out) in row.iter_mut().enumerate() {
            let sum: f32 = (0..count)
                .map(|k| {
                    let t = (k as f64 + 0.5) / count as f64 - 0.5;
                    scene.sample(i as f64 + t * dx, j as f64 + t * dy)
                })
                .sum();
            *out = sum / count as f32;
        }
    });
    out
}
