//! Kernels of one line, symmetric or antisymmetric about their middle.

/// A kernel's right half; the left half is its mirror image, with its sign turned for an odd kernel.
#[derive(Clone, Debug, PartialEq)]
pub struct Kernel {
    taps: Vec<f32>,
    odd: bool,
}

impl Kernel {
    /// An even kernel (weights alike on both sides) from its weights at 0, 1, 2, ...; the rest are zero.
    pub(crate) fn even(taps: Vec<f32>) -> Kernel {
        Kernel { taps, odd: false }
    }

    /// An odd kernel from its weights at 1, 2, ...: each multiplies the value on the right less the value on
    /// the left.
    pub(crate) fn odd(mut taps: Vec<f32>) -> Kernel {
        taps.insert(0, 0.0);
        Kernel { taps, odd: true }
    }

    /// The Gaussian of standard deviation `sigma` pixels, sampled at whole pixels out to 4 sigma rounded up,
    /// with weights that sum to 1. None unless sigma is above zero and finite.
    pub fn gaussian(sigma: f64) -> Option<Kernel> {
        let taps = sampled(sigma)?.into_iter().map(|g| g as f32).collect();
        Some(Kernel::even(taps))
    }

    /// The first derivative of [`Kernel::gaussian`]: a rising ramp gives its slope, per pixel.
    pub fn gaussian_slope(sigma: f64) -> Option<Kernel> {
        let weight = |(k, g): (usize, f64)| (g * k as f64 / (sigma * sigma)) as f32;
        Some(Kernel::odd(sampled(sigma)?.into_iter().enumerate().skip(1).map(weight).collect()))
    }

    /// The second derivative of [`Kernel::gaussian`]: above zero in a dark line, below zero on a bright one.
    pub fn gaussian_bend(sigma: f64) -> Option<Kernel> {
        let s2 = sigma * sigma;
        let weight = |(k, g): (usize, f64)| (g * ((k * k) as f64 / s2 - 1.0) / s2) as f32;
        Some(Kernel::even(sampled(sigma)?.into_iter().enumerate().map(weight).collect()))
    }

    /// Weights at 0, 1, 2, ...
    pub fn taps(&self) -> &[f32] {
        &self.taps
    }

    /// How many pixels the kernel reaches to either side.
    pub fn radius(&self) -> usize {
        self.taps.len() - 1
    }

    /// Whether the kernel takes the difference of both sides rather than their sum.
    pub const fn is_odd(&self) -> bool {
        self.odd
    }
}

/// Half of a normalised Gaussian.
fn sampled(sigma: f64) -> Option<Vec<f64>> {
    (sigma.is_finite() && sigma > 0.0).then(|| {
        let radius = (4.0 * sigma).ceil() as usize;
        let mut half: Vec<f64> = (0..=radius).map(|k| (-0.5 * (k as f64 / sigma).powi(2)).exp()).collect();
        let sum = half[0] + 2.0 * half[1..].iter().sum::<f64>();
        half.iter_mut().for_each(|g| *g /= sum);
        half
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gaussian_sums_to_one_and_reaches_four_sigma() {
        for sigma in [0.1, 0.7, 1.5, 20.0] {
            let kernel = Kernel::gaussian(sigma).unwrap();
            let taps = kernel.taps();
            assert!((taps[0] + 2.0 * taps[1..].iter().sum::<f32>() - 1.0).abs() < 1e-6);
            assert!(kernel.radius() as f64 >= 4.0 * sigma);
        }
        for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert_eq!(Kernel::gaussian(bad), None);
            assert_eq!(Kernel::gaussian_slope(bad), None);
        }
    }
}
