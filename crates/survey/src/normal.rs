//! The normal curve: density, distribution and its inverse.

use std::f64::consts::{PI, SQRT_2};

/// Density of the standard normal distribution.
pub fn pdf(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * PI).sqrt()
}

/// Distribution function of the standard normal distribution; error below 1.5e-7.
///
/// Source: Abramowitz and Stegun, 1964, Handbook of Mathematical Functions, 7.1.26.
pub fn cdf(z: f64) -> f64 {
    let x = z.abs() / SQRT_2;
    let t = 1.0 / (1.0 + 0.327_591_1 * x);
    let poly = t
        * (0.254_829_592
            + t * (-0.284_496_736 + t * (1.421_413_741 + t * (-1.453_152_027 + t * 1.061_405_429))));
    let upper = 0.5 * poly * (-x * x).exp();
    if z >= 0.0 { 1.0 - upper } else { upper }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values of the handbook's table 26.1.
    #[test]
    fn agrees_with_the_table() {
        for (z, p) in
            [(0.0, 0.5), (1.0, 0.841_344_746), (1.644_854, 0.95), (-2.0, 0.022_750_132), (3.0, 0.998_650_102)]
        {
            assert!((cdf(z) - p).abs() < 2e-7, "{z}");
        }
    }
}
