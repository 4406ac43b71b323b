//! The optics against what is known in closed form: where edges lie, how wide they are, how much a mark takes
//! away, how much noise there is.

mod common;

use common::layout;
use common::plain::{FERRULE, camera, face, loss, moments, values};
use imaging::Plane;
use std::f64::consts::PI;
use synth::{Camera, Face, FocusTilt, Form, Light, Mark, On, Rendered, What, render_face};

fn seen(face: &Face, camera: &Camera) -> Rendered {
    render_face(face, camera).expect("a sound face and camera")
}

/// The share of glass in each pixel: 1 on glass, 0 on the ferrule.
fn glass(made: &Rendered) -> Plane<f32> {
    values(made).map(|v| (v - FERRULE as f32) / (1.0 - FERRULE as f32))
}

/// A circle's area and centre do not change by blur or by averaging over pixels.
#[test]
fn a_cladding_has_its_area_and_its_centre_to_five_thousandths_of_a_pixel() {
    let mut face = face(&layout("mpo-12"));
    let rows = [(0.25, 0.5, 0.0), (0.5, 0.65, 7.3), (0.5, 2.0, -3.1), (1.2, 0.5, 14.0), (0.7, 0.3, 31.0)];
    for (um_per_px, blur_um, turn_deg) in rows {
        face.fibres[5].centre = (-125.0 + 0.37, 0.61);
        let size = (160.0 / um_per_px) as usize;
        let view = Camera { blur_um, turn_deg, ..camera((-125.0, 0.0), um_per_px, size) };
        let made = seen(&face, &view);
        let (sum, x, y) = moments(&glass(&made));
        let diameter = 2.0 * (sum / PI).sqrt();
        assert!((diameter - 125.0 / um_per_px).abs() < 0.005, "{um_per_px} {blur_um}: {diameter} px wide");
        let [tx, ty] = made.truth.positions[5].centre_px;
        assert!((x - tx).hypot(y - ty) < 0.005, "{um_per_px} {blur_um}: ({x}, {y}) for ({tx}, {ty})");
    }
}

/// Mean value in rings about a centre, each `step` pixels wide: (radius, value).
fn profile(plane: &Plane<f32>, centre: [f64; 2], from: f64, to: f64, step: f64) -> Vec<(f64, f64)> {
    let count = ((to - from) / step).round() as usize;
    let mut rings = vec![(0.0, 0.0, 0.0); count];
    for y in 0..plane.height() {
        for x in 0..plane.width() {
            let r = (x as f64 - centre[0]).hypot(y as f64 - centre[1]);
            let k = (r - from) / step;
            if k >= 0.0 && (k as usize) < count {
                let ring = &mut rings[k as usize];
                *ring = (ring.0 + r, ring.1 + f64::from(plane.at(x, y)), ring.2 + 1.0);
            }
        }
    }
    rings.iter().filter(|r| r.2 > 0.0).map(|r| (r.0 / r.2, r.1 / r.2)).collect()
}

/// Radius at which a falling profile passes a level.
fn passes(profile: &[(f64, f64)], level: f64) -> f64 {
    let k = profile
        .windows(2)
        .position(|w| w[0].1 >= level && w[1].1 < level)
        .expect("the profile passes the level");
    let ((r0, v0), (r1, v1)) = (profile[k], profile[k + 1]);
    r0 + (r1 - r0) * (v0 - level) / (v0 - v1)
}

fn edge_width_px(made: &Rendered, position: usize) -> f64 {
    let truth = &made.truth.positions[position];
    let radius = 62.5 / made.truth.um_per_px;
    let sigma = truth.blur_um / made.truth.um_per_px;
    let step = 0.06 * sigma;
    let rings = profile(&glass(made), truth.centre_px, radius - 5.0 * sigma, radius + 5.0 * sigma, step);
    passes(&rings, 0.1) - passes(&rings, 0.9)
}

/// From 10 to 90 % an edge blurred by a normal curve is 2.5631 standard deviations wide (tables of the normal
/// curve: twice 1.28155). The average over a pixel adds a twelfth of a square pixel to the variance.
#[test]
fn an_edge_is_as_wide_as_its_blur_says() {
    let face = face(&layout("mpo-12"));
    for (um_per_px, blur_um) in [(0.25, 0.5), (0.5, 0.65), (0.5, 0.9), (0.5, 3.0), (1.0, 0.8), (1.2, 0.7)] {
        let view = Camera {
            blur_um,
            turn_deg: 4.0,
            ..camera((-125.0, 0.0), um_per_px, (170.0 / um_per_px) as usize)
        };
        let width = edge_width_px(&seen(&face, &view), 5);
        let expected = 2.563_103 * ((blur_um / um_per_px).powi(2) + 1.0 / 12.0).sqrt();
        assert!((width / expected - 1.0).abs() < 0.01, "{um_per_px} {blur_um}: {width} for {expected}");
    }
}

#[test]
fn a_tilted_focus_blurs_each_fibre_as_its_truth_says() {
    let face = face(&layout("mpo-24"));
    let tilt = FocusTilt { um_per_mm: 3.0, direction_deg: 90.0, line_um: 250.0 };
    let view = Camera { blur_um: 0.6, tilt: Some(tilt), ..camera((-125.0, 0.0), 0.5, 1400) };
    let made = seen(&face, &view);
    for (position, expected_um) in [(5, 0.6), (17, 0.6_f64.hypot(1.5))] {
        assert!((made.truth.positions[position].blur_um - expected_um).abs() < 1e-9);
        // Around the edge the blur varies; half the square of its change over one radius adds on average.
        let around = 0.5 * (0.003_f64 * 62.5).powi(2);
        let variance_px = (expected_um.powi(2) + around) / 0.25 + 1.0 / 12.0;
        let width = edge_width_px(&made, position);
        assert!((width / (2.563_103 * variance_px.sqrt()) - 1.0).abs() < 0.01, "{position}: {width}");
    }
}

/// An even smear over a length adds a twelfth of its square to the variance across an edge that it crosses
/// squarely, and nothing along one: here as second moments of a small disc.
#[test]
fn a_smear_widens_in_its_own_direction() {
    let clean = face(&layout("mpo-12"));
    let mut dirty = clean.clone();
    dirty.put(disc((0.0, 0.0), 4.0, -0.5));
    let spread = |smear_um: f64| {
        let view = Camera { smear_um, smear_deg: 0.0, ..camera((-125.0, 0.0), 0.5, 120) };
        let spot = loss(&seen(&clean, &view), &seen(&dirty, &view));
        let (sum, cx, cy) = moments(&spot);
        let along = |f: &dyn Fn(f64, f64) -> f64| {
            let weighted =
                Plane::from_fn(120, 120, |x, y| spot.at(x, y) * f(x as f64 - cx, y as f64 - cy) as f32);
            moments(&weighted).0 / sum
        };
        (along(&|x, _| x * x), along(&|_, y| y * y))
    };
    let (still, moved) = (spread(0.0), spread(6.0));
    let expected = (6.0_f64 / 0.5).powi(2) / 12.0;
    assert!((moved.0 - still.0 - expected).abs() < 0.02 * expected, "{moved:?} {still:?}");
    assert!((moved.1 - still.1).abs() < 0.02 * expected, "{moved:?} {still:?}");
}

fn disc(at: (f64, f64), size_um: f64, contrast: f64) -> Mark {
    Mark { on: On::Fibre(6), what: What::Particle { at, size_um, contrast, form: Form::Disc }, seed: 1 }
}

/// Neither blur nor pixels change how much light a mark takes away: contrast times area.
#[test]
fn a_disc_takes_away_its_contrast_times_its_area_at_its_place() {
    let clean = face(&layout("mpo-12"));
    for size in [0.6, 1.0, 2.0, 5.0, 12.0] {
        let mut dirty = clean.clone();
        dirty.put(disc((10.3, -5.7), size, -0.6));
        let view = Camera { turn_deg: 5.0, distortion: 0.003, ..camera((-110.0, 4.0), 0.5, 160) };
        let (a, b) = (seen(&clean, &view), seen(&dirty, &view));
        let (sum, x, y) = moments(&loss(&a, &b));
        let area = sum * 0.25;
        let expected = 0.6 * PI * size * size / 4.0;
        assert!((area / expected - 1.0).abs() < 0.01, "{size}: {area} for {expected}");
        let lens = view.lens();
        let there = lens.to_face(terms::Point::new(x, y));
        let truth = &b.truth.positions[5];
        let mark = &truth.marks[0];
        assert!((mark.size_um - size).abs() < 1e-9 && mark.contrast == -0.6);
        let off = (there.0 - truth.face_um[0] - mark.centre_um[0])
            .hypot(there.1 - truth.face_um[1] - mark.centre_um[1]);
        assert!(off < 0.02, "{size}: {off} um away");
    }
}

#[test]
fn irregular_lumps_have_the_area_and_centre_of_their_true_outline() {
    let clean = face(&layout("mpo-12"));
    for seed in 1..9 {
        let form = if seed % 2 == 0 { Form::Angular } else { Form::Rounded };
        let what = What::Particle { at: (-20.0, 14.0), size_um: 6.0, contrast: 0.5, form };
        let mut dirty = clean.clone();
        dirty.put(Mark { on: On::Fibre(6), what, seed });
        let view = camera((-145.0, 14.0), 0.5, 100);
        let (a, b) = (seen(&clean, &view), seen(&dirty, &view));
        let (sum, x, y) = moments(&loss(&a, &b));
        let mark = &b.truth.positions[5].marks[0];
        let expected = 0.5 * mark.area_um2.unwrap();
        assert!((-sum * 0.25 / expected - 1.0).abs() < 0.01, "seed {seed}");
        let outline = synth::Outline(mark.outline_um.iter().map(|p| (p[0], p[1])).collect());
        let (cx, cy) = outline.centroid();
        let there = view.lens().to_face(terms::Point::new(x, y));
        assert!((there.0 + 125.0 - cx).hypot(there.1 - cy) < 0.02, "seed {seed}");
    }
}

/// Across a scratch the loss adds up to contrast times width, whatever the blur; it fades in over one width.
#[test]
fn a_scratch_takes_away_its_contrast_times_width_times_length() {
    let clean = face(&layout("mpo-12"));
    for (width_um, blur_um) in [(0.5, 0.65), (2.0, 0.65), (3.0, 1.5)] {
        let path_um = vec![(-30.0, -20.0), (25.0, 30.0)];
        let what = What::Scratch { path_um, width_um, contrast: -0.3, broken: 0.0 };
        let mut dirty = clean.clone();
        dirty.put(Mark { on: On::Fibre(6), what, seed: 1 });
        let view = Camera { blur_um, ..camera((-125.0, 0.0), 0.5, 240) };
        let (sum, ..) = moments(&loss(&seen(&clean, &view), &seen(&dirty, &view)));
        let expected = 0.3 * width_um * (55.0_f64.hypot(50.0) - width_um);
        assert!((sum * 0.25 / expected - 1.0).abs() < 0.01, "{width_um}: {} for {expected}", sum * 0.25);
    }
}

/// Standard deviation of what differs between two exposures, over the square root of two.
fn noise_at(face: &Face, view: &Camera) -> f64 {
    let other = Camera { seed: view.seed + 1, ..view.clone() };
    let spot = loss(&seen(face, view), &seen(face, &other));
    let n = (spot.width() * spot.height()) as f64;
    (spot.data().iter().map(|v| f64::from(*v).powi(2)).sum::<f64>() / n / 2.0).sqrt()
}

#[test]
fn the_noise_is_as_strong_as_stated_and_falls_with_the_light() {
    let face = face(&layout("mpo-12"));
    for snr in [20.0, 60.0] {
        let on_glass = Camera { signal_to_noise: snr, shot_share: 0.7, ..camera((-125.0, 0.0), 0.5, 150) };
        let spread = noise_at(&face, &on_glass);
        assert!((spread * snr - 1.0).abs() < 0.02, "{snr}: {spread}");
        let on_ferrule = Camera { middle_um: (-125.0, 150.0), ..on_glass };
        let expected = (0.3 + 0.7 * FERRULE).sqrt() / snr;
        assert!((noise_at(&face, &on_ferrule) / expected - 1.0).abs() < 0.02);
    }
}

#[test]
fn light_falls_as_stated_after_the_blur() {
    let face = face(&layout("mpo-12"));
    let light = Light { slope: 0.2, slope_deg: 0.0, vignette: 0.3 };
    let made = seen(&face, &Camera { light, ..camera((-125.0, 150.0), 0.5, 101) });
    let v = values(&made);
    let near = |x: usize, y: usize, expected: f64| {
        let found = f64::from(v.at(x, y));
        assert!((found - expected * FERRULE).abs() < 0.003, "({x}, {y}): {found}");
    };
    near(50, 50, 1.0);
    near(100, 50, (1.0 + 0.2 * 100.0 / 101.0) * (1.0 - 0.15));
    near(0, 0, (1.0 - 0.2 * 100.0 / 101.0) * (1.0 - 0.3));
}

#[test]
fn too_much_light_saturates_and_hot_pixels_stand_out() {
    let face = face(&layout("mpo-12"));
    let bright = Camera { exposure: 1.4, ..camera((-125.0, 0.0), 0.5, 100) };
    let made = seen(&face, &bright);
    assert!(made.frame.patch(0, 0, 100, 100).unwrap().data().iter().all(|v| *v == 1.0));
    let hot = Camera { exposure: 0.3, hot_pixels: 25, ..camera((-125.0, 150.0), 0.5, 100) };
    let made = seen(&face, &hot);
    let count = made.frame.patch(0, 0, 100, 100).unwrap().data().iter().filter(|v| **v > 0.7).count();
    assert!((23..=25).contains(&count), "{count}");
}
