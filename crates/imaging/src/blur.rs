//! Smoothing of planes: Gaussian and its derivatives, box and median. Beyond its border every plane goes on
//! as its own reflection, d c b a | a b c d | d c b a (scipy.ndimage calls it `reflect`, OpenCV
//! `BORDER_REFLECT`). One thread each: the caller shares patches out.

mod boxes;
mod kernel;
mod median;
mod separable;

pub use boxes::box_mean;
pub use kernel::Kernel;
pub use median::{median3, median5};
pub use separable::convolve;

use crate::plane::Plane;
use std::ops::Range;

/// The plane blurred by a Gaussian of standard deviation `sigma` pixels, its kernel reaching 4 sigma or
/// farther. A sigma that is not above zero leaves the plane as it is.
pub fn gaussian(plane: &Plane<f32>, sigma: f64) -> Plane<f32> {
    match Kernel::gaussian(sigma) {
        Some(kernel) => convolve(plane, &kernel, &kernel),
        None => plane.clone(),
    }
}

/// The same in the columns `within(y)` of each row `y` alone, which must lie in the plane; 0 elsewhere.
pub fn gaussian_within(plane: &Plane<f32>, sigma: f64, within: impl Fn(usize) -> Range<usize>) -> Plane<f32> {
    match Kernel::gaussian(sigma) {
        Some(kernel) => separable::convolve_within(plane, &kernel, &kernel, within),
        None => plane.clone(),
    }
}

/// Place in 0..n of place `i` of the reflected plane, however far outside.
fn reflected(i: isize, n: usize) -> usize {
    let n = n as isize;
    let i = i.rem_euclid(2 * n);
    (if i < n { i } else { 2 * n - 1 - i }) as usize
}

/// Fills the `margin` places on either side of a line's middle with its reflection.
fn reflect_ends<T: Copy>(line: &mut [T], margin: usize) {
    let n = line.len() - 2 * margin;
    for i in 0..margin {
        line[margin - 1 - i] = line[margin + reflected(-1 - i as isize, n)];
        line[margin + n + i] = line[margin + reflected((n + i) as isize, n)];
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reflection_repeats_the_border_pixel() {
        let seen: Vec<usize> = (-7..7).map(|i| reflected(i, 3)).collect();
        assert_eq!(seen, [0, 0, 1, 2, 2, 1, 0, 0, 1, 2, 2, 1, 0, 0]);
        let mut line = [0, 0, 0, 0, 1, 2, 3, 0, 0, 0, 0];
        reflect_ends(&mut line, 4);
        assert_eq!(line, [3, 3, 2, 1, 1, 2, 3, 3, 2, 1, 1]);
    }

    /// A blurred edge of unit height has the normal curve's slope, 1 / (sigma sqrt(2 pi)), in its middle, and
    /// the plane keeps its mean.
    #[test]
    fn a_blurred_edge_has_the_normal_slope() {
        for sigma in [0.7_f64, 2.0, 8.0, 20.0] {
            let plane = Plane::from_fn(301, 7, |x, _| if x < 150 { 0.0 } else { 1.0 });
            let soft = gaussian(&plane, sigma);
            let slope = f64::from(soft.at(150, 3) - soft.at(149, 3));
            let peak = (1.0 / (sigma * (2.0 * std::f64::consts::PI).sqrt())).abs();
            assert!((slope / peak - 1.0).abs() < 0.01 / sigma, "sigma {sigma}: {slope} against {peak}");
            assert!((soft.data().iter().sum::<f32>() / plane.data().iter().sum::<f32>() - 1.0).abs() < 1e-5);
        }
    }

    #[test]
    fn no_blur_changes_nothing_and_one_pixel_is_enough() {
        let plane = Plane::from_fn(5, 4, |x, y| (x * y) as f32);
        assert_eq!(gaussian(&plane, 0.0), plane);
        assert_eq!(gaussian(&plane, f64::NAN), plane);
        let one = Plane::filled(1, 1, 0.25);
        assert!((gaussian(&one, 3.0).at(0, 0) - 0.25).abs() < 1e-6);
        assert_eq!(box_mean(&one, 2).at(0, 0), 0.25);
        assert_eq!(median5(&one), one);
        let none: Plane<f32> = Plane::filled(0, 0, 0.0);
        assert_eq!(gaussian(&none, 1.0), none);
        assert_eq!((box_mean(&none, 1), median3(&none)), (none.clone(), none));
    }
}
