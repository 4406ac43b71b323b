//! Measured against true sizes: how far off on average, how far scattered, and whether the stated uncertainty
//! says so.

use crate::binomial::Share;

/// One size, measured and true.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    /// The true size.
    pub truth: f64,
    /// The measured one.
    pub size: f64,
    /// Its stated standard uncertainty.
    pub u: f64,
}

/// What many sizes tell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sizing {
    /// How many.
    pub count: usize,
    /// Mean of measured less true.
    pub bias: f64,
    /// Standard deviation of measured less true; none of one.
    pub spread: Option<f64>,
    /// Median of measured less true.
    pub median: f64,
    /// Half the distance that holds the middle 68.27 % of measured less true: the spread without its tails.
    pub core_spread: f64,
    /// How many lie within their stated uncertainty of the truth.
    pub within_u: Share,
    /// How many lie within twice of it.
    pub within_2u: Share,
}

/// Sums up the sizes; none of nothing.
pub fn sizing(measured: &[Measured]) -> Option<Sizing> {
    let mut errors: Vec<f64> = measured.iter().map(|m| m.size - m.truth).collect();
    errors.sort_by(f64::total_cmp);
    let count = errors.len();
    let bias = (count > 0).then(|| errors.iter().sum::<f64>() / count as f64)?;
    let squares: f64 = errors.iter().map(|e| (e - bias).powi(2)).sum();
    let within = |k: f64| Share::of(measured.iter().map(|m| (m.size - m.truth).abs() <= k * m.u));
    Some(Sizing {
        count,
        bias,
        spread: (count > 1).then(|| (squares / (count - 1) as f64).sqrt()),
        median: percentile(&errors, 0.5),
        core_spread: 0.5 * (percentile(&errors, 0.841_345) - percentile(&errors, 0.158_655)),
        within_u: within(1.0),
        within_2u: within(2.0),
    })
}

/// Value below which the share `p` of sorted values lies, linear between them (type 7 of Hyndman and Fan, 1996,
/// Sample quantiles in statistical packages); `sorted` holds one or more.
pub fn percentile(sorted: &[f64], p: f64) -> f64 {
    let place = p * (sorted.len() - 1) as f64;
    let (low, part) = (place.floor() as usize, place.fract());
    let high = (low + 1).min(sorted.len() - 1);
    sorted[low] + part * (sorted[high] - sorted[low])
}
