//! How well a straight support fits at every pixel: trimmed sums along sheared rows, in units of their own
//! scatter in each direction.

use crate::solve;
use imaging::Plane;

/// Directions tried over half a turn.
pub const DIRECTIONS: usize = 24;

/// Best score over the directions at each pixel, and which direction (`DIRECTIONS` or more: bright).
pub struct Scores {
    /// The score.
    pub best: Plane<f32>,
    /// The direction's number.
    pub which: Plane<u8>,
}

impl Scores {
    /// Scores of a ridge image for segments of `segment` pixels.
    pub fn of(ridge: &Plane<f32>, inside: &Plane<f32>, segment: f64) -> Scores {
        let (w, h) = (ridge.width(), ridge.height());
        let mut scores = Scores { best: Plane::filled(w, h, 0.0), which: Plane::filled(w, h, 0) };
        let turned = (transposed(ridge), transposed(inside));
        for k in 0..DIRECTIONS {
            let angle = direction(k);
            let flat = angle.cos().abs() >= angle.sin().abs();
            // The sheared walk goes along x with y contiguous, so a flat direction works on the transpose.
            let (plane, mask) = if flat { (&turned.0, &turned.1) } else { (ridge, inside) };
            let slope = if flat { angle.tan() } else { 1.0 / angle.tan() };
            let along = segment * if flat { angle.cos().abs() } else { angle.sin().abs() };
            let sheared = Sheared::of(plane, mask, slope, (along.round() as usize).max(1));
            sheared.merge(&mut scores, k as u8, flat);
        }
        scores
    }
}

/// Angle of direction k from x towards y, radians in [0, pi).
pub fn direction(k: usize) -> f64 {
    k as f64 * std::f64::consts::PI / DIRECTIONS as f64
}

fn transposed(p: &Plane<f32>) -> Plane<f32> {
    Plane::from_fn(p.height(), p.width(), |x, y| p.at(y, x))
}

/// Trimmed sums along one direction; row i of the plane is one step along, columns run across.
struct Sheared {
    dark: Vec<f32>,
    bright: Vec<f32>,
    shifts: Vec<isize>,
    width: usize,
    pad: usize,
    rows: usize,
}

impl Sheared {
    fn of(plane: &Plane<f32>, mask: &Plane<f32>, slope: f64, along: usize) -> Sheared {
        let (rows, columns) = (plane.height(), plane.width());
        let shifts: Vec<isize> = (0..rows).map(|i| (i as f64 * slope).round() as isize).collect();
        let pad = shifts.iter().map(|s| s.unsigned_abs()).max().unwrap_or(0);
        let width = columns + pad;
        // Column c of the sheared plane at row i is column c + shift(i) - offset of the plane.
        let offset = if slope >= 0.0 { pad as isize } else { 0 };
        let mut sums = vec![0.0f32; (rows + 1) * width];
        for i in 0..rows {
            let (above, below) = sums.split_at_mut((i + 1) * width);
            let (above, below) = (&above[i * width..], &mut below[..width]);
            below.copy_from_slice(above);
            let start = (offset - shifts[i]) as usize;
            for (b, v) in below[start..start + columns].iter_mut().zip(plane.row(i)) {
                *b += v;
            }
        }
        let mut dark = vec![0.0f32; rows * width];
        let mut bright = vec![0.0f32; rows * width];
        let line = |i: isize| {
            let i = i.clamp(0, rows as isize) as usize;
            &sums[i * width..(i + 1) * width]
        };
        let step = along as isize;
        for i in 0..rows {
            let c = i as isize;
            let (p0, p1, p2, p3, p4) =
                (line(c - 2 * step), line(c - step), line(c), line(c + step), line(c + 2 * step));
            let (d, b) = (&mut dark[i * width..(i + 1) * width], &mut bright[i * width..(i + 1) * width]);
            for j in 0..width {
                let (s1, s2, s3, s4) = (p1[j] - p0[j], p2[j] - p1[j], p3[j] - p2[j], p4[j] - p3[j]);
                let all = p4[j] - p0[j];
                d[j] = s1.min(s2).min(s3.min(s4)) - all;
                b[j] = all - s1.max(s2).max(s3.max(s4));
            }
        }
        let mut sheared =
            Sheared { dark, bright, shifts: shifts.iter().map(|s| offset - s).collect(), width, pad, rows };
        sheared.normalise(mask);
        sheared
    }

    /// Divides by the scatter of the scores over the glass; trimming biases both to below zero, which is kept.
    fn normalise(&mut self, mask: &Plane<f32>) {
        let _ = self.pad;
        let mut sample = Vec::new();
        for i in (0..self.rows).step_by(3) {
            let start = i * self.width + self.shifts[i] as usize;
            for (x, m) in mask.row(i).iter().enumerate().step_by(5) {
                if *m > 0.0 {
                    sample.push((self.bright[start + x] - self.dark[start + x]) / 2.0);
                }
            }
        }
        let scale = 1.0 / solve::spread32(&sample).max(1e-9);
        for v in self.dark.iter_mut().chain(self.bright.iter_mut()) {
            *v *= scale;
        }
    }

    fn merge(&self, scores: &mut Scores, k: u8, flat: bool) {
        for i in 0..self.rows {
            let start = i * self.width + self.shifts[i] as usize;
            let columns = if flat { scores.best.height() } else { scores.best.width() };
            for j in 0..columns {
                let (d, b) = (self.dark[start + j], self.bright[start + j]);
                let (x, y) = if flat { (i, j) } else { (j, i) };
                let (score, which) = if d >= b { (d, k) } else { (b, k + DIRECTIONS as u8) };
                if score > scores.best.at(x, y) {
                    scores.best.set(x, y, score);
                    scores.which.set(x, y, which);
                }
            }
        }
    }
}
