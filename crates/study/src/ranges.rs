//! What the range of normal values tells about their spread: the constants of the range method for any number
//! of values, where printed tables end.

use terms::normal::{cdf, density};

/// Mean range of `n` standard normal values (d2), for n of 2 and more.
///
/// Source: Tippett, 1925, On the extreme individuals and the range of samples taken from a normal population.
pub fn mean_range(n: usize) -> f64 {
    simpson(|x| 1.0 - cdf(x).powi(n as i32) - cdf(-x).powi(n as i32), -9.0, 9.0, 720)
}

/// Root of the mean square range of `n` standard normal values: what a single range is divided by (d2* for one
/// sample).
///
/// Source: Duncan, 1958, Design and operation of a double limit variables sampling plan (the corrected constant).
pub fn root_mean_square_range(n: usize) -> f64 {
    // The mean of the square is twice the integral of r P(range > r).
    let beyond = |r: f64| {
        let within = |x: f64| n as f64 * density(x) * (cdf(x + r) - cdf(x)).powi(n as i32 - 1);
        1.0 - simpson(within, -9.0, 9.0, 240)
    };
    (2.0 * simpson(|r| r * beyond(r), 0.0, 14.0, 240)).sqrt()
}

/// Integral by Simpson's rule over an even number of steps.
fn simpson(f: impl Fn(f64) -> f64, from: f64, to: f64, steps: usize) -> f64 {
    let h = (to - from) / steps as f64;
    let weight = |k: usize| if k == 0 || k == steps { 1.0 } else { 2.0 + 2.0 * (k % 2) as f64 };
    (0..=steps).map(|k| weight(k) * f(from + h * k as f64)).sum::<f64>() * h / 3.0
}
