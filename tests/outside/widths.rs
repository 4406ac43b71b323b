//! Widths and frequency response of the Gaussian blur against those of the normal curve.

use super::store::{Store, number, text};
use imaging::Plane;
use imaging::blur::{Kernel, gaussian};
use std::f64::consts::TAU;

const SIGMAS: [f64; 3] = [6.0, 10.0, 20.0];

/// Where a rising line of values first reaches `level`, linear between pixels.
fn crossing(line: &[f32], level: f64) -> f64 {
    let i = line.iter().position(|&v| f64::from(v) >= level).unwrap();
    let (before, after) = (f64::from(line[i - 1]), f64::from(line[i]));
    i as f64 - 1.0 + (level - before) / (after - before)
}

fn blurred(sigma: f64, f: impl Fn(usize) -> f32) -> Vec<f32> {
    gaussian(&Plane::from_fn(401, 3, |x, _| f(x)), sigma).row(1).to_vec()
}

/// What the stored figure of that name is for this blur, in units of sigma (or of 1 / sigma), and the column
/// whose tolerance holds; for a response the figure is the response itself.
fn measured(name: &str, sigma: f64) -> f64 {
    let edge = blurred(sigma, |x| if x < 200 { 0.0 } else { 1.0 });
    let mut spot = blurred(sigma, |x| if x == 200 { 1.0 } else { 0.0 });
    let half = f64::from(spot[200]) / 2.0;
    let rise = crossing(&spot, half);
    spot.reverse();
    match name {
        "edge_10_90" => (crossing(&edge, 0.9) - crossing(&edge, 0.1)) / sigma,
        "edge_20_80" => (crossing(&edge, 0.8) - crossing(&edge, 0.2)) / sigma,
        "full_width_half_maximum" => (400.0 - crossing(&spot, half) - rise) / sigma,
        other => panic!("no measure for {other}"),
    }
}

/// Response of the kernel at `frequency` cycles per pixel.
fn response(sigma: f64, frequency: f64) -> f64 {
    let kernel = Kernel::gaussian(sigma).unwrap();
    let wave = |(k, &tap): (usize, &f32)| {
        let sides = if k == 0 { 1.0 } else { 2.0 };
        sides * f64::from(tap) * (TAU * frequency * k as f64).cos()
    };
    kernel.taps().iter().enumerate().map(wave).sum()
}

#[test]
fn widths_and_responses_are_the_normal_curves() {
    let store = Store::open("widths.json");
    for figure in store.table("values") {
        let name = text(&figure["name"]);
        for sigma in SIGMAS {
            match name {
                "mtf_50" | "mtf_10" => {
                    let level = if name == "mtf_50" { 0.5 } else { 0.1 };
                    let ours = response(sigma, number(&figure["value"]) / sigma);
                    store.check("response", ours, &level.into(), name);
                }
                _ => store.check("edge", measured(name, sigma), &figure["value"], name),
            }
        }
    }
}
