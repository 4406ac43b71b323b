//! Widths and frequency response of the Gaussian blur against those of the normal curve; what the renderer's
//! pixels do to an edge on top of its blur.

use super::store::{Store, number, text};
use imaging::Plane;
use imaging::blur::{Kernel, gaussian};
use std::f64::consts::TAU;
use synth::{Bits, Camera, Face, FacePlan, Rendered};

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

/// Radius, pixels, of the cladding whose edge is read, and how far about it.
const RADIUS: f64 = 125.0;
const REACH: f64 = 8.0;

/// One flat glass on a flat ferrule, half a micrometre per pixel, blurred by `sigma` pixels before the pixels gather it.
fn cladding(sigma: f64) -> Rendered {
    let plan = FacePlan { ferrule_level: 0.5, ferrule_contrast: 0.0, polish: 0.0, ..FacePlan::default() };
    let mut face = Face::new(&profile::layout("mpo-12").unwrap(), &plan);
    for fibre in &mut face.fibres {
        fibre.centre = (fibre.nominal.0 + 0.31, 0.17);
        fibre.diameter = 125.0;
        fibre.core.contrast = 0.0;
        fibre.bore.diameter = 125.0;
        fibre.bore.offset = (0.0, 0.0);
        fibre.brightness = 1.0;
        fibre.shading = (0.0, 0.0, 0.0);
    }
    let camera = Camera {
        width_px: 320,
        height_px: 320,
        um_per_px: 0.5,
        middle_um: face.fibres[5].nominal,
        blur_um: 0.5 * sigma,
        bits: Bits::Sixteen,
        signal_to_noise: 10_000.0,
        exposure: 0.5,
        ..Camera::default()
    };
    synth::render_face(&face, &camera).unwrap()
}

/// Response at `frequency` cycles per pixel of the edge within 6 degrees of the axes: the transform of what it changes
/// by from ring to ring, over what the rings' own width and the differences take away (ISO 12233's way with a slanted
/// edge, along the radius).
fn edge_response(made: &Rendered, frequency: f64) -> f64 {
    const RINGS_PER_PIXEL: f64 = 10.0;
    let (w, h) = (made.frame.width(), made.frame.height());
    let plane = made.frame.patch(0, 0, w, h).unwrap();
    let [cx, cy] = made.truth.positions[5].centre_px;
    let mut rings = vec![(0.0, 0.0); (2.0 * REACH * RINGS_PER_PIXEL) as usize];
    for (x, y) in (0..h).flat_map(|y| (0..w).map(move |x| (x, y))) {
        let (dx, dy) = (x as f64 - cx, y as f64 - cy);
        let near_axis = dx.abs().min(dy.abs()) < 6_f64.to_radians().tan() * dx.abs().max(dy.abs());
        let k = (dx.hypot(dy) - RADIUS + REACH) * RINGS_PER_PIXEL;
        if near_axis && k >= 0.0 && (k as usize) < rings.len() {
            let ring = &mut rings[k as usize];
            *ring = (ring.0 + f64::from(plane.at(x, y)), ring.1 + 1.0);
        }
    }
    let levels: Vec<f64> = rings.iter().map(|(sum, count)| sum / count).collect();
    assert!(levels.iter().all(|v| v.is_finite()), "every ring holds pixels");
    let (mut re, mut im) = (0.0, 0.0);
    for (k, pair) in levels.windows(2).enumerate() {
        let (sin, cos) = (TAU * frequency * k as f64 / RINGS_PER_PIXEL).sin_cos();
        re += (pair[1] - pair[0]) * cos;
        im += (pair[1] - pair[0]) * sin;
    }
    let half_turn = TAU / 2.0 * frequency / RINGS_PER_PIXEL;
    let taken_away = (half_turn.sin() / half_turn).powi(2);
    re.hypot(im) / (levels[0] - levels[levels.len() - 1]) / taken_away
}

#[test]
fn rendered_pixels_gather_light_over_their_whole_square() {
    let store = Store::open("widths.json");
    for row in store.table("pixels") {
        let (sigma, frequency) = (number(&row["sigma"]), number(&row["frequency"]));
        let ours = edge_response(&cladding(sigma), frequency);
        store.check("pixel", ours, &row["value"], &format!("sigma {sigma}, frequency {frequency}"));
    }
}
