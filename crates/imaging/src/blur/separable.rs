//! Convolution by a kernel along x and one along y: the columns of each row first, into one padded line, then
//! along that line, so that no plane is held in between.

use super::kernel::Kernel;
use super::{reflect_ends, reflected};
use crate::plane::Plane;
use crate::vectors::widest;
use std::ops::Range;

/// Values that one pass of the inner loop carries; wide enough for any machine's vectors.
const LANES: usize = 32;

/// The plane convolved by `kx` along its rows and `ky` along its columns.
pub fn convolve(plane: &Plane<f32>, kx: &Kernel, ky: &Kernel) -> Plane<f32> {
    convolve_within(plane, kx, ky, |_| 0..plane.width())
}

/// The same in the columns `within(y)` of each row `y` alone, which must lie in the plane; 0 elsewhere.
pub(super) fn convolve_within(
    plane: &Plane<f32>,
    kx: &Kernel,
    ky: &Kernel,
    within: impl Fn(usize) -> Range<usize>,
) -> Plane<f32> {
    widest(
        #[inline(always)]
        || rows_within(plane, kx, ky, within),
    )
}

#[inline(always)]
fn rows_within(
    plane: &Plane<f32>,
    kx: &Kernel,
    ky: &Kernel,
    within: impl Fn(usize) -> Range<usize>,
) -> Plane<f32> {
    let (width, height) = (plane.width(), plane.height());
    if width == 0 || height == 0 {
        return plane.clone();
    }
    let mut data = Vec::with_capacity(width * height);
    let margin = kx.radius();
    let mut line = vec![0.0; width + 2 * margin];
    let mut pairs: Vec<(&[f32], &[f32])> = Vec::with_capacity(ky.radius() + 1);
    for y in 0..height {
        // Row by row: a whole plane of zeros would be written and fetched again.
        data.resize((y + 1) * width, 0.0);
        let Range { start, end } = within(y);
        if start >= end {
            continue;
        }
        let reach = start.saturating_sub(margin)..(end + margin).min(width);
        let near = |offset: isize| &plane.row(reflected(y as isize + offset, height))[reach.clone()];
        pairs.clear();
        // Pushed one by one: an `extend` is called apart, where it is not made for wide vectors.
        for k in 0..=ky.radius() as isize {
            pairs.push((near(-k), near(k)));
        }
        combine(ky, &mut line[margin..][reach.clone()], |k| pairs[k]);
        reflect_ends(&mut line, margin);
        let line = &line[start..end + 2 * margin];
        let count = end - start;
        combine(kx, &mut data[y * width..][start..end], |k| {
            (&line[margin - k..][..count], &line[margin + k..][..count])
        });
    }
    Plane::from_vec(width, height, data).unwrap_or_else(|| Plane::filled(0, 0, 0.0))
}

/// Writes the weighted sum (or difference) of the pairs of lines that the kernel's taps join.
#[inline(always)]
fn combine<'a>(kernel: &Kernel, out: &mut [f32], pair: impl Fn(usize) -> (&'a [f32], &'a [f32])) {
    match (kernel.is_odd(), out.len() >= LANES) {
        (false, true) => combine_blocks::<LANES, false>(kernel.taps(), out, pair),
        (false, false) => combine_blocks::<1, false>(kernel.taps(), out, pair),
        (true, true) => combine_blocks::<LANES, true>(kernel.taps(), out, pair),
        (true, false) => combine_blocks::<1, true>(kernel.taps(), out, pair),
    }
}

#[inline(always)]
fn combine_blocks<'a, const N: usize, const ODD: bool>(
    taps: &[f32],
    out: &mut [f32],
    pair: impl Fn(usize) -> (&'a [f32], &'a [f32]),
) {
    let width = out.len();
    let mut x = 0;
    while x < width {
        // The last block is moved back to fit and does some values twice, to the same result.
        let at = x.min(width - N);
        let mut sums = [0.0_f32; N];
        for (k, &tap) in taps.iter().enumerate() {
            let (before, after) = pair(k);
            let (before, after) = (&before[at..at + N], &after[at..at + N]);
            // The middle pixel is its own partner.
            let tap = if k == 0 { tap * 0.5 } else { tap };
            for i in 0..N {
                sums[i] += tap * if ODD { after[i] - before[i] } else { after[i] + before[i] };
            }
        }
        out[at..at + N].copy_from_slice(&sums);
        x += N;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The plain double sum that the fast one must equal.
    fn slow(plane: &Plane<f32>, kx: &Kernel, ky: &Kernel) -> Plane<f32> {
        let full = |k: &Kernel| -> Vec<(isize, f64)> {
            let r = k.radius() as isize;
            let sign = |i: isize| if k.is_odd() && i < 0 { -1.0 } else { 1.0 };
            (-r..=r).map(|i| (i, sign(i) * f64::from(k.taps()[i.unsigned_abs()]))).collect()
        };
        let (wx, wy) = (full(kx), full(ky));
        Plane::from_fn(plane.width(), plane.height(), |x, y| {
            let mut sum = 0.0;
            for &(dy, b) in &wy {
                let row = plane.row(reflected(y as isize + dy, plane.height()));
                for &(dx, a) in &wx {
                    sum += a * b * f64::from(row[reflected(x as isize + dx, plane.width())]);
                }
            }
            sum as f32
        })
    }

    #[test]
    fn every_size_and_kernel_equals_the_plain_double_sum() {
        let kernels = [
            Kernel::gaussian(0.7).unwrap(),
            Kernel::gaussian_slope(1.3).unwrap(),
            Kernel::gaussian_bend(2.1).unwrap(),
        ];
        for (width, height) in [(1, 1), (3, 50), (31, 5), (32, 4), (33, 2), (70, 9)] {
            let plane = Plane::from_fn(width, height, |x, y| ((x * 37 + y * 91) % 17) as f32 / 17.0);
            for (kx, ky) in [(0, 0), (1, 0), (0, 1), (2, 0), (1, 1)] {
                let (kx, ky) = (&kernels[kx], &kernels[ky]);
                let out = convolve(&plane, kx, ky);
                let wanted = slow(&plane, kx, ky);
                let worst =
                    out.data().iter().zip(wanted.data()).map(|(a, b)| (a - b).abs()).fold(0.0, f32::max);
                assert!(worst < 1e-6, "{width} x {height}: {worst}");
            }
        }
    }

    #[test]
    fn wide_vectors_give_the_same_numbers() {
        let plane = Plane::from_fn(301, 40, |x, y| ((x * 37 + y * 91) % 17) as f32 / 17.0);
        for sigma in [0.7, 1.9, 5.0] {
            let (kx, ky) = (Kernel::gaussian(sigma).unwrap(), Kernel::gaussian_slope(sigma).unwrap());
            let plain = rows_within(&plane, &kx, &ky, |_| 0..plane.width());
            assert_eq!(convolve(&plane, &kx, &ky), plain, "{sigma}");
        }
    }

    #[test]
    fn columns_that_are_asked_for_are_those_of_the_whole_and_the_others_are_none() {
        let kernel = Kernel::gaussian(1.3).unwrap();
        for width in [5, 40, 90] {
            let plane = Plane::from_fn(width, 20, |x, y| ((x * 37 + y * 91) % 17) as f32 / 17.0);
            let whole = convolve(&plane, &kernel, &kernel);
            let within = |y: usize| (y / 2).min(width)..(y * y / 2).min(width);
            let part = convolve_within(&plane, &kernel, &kernel, within);
            let due =
                Plane::from_fn(width, 20, |x, y| if within(y).contains(&x) { whole.at(x, y) } else { 0.0 });
            assert_eq!(part, due, "{width}");
        }
    }
}
