//! From the wanted number of false calls to a threshold. A clean fibre is looked at in as many independent places
//! as its glass holds discs of the blur's size, for dark and for bright marks; each may be called by chance.

/// Scatter is measured by the middle of the values; texture has longer tails than noise, by about this factor
/// in the threshold (made-up and real polish alike; common practice, no source).
const TEXTURE: f64 = 1.11;

/// Height over scatter from which a peak is a mark, for `false_calls` a fibre on average on glass of `radius`
/// seen under `blur`, both in pixels.
pub fn threshold(false_calls: f64, radius: f64, blur: f64) -> f64 {
    let looks = (radius / blur).powi(2).max(1.0);
    TEXTURE * upper_tail((false_calls / looks).clamp(1e-12, 0.4))
}

/// The z that a standard normal value exceeds with probability `p`, for p up to one half; error below 4.5e-4.
///
/// Source: Abramowitz and Stegun, 1964, Handbook of Mathematical Functions, 26.2.23.
fn upper_tail(p: f64) -> f64 {
    let t = (-2.0 * p.ln()).sqrt();
    let top = 2.515_517 + t * (0.802_853 + t * 0.010_328);
    let bottom = 1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308));
    t - top / bottom
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Quantiles of the handbook's table 26.1 and of one-sided tests in common use.
    #[test]
    fn tails_agree_with_the_table() {
        for (p, z) in [(0.05, 1.644_854), (0.025, 1.959_964), (0.001, 3.090_232), (1e-6, 4.753_424)] {
            assert!((upper_tail(p) - z).abs() < 5e-4, "{p}");
        }
    }

    #[test]
    fn fewer_false_calls_need_a_higher_threshold() {
        let at = |calls| threshold(calls, 120.0, 1.6);
        assert!(at(0.0002) > at(0.002) && at(0.002) > at(0.2));
        assert!((at(0.002) - 5.5).abs() < 0.1, "{}", at(0.002));
    }
}
