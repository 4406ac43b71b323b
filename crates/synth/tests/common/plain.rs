//! A face without any texture, whose every level is known, and a camera almost without noise.

use imaging::Plane;
use synth::{Bits, Camera, Face, FacePlan, Rendered, Spot};
use terms::Layout;

/// Level of the flat ferrule of a plain face; its glass is 1.
pub const FERRULE: f64 = 0.55;

/// Flat ferrule, flat glass of 125 um without a core or an adhesive line, fibres on their nominal sites.
pub fn face(layout: &Layout) -> Face {
    let plan = FacePlan { ferrule_level: FERRULE, ferrule_contrast: 0.0, polish: 0.0, ..FacePlan::default() };
    let mut face = Face::new(layout, &plan);
    for fibre in &mut face.fibres {
        fibre.centre = fibre.nominal;
        fibre.diameter = 125.0;
        fibre.core.contrast = 0.0;
        fibre.bore.diameter = 125.0;
        fibre.bore.offset = (0.0, 0.0);
        fibre.brightness = 1.0;
        fibre.shading = (0.0, 0.0, 0.0);
    }
    face
}

/// 16 bit, signal to noise 10,000, looking at a place of the face with so many pixels.
pub fn camera(middle_um: Spot, um_per_px: f64, size_px: usize) -> Camera {
    Camera {
        width_px: size_px,
        height_px: size_px,
        um_per_px,
        middle_um,
        bits: Bits::Sixteen,
        signal_to_noise: 10_000.0,
        exposure: 0.5,
        ..Camera::default()
    }
}

/// The picture's values over the exposure: glass is 1.
pub fn values(made: &Rendered) -> Plane<f32> {
    let (w, h) = (made.frame.width(), made.frame.height());
    let exposure = made.truth.exposure as f32;
    made.frame.patch(0, 0, w, h).expect("the whole picture").map(|v| v / exposure)
}

/// Sum of a plane and its centre of mass, pixel frame.
pub fn moments(plane: &Plane<f32>) -> (f64, f64, f64) {
    let (mut sum, mut mx, mut my) = (0.0, 0.0, 0.0);
    for y in 0..plane.height() {
        for x in 0..plane.width() {
            let v = f64::from(plane.at(x, y));
            sum += v;
            mx += v * x as f64;
            my += v * y as f64;
        }
    }
    (sum, mx / sum, my / sum)
}

/// What a mark takes from the picture: the clean picture less the marked one.
pub fn loss(clean: &Rendered, marked: &Rendered) -> Plane<f32> {
    let (a, b) = (values(clean), values(marked));
    Plane::from_fn(a.width(), a.height(), |x, y| a.at(x, y) - b.at(x, y))
}
