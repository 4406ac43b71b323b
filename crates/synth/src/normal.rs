//! The normal curve as needed for soft edges: its running sum from a table, its density, and sampled kernels.
//! Here and elsewhere transcendental functions are taken in f64 only: their last bit may differ from machine to
//! machine, and drowns when the result is rounded to f32 and to the steps of the converter.

use std::f64::consts::PI;
use std::sync::LazyLock;

const REACH: f32 = 6.0;
const STEPS_PER_UNIT: f32 = 512.0;
const ENTRIES: usize = (2.0 * REACH * STEPS_PER_UNIT) as usize + 2;

static TABLE: LazyLock<Vec<f32>> = LazyLock::new(|| {
    (0..ENTRIES)
        .map(|i| exact_share(i as f64 / f64::from(STEPS_PER_UNIT) - f64::from(REACH)) as f32)
        .collect()
});

/// Density of the standard normal distribution.
pub(crate) fn density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * PI).sqrt()
}

/// Share of the standard normal distribution below `z`, by the power series of Marsaglia (2004, "Evaluating
/// the normal distribution").
pub(crate) fn exact_share(z: f64) -> f64 {
    if z.abs() > 8.0 {
        return if z > 0.0 { 1.0 } else { 0.0 };
    }
    let (mut term, mut sum, mut k) = (z, z, 1.0);
    loop {
        k += 2.0;
        term *= z * z / k;
        let next = sum + term;
        if next == sum {
            return 0.5 + sum * density(z);
        }
        sum = next;
    }
}

/// Share below `z` by linear steps in a table; error below 1e-6.
#[derive(Clone, Copy)]
pub(crate) struct Share {
    table: &'static [f32],
}

impl Share {
    pub(crate) fn new() -> Share {
        Share { table: &TABLE }
    }

    /// Share of the standard normal distribution below `z`.
    #[inline]
    pub(crate) fn below(self, z: f32) -> f32 {
        let place = (z.clamp(-REACH, REACH) + REACH) * STEPS_PER_UNIT;
        let cell = place as usize;
        let part = place - cell as f32;
        let (a, b) = (self.table[cell], self.table[cell + 1]);
        a + (b - a) * part
    }

    /// Density of the standard normal distribution at `z`, from the table's slope; error below 1e-3.
    #[inline]
    fn density(self, z: f32) -> f32 {
        let cell = ((z.clamp(-REACH, REACH) + REACH) * STEPS_PER_UNIT) as usize;
        (self.table[cell + 1] - self.table[cell]) * STEPS_PER_UNIT
    }

    /// Blurred disc: value at signed distance `inside` (positive within) from the edge of a disc of radius
    /// `radius`, blurred by a Gaussian of standard deviation `soft`, all in one unit. The second term keeps the
    /// disc's area and edge where they are (first order in soft / radius).
    #[inline]
    pub(crate) fn disc(self, inside: f32, radius: f32, soft: f32) -> f32 {
        let z = inside / soft;
        if z.abs() > 5.0 {
            return if z > 0.0 { 1.0 } else { 0.0 };
        }
        self.below(z) - soft / (2.0 * radius) * self.density(z)
    }
}

/// Weights of a Gaussian of `sigma` samples averaged over a window `window` samples wide, taken at the samples
/// about a centre that lies on a sample (`window` odd) or midway between two (`window` even). Sums to 1.
pub(crate) fn windowed_kernel(sigma: f64, window: usize) -> Vec<f32> {
    let half = 0.5 * window as f64;
    let reach = (4.5 * sigma + half).ceil();
    let count = 2 * reach as usize + window % 2;
    let first = -0.5 * (count as f64 - 1.0);
    let weight = |i: usize| {
        let u = first + i as f64;
        exact_share((u + half) / sigma) - exact_share((u - half) / sigma)
    };
    normalised((0..count).map(weight).collect())
}

/// Weights of a Gaussian of `sigma` samples about a centre midway between two samples. Sums to 1.
pub(crate) fn even_kernel(sigma: f64) -> Vec<f32> {
    let reach = (4.5 * sigma).ceil().max(1.0) as usize;
    let first = 0.5 - reach as f64;
    normalised((0..2 * reach).map(|i| density((first + i as f64) / sigma)).collect())
}

fn normalised(weights: Vec<f64>) -> Vec<f32> {
    let sum: f64 = weights.iter().sum();
    weights.iter().map(|w| (w / sum) as f32).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values of Abramowitz and Stegun (1964), "Handbook of Mathematical Functions", table 26.1.
    #[test]
    fn the_share_agrees_with_the_table() {
        let rows = [(0.0, 0.5), (1.0, 0.841_344_746), (2.0, 0.977_249_868), (3.0, 0.998_650_102)];
        for (z, p) in rows {
            assert!((exact_share(z) - p).abs() < 1e-9, "{z}");
            assert!((exact_share(-z) - (1.0 - p)).abs() < 1e-9, "{z}");
            assert!((f64::from(Share::new().below(z as f32)) - p).abs() < 1e-6, "{z}");
        }
    }

    /// A Gaussian spread over a window has the sum of both variances: sigma^2 + window^2 / 12.
    #[test]
    fn a_kernel_has_the_variance_of_its_parts() {
        for (sigma, window) in [(1.2, 1), (0.9, 2), (2.0, 3)] {
            let kernel = windowed_kernel(sigma, window);
            let mid = 0.5 * (kernel.len() as f64 - 1.0);
            let var: f64 =
                kernel.iter().enumerate().map(|(i, w)| f64::from(*w) * (i as f64 - mid).powi(2)).sum();
            let expected = sigma * sigma + (window * window) as f64 / 12.0;
            assert!((var / expected - 1.0).abs() < 1e-3, "{sigma} {window}: {var} for {expected}");
        }
    }

    /// The area under a blurred disc is the disc's own, here by rings 0.01 wide.
    #[test]
    fn a_blurred_disc_keeps_its_area() {
        let (radius, soft) = (62.5, 0.4);
        let share = Share::new();
        let area: f64 = (0..7000)
            .map(|i| {
                let r = (f64::from(i) + 0.5) * 0.01;
                let v = f64::from(share.disc((radius - r) as f32, radius as f32, soft as f32));
                std::f64::consts::TAU * r * 0.01 * v
            })
            .sum();
        let equivalent = (area / std::f64::consts::PI).sqrt();
        assert!((equivalent - radius).abs() < 2e-4, "{equivalent}");
    }
}
