//! How well a straight support fits at every pixel: trimmed sums along sheared rows, in units of their own
//! scatter in each direction.

use crate::solve;
use imaging::Plane;
use imaging::vectors::widest;

/// Directions tried over half a turn.
pub const DIRECTIONS: usize = 24;

/// Rows between those whose scores measure the scatter.
const SAMPLED: usize = 5;

/// The least scatter of sums over a number of pixels.
type Least<'a> = dyn Fn(f64) -> f64 + Sync + 'a;

/// Best score over the directions at each pixel, and which direction (`DIRECTIONS` or more: bright).
pub struct Scores {
    /// The score.
    pub best: Plane<f32>,
    /// The direction's number.
    pub which: Plane<u8>,
}

impl Scores {
    /// Scores of a ridge image for segments of `segment` pixels; `inside` is above 0 on the glass, `least` tells
    /// the least scatter of sums over a number of pixels.
    pub fn of(ridge: &Plane<f32>, inside: &Plane<f32>, segment: f64, least: &Least) -> Scores {
        let is_flat = |k: &usize| {
            let (sin, cos) = direction(*k).sin_cos();
            cos.abs() >= sin.abs()
        };
        // The sheared walk goes from row to row with columns contiguous, so flat directions work on the
        // transpose and are turned back at the end.
        let flat = || {
            let (turned, turned_inside) = (transposed(ridge), transposed(inside));
            let mut flat = Best::of(&turned);
            for k in (0..DIRECTIONS).filter(is_flat) {
                let (sin, cos) = direction(k).sin_cos();
                widest(
                    #[inline(always)]
                    || flat.merge(&turned, &turned_inside, sin / cos, segment * cos.abs(), k, least),
                );
            }
            (transposed(&flat.score), transposed(&flat.which))
        };
        let steep = || {
            let mut steep = Best::of(ridge);
            for k in (0..DIRECTIONS).filter(|k| !is_flat(k)) {
                let (sin, cos) = direction(k).sin_cos();
                widest(
                    #[inline(always)]
                    || steep.merge(ridge, inside, cos / sin, segment * sin.abs(), k, least),
                );
            }
            (steep.score, steep.which)
        };
        let ((flat_best, flat_which), (mut best, mut which)) = rayon::join(flat, steep);
        let flat = flat_best.data().iter().zip(flat_which.data());
        for ((a, u), (b, v)) in best.data_mut().iter_mut().zip(which.data_mut()).zip(flat) {
            if b.abs() > a.abs() {
                (*a, *u) = (*b, *v);
            }
            *u += if *a > 0.0 { DIRECTIONS as u32 } else { 0 };
            *a = a.abs();
        }
        Scores { best, which: which.map(|w| w as u8) }
    }
}

/// Angle of direction k from x towards y, radians in [0, pi).
pub fn direction(k: usize) -> f64 {
    k as f64 * std::f64::consts::PI / DIRECTIONS as f64
}

fn transposed<T: Copy + Default>(p: &Plane<T>) -> Plane<T> {
    const TILE: usize = 16;
    let (w, h) = (p.width(), p.height());
    let mut out = Plane::filled(h, w, T::default());
    for y0 in (0..h).step_by(TILE) {
        for x0 in (0..w).step_by(TILE) {
            for x in x0..(x0 + TILE).min(w) {
                let row = out.row_mut(x);
                for (y, to) in (y0..(y0 + TILE).min(h)).zip(&mut row[y0..]) {
                    *to = p.at(x, y);
                }
            }
        }
    }
    out
}

/// The best so far among directions nearer to the columns than to the rows.
struct Best {
    /// Signed: below 0 for dark lines.
    score: Plane<f32>,
    /// As wide as the score, so that both are chosen in one vector.
    which: Plane<u32>,
}

impl Best {
    fn of(plane: &Plane<f32>) -> Best {
        let (w, h) = (plane.width(), plane.height());
        Best { score: Plane::filled(w, h, 0.0), which: Plane::filled(w, h, 0) }
    }

    /// Tries the direction that moves `slope` columns for each row, with segments of `along` rows.
    #[inline(always)]
    fn merge(
        &mut self,
        plane: &Plane<f32>,
        inside: &Plane<f32>,
        slope: f64,
        along: f64,
        k: usize,
        least: &Least,
    ) {
        let along = (along.round() as usize).max(1);
        let sheared = Sheared::of(plane, slope, along);
        // Three segments count, row by row.
        let least = least(3.0 * along as f64) as f32;
        let scale = 1.0 / sheared.scatter(inside).max(least).max(1e-9);
        let mut signed = vec![0.0f32; plane.width()];
        for row in 0..plane.height() {
            sheared.row(row, &mut signed);
            let (best, which) = (self.score.row_mut(row), self.which.row_mut(row));
            for ((s, b), w) in signed.iter().zip(best).zip(which) {
                let s = s * scale;
                let better = s.abs() > b.abs();
                *b = if better { s } else { *b };
                *w = if better { k as u32 } else { *w };
            }
        }
    }
}

/// The lesser of two numbers, neither of which is NaN: one instruction, where the library's takes four.
#[inline]
fn lesser(a: f32, b: f32) -> f32 {
    if a < b { a } else { b }
}

/// The greater of two numbers, neither of which is NaN.
#[inline]
fn greater(a: f32, b: f32) -> f32 {
    if a > b { a } else { b }
}

/// Running sums down the sheared columns of a plane.
struct Sheared {
    sums: Vec<f32>,
    /// Where column 0 of the plane stands in each row of the sums.
    start: Vec<usize>,
    width: usize,
    columns: usize,
    rows: usize,
    along: isize,
}

impl Sheared {
    #[inline(always)]
    fn of(plane: &Plane<f32>, slope: f64, along: usize) -> Sheared {
        let (rows, columns) = (plane.height(), plane.width());
        let shift = |row: usize| (row as f64 * slope).round() as isize;
        let pad = shift(rows.saturating_sub(1)).unsigned_abs();
        let width = columns + pad;
        let offset = if slope >= 0.0 { pad as isize } else { 0 };
        let start: Vec<usize> = (0..rows).map(|row| (offset - shift(row)) as usize).collect();
        let mut sums = Vec::with_capacity((rows + 1) * width);
        sums.resize(width, 0.0f32);
        for row in 0..rows {
            sums.extend_from_within(row * width..);
            let first = (row + 1) * width + start[row];
            sums[first..first + columns].iter_mut().zip(plane.row(row)).for_each(|(sum, v)| *sum += v);
        }
        Sheared { sums, start, width, columns, rows, along: along as isize }
    }

    /// Signed trimmed sums of one row of the plane: the stronger of the dark and the bright reading.
    #[inline(always)]
    fn row(&self, row: usize, signed: &mut [f32]) {
        let line = |steps: isize| {
            let at = (row as isize + steps * self.along).clamp(0, self.rows as isize) as usize;
            let from = at * self.width + self.start[row];
            &self.sums[from..from + self.columns]
        };
        let (p0, p1, p2, p3, p4) = (line(-2), line(-1), line(0), line(1), line(2));
        for (j, out) in signed[..self.columns].iter_mut().enumerate() {
            let (s1, s2, s3, s4) = (p1[j] - p0[j], p2[j] - p1[j], p3[j] - p2[j], p4[j] - p3[j]);
            let all = p4[j] - p0[j];
            let dark = lesser(lesser(s1, s2), lesser(s3, s4)) - all;
            let bright = all - greater(greater(s1, s2), greater(s3, s4));
            *out = if dark >= bright { -greater(dark, 0.0) } else { greater(bright, 0.0) };
        }
    }

    /// Robust scatter over the glass of what trimming leaves of the sums.
    fn scatter(&self, inside: &Plane<f32>) -> f32 {
        let mut sample = Vec::new();
        for row in (0..self.rows).step_by(SAMPLED) {
            let line = |steps: isize| {
                let at = (row as isize + steps * self.along).clamp(0, self.rows as isize) as usize;
                &self.sums[at * self.width + self.start[row]..]
            };
            let (p0, p1, p2, p3, p4) = (line(-2), line(-1), line(0), line(1), line(2));
            for (j, m) in inside.row(row).iter().enumerate().step_by(SAMPLED) {
                if *m > 0.0 {
                    let (s1, s2, s3, s4) = (p1[j] - p0[j], p2[j] - p1[j], p3[j] - p2[j], p4[j] - p3[j]);
                    let ends =
                        lesser(lesser(s1, s2), lesser(s3, s4)) + greater(greater(s1, s2), greater(s3, s4));
                    sample.push(p4[j] - p0[j] - ends / 2.0);
                }
            }
        }
        solve::spread32(&sample)
    }
}
