//! How a plane changes from pixel to pixel: gradients and second derivatives. Borders as in `blur`.

use crate::blur::{Kernel, convolve};
use crate::plane::Plane;

/// First derivatives of a plane, in its values per pixel.
#[derive(Clone, Debug, PartialEq)]
pub struct Gradient {
    /// Along x, above zero where the plane brightens to the right.
    pub x: Plane<f32>,
    /// Along y, above zero where the plane brightens downwards.
    pub y: Plane<f32>,
}

/// Second derivatives of a plane, in its values per square pixel.
#[derive(Clone, Debug, PartialEq)]
pub struct Hessian {
    /// Twice along x.
    pub xx: Plane<f32>,
    /// Along x and y.
    pub xy: Plane<f32>,
    /// Twice along y.
    pub yy: Plane<f32>,
}

/// The gradient by the 3 x 3 operator of Sobel and Feldman (1968), divided by 8, so that a ramp gives its
/// slope.
pub fn sobel(plane: &Plane<f32>) -> Gradient {
    let (slope, smooth) = (Kernel::odd(vec![0.5]), Kernel::even(vec![0.5, 0.25]));
    Gradient { x: convolve(plane, &slope, &smooth), y: convolve(plane, &smooth, &slope) }
}

/// The gradient of the plane blurred by a Gaussian of standard deviation `sigma` pixels (Canny 1986, "A
/// computational approach to edge detection"); none unless sigma is above zero and finite.
pub fn gaussian_gradient(plane: &Plane<f32>, sigma: f64) -> Option<Gradient> {
    let (slope, smooth) = (Kernel::gaussian_slope(sigma)?, Kernel::gaussian(sigma)?);
    Some(Gradient { x: convolve(plane, &slope, &smooth), y: convolve(plane, &smooth, &slope) })
}

/// The second derivatives of the plane blurred by a Gaussian of standard deviation `sigma` pixels: lines of
/// about that width stand out in them (Steger 1998, "An unbiased detector of curvilinear structures"). None
/// unless sigma is above zero and finite.
pub fn gaussian_hessian(plane: &Plane<f32>, sigma: f64) -> Option<Hessian> {
    let (slope, smooth) = (Kernel::gaussian_slope(sigma)?, Kernel::gaussian(sigma)?);
    let bend = Kernel::gaussian_bend(sigma)?;
    Some(Hessian {
        xx: convolve(plane, &bend, &smooth),
        xy: convolve(plane, &slope, &slope),
        yy: convolve(plane, &smooth, &bend),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ramp_gives_its_slope_with_its_sign() {
        let ramp = Plane::from_fn(40, 40, |x, y| 0.25 * x as f32 - 0.5 * y as f32);
        for gradient in [sobel(&ramp), gaussian_gradient(&ramp, 1.5).unwrap()] {
            assert!((gradient.x.at(20, 20) - 0.25).abs() < 1e-3);
            assert!((gradient.y.at(20, 20) + 0.5).abs() < 2e-3);
        }
        assert_eq!(gaussian_gradient(&ramp, 0.0), None);
    }

    #[test]
    fn a_bowl_gives_its_curvature() {
        let bowl = Plane::from_fn(41, 41, |x, y| {
            let (x, y) = (x as f32 - 20.0, y as f32 - 20.0);
            0.5 * x * x + 0.25 * x * y - 1.5 * y * y
        });
        let h = gaussian_hessian(&bowl, 2.0).unwrap();
        let close = |a: f32, b: f32| (a - b).abs() < 5e-3 * b.abs();
        assert!(close(h.xx.at(20, 20), 1.0) && close(h.xy.at(20, 20), 0.25) && close(h.yy.at(20, 20), -3.0));
    }
}
