//! Statistics against published worked examples; each check names its source.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a value that is not there fails the test")]

mod agreement;
mod binomial;
mod detection;
mod gauge;
mod looks;
mod plain;

/// Fails unless the two agree within `tolerance`.
fn near(ours: f64, theirs: f64, tolerance: f64) {
    assert!((ours - theirs).abs() <= tolerance, "{ours} here, {theirs} there");
}
