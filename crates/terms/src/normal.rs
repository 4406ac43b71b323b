//! The normal curve: its distribution function and the inverse, to the precision of the machine.

use std::f64::consts::TAU;

/// Density of the standard normal distribution.
pub fn density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / TAU.sqrt()
}

/// Share of the standard normal distribution below `z`; 0 and 1 at the infinities, NaN of NaN.
///
/// Source: Marsaglia, 2004, Evaluating the Normal Distribution (series); beyond 4 the continued fraction of
/// Abramowitz and Stegun, 1964, Handbook of Mathematical Functions, 26.2.14, which keeps small tails exact.
pub fn cdf(z: f64) -> f64 {
    match z {
        z if z < -4.0 => tail(-z),
        z if z > 4.0 => 1.0 - tail(z),
        z => 0.5 + series(z) * density(z),
    }
}

fn series(z: f64) -> f64 {
    let (mut term, mut sum, mut k) = (z, z, 1.0);
    loop {
        k += 2.0;
        term *= z * z / k;
        let next = sum + term;
        // NaN never equals itself.
        if next == sum || next.is_nan() {
            return next;
        }
        sum = next;
    }
}

/// Share above `z`, for z of 4 and more.
fn tail(z: f64) -> f64 {
    let fraction = (1..=60).rev().fold(z, |below, k| z + f64::from(k) / below);
    if z.is_finite() { density(z) / fraction } else { 0.0 }
}

/// The `z` below which the share `p` of the standard normal distribution lies; none unless 0 < p < 1.
///
/// The start of Abramowitz and Stegun 26.2.23, then Newton's steps.
pub fn quantile(p: f64) -> Option<f64> {
    if !(p > 0.0 && p < 1.0) {
        return None;
    }
    let side = if p < 0.5 { -1.0 } else { 1.0 };
    let small = p.min(1.0 - p);
    let t = (-2.0 * small.ln()).sqrt();
    let top = 2.515_517 + t * (0.802_853 + t * 0.010_328);
    let bottom = 1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308));
    let mut z = -(t - top / bottom);
    for _ in 0..6 {
        z -= (cdf(z) - small) / density(z);
    }
    Some(-side * z)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values of the handbook's tables 26.1 and 26.2.
    #[test]
    fn shares_and_quantiles_agree_with_the_handbook() {
        let table = [
            (0.0, 0.5),
            (1.0, 0.841_344_746_068_543),
            (2.0, 0.977_249_868_051_821),
            (3.0, 0.998_650_101_968_370),
            (-4.5, 3.397_673_124_730e-6),
            (-6.0, 9.865_876_450_377e-10),
        ];
        for (z, p) in table {
            assert!((cdf(z) / p - 1.0).abs() < 1e-12, "{z}: {}", cdf(z));
            assert!((quantile(p).unwrap() - z).abs() < 1e-9, "{p}");
        }
        assert!((quantile(0.95).unwrap() - 1.644_853_626_951).abs() < 1e-11);
        assert!((quantile(0.999).unwrap() - 3.090_232_306_168).abs() < 1e-11);
    }

    #[test]
    fn there_is_no_quantile_outside_and_no_share_of_nothing() {
        assert_eq!([0.0, 1.0, -0.1, f64::NAN].map(quantile), [None; 4]);
        assert_eq!((cdf(f64::NEG_INFINITY), cdf(f64::INFINITY)), (0.0, 1.0));
        assert!(cdf(f64::NAN).is_nan());
    }
}
