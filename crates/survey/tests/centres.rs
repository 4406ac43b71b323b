//! Every fibre at its place, its centre and diameter to a fraction of a pixel, whatever the scale and turn.

use crate::scene::{Scene, fibre};
use terms::Survey;

/// Median and worst difference of a diameter, um. The adhesive's ring is as thin as 0.8 um on a fibre's narrow side; once
/// pixel and blur are wider than that, the ring takes a part of the glass's edge with it and claddings come out
/// too small: a known shortfall of the coarsest pixels.
fn diameter_bounds(um_per_px: f64) -> (f64, f64) {
    match um_per_px {
        fine if fine <= 0.5 => (0.1, 0.25),
        coarse if coarse <= 1.0 => (0.15, 0.5),
        _ => (0.45, 0.75),
    }
}

/// Median distance of a centre from the true one, um: 0.03, and a thirtieth of a pixel where pixels are wide.
fn centre_bound(um_per_px: f64) -> f64 {
    0.03_f64.max(um_per_px / 30.0)
}

struct Errors {
    centre: Vec<f64>,
    centre_u: Vec<f64>,
    diameter: Vec<f64>,
}

fn errors(scene: Scene) -> (Errors, Survey) {
    let shot = scene.shot();
    let survey = shot.survey();
    let mut errors = Errors { centre: Vec::new(), centre_u: Vec::new(), diameter: Vec::new() };
    for truth in &shot.truth.positions {
        let fibre = fibre(&survey, truth.position);
        assert_eq!(fibre.flaws, [], "position {}", truth.position);
        let off = (fibre.centre_px.x - truth.centre_px[0]).hypot(fibre.centre_px.y - truth.centre_px[1]);
        errors.centre.push(off * shot.camera.um_per_px);
        errors.centre_u.push(fibre.centre_u.0);
        errors.diameter.push((fibre.diameter.0 - truth.cladding_um).abs());
    }
    for values in [&mut errors.centre, &mut errors.centre_u, &mut errors.diameter] {
        values.sort_by(f64::total_cmp);
    }
    (errors, survey)
}

fn middle(sorted: &[f64]) -> f64 {
    sorted[sorted.len() / 2]
}

fn every_turn_at(um_per_px: f64) {
    for turn_deg in [-15.0, 0.0, 15.0] {
        let scene = Scene::new("mpo-12").at(um_per_px).seen(|c| c.turn_deg = turn_deg).strip(95.0, 85.0);
        let (errors, survey) = errors(scene);
        let at = format!("{um_per_px} um per pixel, {turn_deg} degrees");
        let (centre, u) = (middle(&errors.centre), middle(&errors.centre_u));
        assert!(centre < centre_bound(um_per_px), "{at}: centres off by {centre} um");
        assert!(centre < 4.0 * u && u < 0.03, "{at}: centres off by {centre}, said to be {u} um");
        assert!(errors.centre[11] < 0.1, "{at}: {:?}", errors.centre);
        let (usual, worst) = diameter_bounds(um_per_px);
        assert!(
            middle(&errors.diameter) < usual && errors.diameter[11] < worst,
            "{at}: {:?}",
            errors.diameter
        );
        let scale = survey.scale;
        let off = (scale.um_per_px() - um_per_px).abs();
        assert!(off < 0.0005 * um_per_px, "{at}: {scale:?}");
        assert!(off < 4.0 * scale.standard_uncertainty(), "{at}: {scale:?}");
        assert!(scale.standard_uncertainty() < 0.0005 * um_per_px, "{at}: {scale:?}");
    }
}

#[test]
fn centres_at_a_quarter_um_per_pixel() {
    every_turn_at(0.25);
}

#[test]
fn centres_at_half_a_um_per_pixel() {
    every_turn_at(0.5);
}

#[test]
fn centres_at_one_um_per_pixel() {
    every_turn_at(1.0);
}

#[test]
fn centres_at_the_coarsest_pixels() {
    every_turn_at(1.2);
}
