//! Gaussian means over the glass: what lies outside it has no weight.

use imaging::Plane;
use imaging::blur::gaussian;

/// Mean of `values` about each pixel with the weights `inside`, by a Gaussian of `sigma` pixels; 0 where
/// `inside` is 0. `values` must be 0 there too (normalised convolution: Knutsson and Westin, 1993).
pub fn mean_inside(values: &Plane<f32>, inside: &Plane<f32>, sigma: f64) -> Plane<f32> {
    let (mut means, weights) = (gaussian(values, sigma), gaussian(inside, sigma));
    for ((v, w), m) in means.data_mut().iter_mut().zip(weights.data()).zip(inside.data()) {
        *v = if *m > 0.0 { *v / w.max(0.2) } else { 0.0 };
    }
    means
}
