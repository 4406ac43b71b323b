//! One picture out of several whose places are known: exposures matched, and each place taken mostly from the
//! picture whose border is farthest.

use super::rigid::Spot;
use crate::solve::{cholesky, median};
use imaging::Plane;
use rayon::prelude::*;

/// Carries places: (x, y) -> (a x + b y + c, d x + e y + f).
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Affine(pub [[f64; 3]; 2]);

impl Affine {
    #[inline]
    pub fn place(&self, (x, y): Spot) -> Spot {
        let [[a, b, c], [d, e, f]] = self.0;
        (a * x + b * y + c, d * x + e * y + f)
    }

    /// The affine map that carries (0, 0), (1, 0) and (0, 1) as `f` does.
    pub fn like(f: impl Fn(Spot) -> Spot) -> Affine {
        let (o, x, y) = (f((0.0, 0.0)), f((1.0, 0.0)), f((0.0, 1.0)));
        Affine([[x.0 - o.0, y.0 - o.0, o.0], [x.1 - o.1, y.1 - o.1, o.1]])
    }
}

/// One picture and its place in the composition.
pub(crate) struct Piece<'a> {
    /// The picture, shrunk or not.
    pub plane: &'a Plane<f32>,
    /// From pixels of the composition to pixels of the plane.
    pub way: Affine,
}

/// Pixels of the composition from one place at which exposures are compared to the next.
const SAMPLE: usize = 9;

/// The composition of pieces whose light is multiplied by `gains`; not a number where no picture reaches.
pub(crate) fn composed(pieces: &[Piece], gains: &[f32], width: usize, height: usize) -> Plane<f32> {
    let mut data = vec![f32::NAN; width * height];
    data.par_chunks_mut(width.max(1)).enumerate().for_each(|(y, row)| {
        let mut weights = vec![0.0f32; width];
        row.fill(0.0);
        for (piece, gain) in pieces.iter().zip(gains) {
            add(piece, *gain, y, row, &mut weights);
        }
        row.iter_mut().zip(weights).for_each(|(v, w)| *v = if w > 0.0 { *v / w } else { f32::NAN });
    });
    Plane::from_vec(width, height, data).unwrap_or_else(|| Plane::filled(0, 0, 0.0))
}

/// Adds what a piece shows of row `y`.
fn add(piece: &Piece, gain: f32, y: usize, row: &mut [f32], weights: &mut [f32]) {
    let [[a, b, c], [d, e, f]] = piece.way.0;
    let (u0, v0) = (b * y as f64 + c, e * y as f64 + f);
    let (right, bottom) = (piece.plane.width() as f64 - 0.5, piece.plane.height() as f64 - 0.5);
    let span = meet(between(u0, a, right), between(v0, d, bottom));
    let (first, last) = (span.0.ceil().max(0.0), span.1.floor().min(row.len() as f64 - 1.0));
    if first > last {
        return;
    }
    let half = 0.5 * (right + 0.5).min(bottom + 0.5);
    for x in first as usize..=last as usize {
        let (u, v) = (u0 + a * x as f64, v0 + d * x as f64);
        let inside = (u + 0.5).min(right - u).min(v + 0.5).min(bottom - v).max(0.0) / half;
        let weight = (inside * inside * inside * inside + 1e-6) as f32;
        row[x] += weight * gain * piece.plane.sample(u, v);
        weights[x] += weight;
    }
}

/// The x for which `start + slope * x` lies in -0.5..=end.
pub(super) fn between(start: f64, slope: f64, end: f64) -> (f64, f64) {
    if slope.abs() < 1e-12 {
        let inside = (-0.5..=end).contains(&start);
        return if inside { (f64::NEG_INFINITY, f64::INFINITY) } else { (1.0, 0.0) };
    }
    let (p, q) = ((-0.5 - start) / slope, (end - start) / slope);
    (p.min(q), p.max(q))
}

pub(super) fn meet(a: (f64, f64), b: (f64, f64)) -> (f64, f64) {
    (a.0.max(b.0), a.1.min(b.1))
}

/// What each piece's light is multiplied by so that they agree where they overlap, by least squares over the
/// median ratios of all pairs.
pub(crate) fn gains(pieces: &[Piece], width: usize, height: usize) -> Vec<f32> {
    let count = pieces.len();
    let mut ratios: Vec<Vec<f64>> = vec![Vec::new(); count * count];
    for y in (SAMPLE / 2..height).step_by(SAMPLE) {
        for x in (SAMPLE / 2..width).step_by(SAMPLE) {
            let seen: Vec<(usize, f64)> = pieces
                .iter()
                .enumerate()
                .filter_map(|(i, p)| Some((i, light(p, (x as f64, y as f64))?)))
                .collect();
            for (n, &(i, a)) in seen.iter().enumerate() {
                seen[n + 1..].iter().for_each(|&(j, b)| ratios[i * count + j].push((a / b).ln()));
            }
        }
    }
    let (mut normal, mut right) = (vec![0.0; count * count], vec![0.0; count]);
    (0..count).for_each(|i| normal[i * count + i] += 1e-3);
    for i in 0..count {
        for j in i + 1..count {
            let pair = &mut ratios[i * count + j];
            if pair.len() < 4 {
                continue;
            }
            let (ratio, weight) = (median(pair), pair.len() as f64);
            normal[i * count + i] += weight;
            normal[j * count + j] += weight;
            normal[i * count + j] -= weight;
            normal[j * count + i] -= weight;
            right[i] -= weight * ratio;
            right[j] += weight * ratio;
        }
    }
    let logs = cholesky(&mut normal, &right).unwrap_or_else(|| vec![0.0; count]);
    logs.into_iter().map(|l| l.exp() as f32).collect()
}

fn light(piece: &Piece, at: Spot) -> Option<f64> {
    let (u, v) = piece.way.place(at);
    let inside = u >= 0.0
        && v >= 0.0
        && u <= piece.plane.width() as f64 - 1.0
        && v <= piece.plane.height() as f64 - 1.0;
    inside.then(|| f64::from(piece.plane.sample(u, v)) + 0.004)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_halves_of_one_slope_at_two_exposures_make_it_whole() {
        let whole = |x: f64| (0.2 + 0.002 * x) as f32;
        let left = Plane::from_fn(60, 40, |x, _| whole(x as f64));
        let right = Plane::from_fn(60, 40, |x, _| 0.5 * (whole(x as f64 + 40.0) + 0.004) - 0.004);
        let shifted = |by: f64| Affine([[1.0, 0.0, -by], [0.0, 1.0, 0.0]]);
        let pieces = [Piece { plane: &left, way: shifted(0.0) }, Piece { plane: &right, way: shifted(40.0) }];
        let made = composed(&pieces, &gains(&pieces, 110, 40), 110, 40);
        let factor = made.at(5, 20) / whole(5.0);
        for x in [20, 45, 55, 80, 99] {
            assert!((made.at(x, 20) / whole(x as f64) / factor - 1.0).abs() < 0.02, "{x}");
        }
        assert!(made.at(105, 20).is_nan());
    }
}
