//! What the coding of a picture has left of its levels: errors that no smoothing takes away, because neighbouring
//! pixels share them. A scatter measured where noise was rounded away is too small by far.

use imaging::Coding;
use std::f64::consts::{PI, SQRT_2};

/// Side of the blocks of a lossy coder, pixels.
const BLOCK: f64 = 8.0;

/// Step of a block's mean over that of its lowest patterns: 16 to 11.7 in the table of ITU-T T.81, K.1.
const MEAN_STEP: f64 = 1.37;

/// Neighbouring blocks are rounded apart, so that one stands off its surroundings by more than its own error.
const STEPS_OFF: f64 = 1.5;

/// Thresholds stand about so many scatters high; a single pattern that a coder has kept must stay below.
const THRESHOLD: f64 = 5.5;

/// Errors of the levels on one fibre's glass, relative to its light.
#[derive(Clone, Copy, Debug)]
pub struct Rounding {
    /// Standard deviation of one pixel of the picture, no less than that of rounding alone.
    pub noise: f64,
    /// Standard deviation of what rounding to levels shifts whole plains by.
    level: f64,
    /// The same of rounding the means of blocks.
    mean: f64,
    /// Scatter above which a single pattern of a block stays below the threshold.
    block: f64,
}

impl Rounding {
    /// From the coding, the light (0 to 1) and the standard deviation of one pixel as it was measured.
    ///
    /// Noise takes the place of finer levels: the mean error of a level is a wave of amplitude
    /// step / pi * exp(-2 pi^2 (noise / step)^2) (Widrow and Kollar, 2008, Quantization Noise). A pattern of one
    /// half wave each way stands a quarter of its step high (ITU-T T.81, A.3.3).
    pub fn of(coding: Coding, light: f64, noise: f64) -> Rounding {
        let step = f64::from(coding.level_step) / light;
        let block = f64::from(coding.block_step) / light;
        Rounding {
            noise: noise.max(step / 12f64.sqrt()),
            level: shift(step, noise),
            mean: STEPS_OFF * shift(MEAN_STEP * block / BLOCK, noise / BLOCK),
            block: block / 4.0 / THRESHOLD,
        }
    }

    /// The least scatter that means of `sigma` pixels can be taken to have.
    pub fn of_means(&self, sigma: f64) -> f64 {
        self.level.hypot(self.mean + self.pattern(sigma))
    }

    /// The least scatter that sums over `length` pixels of a line, means of `sigma` pixels, can be taken to have;
    /// pixels are those of a plane shrunk by `shrink`. Lines of levels run on, those of blocks end with them.
    pub fn of_sums(&self, length: f64, sigma: f64, shrink: f64) -> f64 {
        let block = self.mean + self.pattern(sigma);
        (self.level * length).hypot(block * (length * BLOCK / shrink).sqrt())
    }

    /// What means of `sigma` pixels leave of a pattern.
    fn pattern(&self, sigma: f64) -> f64 {
        let area = BLOCK * BLOCK;
        self.block * area / (area + 4.0 * PI * sigma * sigma)
    }
}

/// Standard deviation of the mean error that rounding to steps leaves of values with so much noise.
fn shift(step: f64, noise: f64) -> f64 {
    if step <= 0.0 {
        return 0.0;
    }
    let share = noise / step;
    step / (PI * SQRT_2) * (-2.0 * PI * PI * share * share).exp()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Means of rounded levels against the formula, for a plain of slowly rising light.
    #[test]
    fn rounding_errs_as_the_wave_says() {
        let step = 4.0 / 255.0;
        for share in [0.1, 0.3, 0.4] {
            // Uniform levels of light, noise by quantiles of the normal curve.
            let noise: Vec<f64> =
                (0..2000).map(|k| crate::normal::inverse_cdf((f64::from(k) + 0.5) / 2000.0)).collect();
            let errors: Vec<f64> = (0..200)
                .map(|k| {
                    let light = 20.0 + f64::from(k) / 200.0;
                    let rounded: f64 = noise.iter().map(|z| (light + share * z).round()).sum();
                    rounded / 2000.0 - light
                })
                .collect();
            let rms = (errors.iter().map(|e| e * e).sum::<f64>() / 200.0).sqrt();
            let coding = Coding { level_step: step as f32, block_step: 0.0 };
            let told = Rounding::of(coding, 1.0, share * step).of_means(1.0) / step;
            // The formula keeps the first wave only; the next adds a quarter at the least noise.
            assert!((told / rms - 1.0).abs() < 0.1, "{share}: {told} for {rms}");
        }
    }
}
