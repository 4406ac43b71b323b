//! What a measure gives elsewhere on the glass: the usual, and its scatter.

use crate::solve::median;

/// Median and scatter of a measure at `count.0` places of a disc, spread evenly over it (Vogel, 1979, "A better way to
/// construct the sunflower head"), each a step from `at` and farther than `apart` from it, pixels. None if fewer than
/// `count.1` places tell.
pub(crate) fn elsewhere(
    count: (usize, usize),
    (centre, radius): ((f64, f64), f64),
    at: (f64, f64),
    apart: f64,
    measure: impl Fn((isize, isize)) -> Option<f64>,
) -> Option<(f64, f64)> {
    let golden = std::f64::consts::PI * (3.0 - 5.0f64.sqrt());
    let step = |i: usize| {
        let r = radius * ((i as f64 + 0.5) / count.0 as f64).sqrt();
        let (sin, cos) = (golden * i as f64).sin_cos();
        ((centre.0 + r * cos - at.0).round(), (centre.1 + r * sin - at.1).round())
    };
    let steps = (0..count.0).map(step).filter(|s| s.0.hypot(s.1) > apart);
    let mut found: Vec<f64> = steps.filter_map(|s| measure((s.0 as isize, s.1 as isize))).collect();
    if found.len() < count.1 {
        return None;
    }
    let usual = median(&mut found);
    let scatter = 1.4826 * median(&mut found.iter().map(|v| (v - usual).abs()).collect::<Vec<_>>());
    Some((usual, scatter))
}
