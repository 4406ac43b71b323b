//! From a blurred outline to a size: what the blur added is taken off, and where a mark is smaller than the
//! blur its contrast decides together with its width.
//!
//! A disc of diameter d under a normal blur of standard deviation 1 shows, at half its height, the diameters
//! of `DISC`; a bar those of `BAR` (numerical convolution, Simpson and adaptive quadrature; "height" of a
//! disc is what nine tenths of its upper half lie below, as `blobs` takes it). Below the blur the shown
//! diameter hardly changes with d while the height falls as d squared: then the glass's own bounds on
//! contrast (a mark takes at most all light) bound d. Both are weighed by their likelihood on a grid of d,
//! evenly in ln d, and the spread of what remains is the stated uncertainty.

/// d, shown diameter, height: all in units of the blur, the height of contrast 1.
const DISC: [(f64, f64, f64); 17] = [
    (0.01, 2.4693, 0.00001),
    (0.50, 2.4899, 0.02869),
    (1.00, 2.5490, 0.10959),
    (1.50, 2.6491, 0.22890),
    (2.00, 2.7978, 0.36755),
    (2.50, 3.0001, 0.50652),
    (3.00, 3.2569, 0.63208),
    (3.50, 3.5692, 0.73622),
    (4.00, 3.9364, 0.81581),
    (5.00, 4.7897, 0.91602),
    (6.00, 5.7437, 0.96357),
    (7.00, 6.7411, 0.98542),
    (8.00, 7.7566, 0.99471),
    (10.00, 9.7979, 0.99947),
    (12.00, 11.8314, 0.99997),
    (16.00, 15.8742, 1.0),
    (24.00, 23.9164, 1.0),
];

/// Width of a bar and the width shown at half its height, in units of the blur.
const BAR: [(f64, f64); 13] = [
    (0.01, 2.3548),
    (0.5, 2.3795),
    (1.0, 2.4546),
    (1.5, 2.5837),
    (2.0, 2.7714),
    (2.5, 3.0210),
    (3.0, 3.3326),
    (3.5, 3.7004),
    (4.0, 4.1140),
    (5.0, 5.0311),
    (6.0, 6.0068),
    (8.0, 8.0002),
    (12.0, 12.0),
];

use crate::normal::inverse_cdf;

/// A size and its standard uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sized {
    /// The size.
    pub size: f64,
    /// Its standard uncertainty.
    pub u: f64,
    /// Contrast that a mark of this size has, signed like the height.
    pub contrast: f64,
}

/// Size of a compact mark shown with diameter `shown` (standard uncertainty `shown_u`) and signed `height`
/// under a blur of standard deviation `blur`, all lengths in one unit.
pub fn disc(shown: f64, shown_u: f64, height: f64, blur: f64) -> Sized {
    if shown > 8.0 * blur {
        // Far above the blur the shown diameter is the true one but for a small constant.
        let size = shown + blur * (DISC[12].0 - DISC[12].1) * 8.0 * blur / shown;
        return Sized { size, u: shown_u, contrast: height };
    }
    let (mut weight, mut mean, mut square) = (0.0, 0.0, 0.0);
    let steps = 240;
    for k in 0..steps {
        let d = blur * 0.15 * (90.0f64).powf(k as f64 / (steps - 1) as f64);
        let (shows, part) = shown_disc(d / blur);
        let contrast = height.abs() / part.max(1e-9);
        let z = (shows * blur - shown) / shown_u;
        let w = (-0.5 * z * z).exp() * likely(contrast);
        weight += w;
        mean += w * d;
        square += w * d * d;
    }
    if weight < 1e-30 {
        let size = shown.max(blur);
        return Sized { size, u: shown_u.max(0.5 * blur), contrast: height };
    }
    let size = mean / weight;
    let u = (square / weight - size * size).max(0.0).sqrt().max(shown_u);
    let contrast = (height.abs() / shown_disc(size / blur).1.max(1e-9)).min(1.0);
    Sized { size, u, contrast: contrast * height.signum() }
}

/// How far outside the true edge a straight edge is drawn at half the height of a disc of diameter `d` under
/// `blur`: the height of a small disc is less than its contrast.
pub fn level_shift(d: f64, blur: f64) -> f64 {
    let share = (0.5 * shown_disc(d / blur).1).clamp(0.05, 0.5);
    -blur * inverse_cdf(share)
}

/// How likely a contrast is before anything was measured: marks take between a few and nearly all percent of
/// the light; common practice, no source.
pub fn likely(contrast: f64) -> f64 {
    let low = 1.0 / (1.0 + (-(contrast / 0.06).ln() * 6.0).exp());
    let high = 1.0 / (1.0 + ((contrast / 0.85).ln() * 16.0).exp());
    low * high
}

/// Diameter of the disc of contrast 1 whose height under `blur` is `height`; unbounded above height 1.
pub fn disc_of_height(height: f64, blur: f64) -> f64 {
    let k = DISC.iter().position(|row| row.2 >= height);
    match k {
        None => f64::INFINITY,
        Some(0) => DISC[0].0 * blur,
        Some(k) => {
            let (a, b) = (DISC[k - 1], DISC[k]);
            let t = if b.2 > a.2 { (height - a.2) / (b.2 - a.2) } else { 1.0 };
            blur * (a.0 + t * (b.0 - a.0))
        }
    }
}

fn shown_disc(d: f64) -> (f64, f64) {
    let last = DISC[DISC.len() - 1];
    if d >= last.0 {
        return (d - (last.0 - last.1), 1.0);
    }
    let k = DISC.iter().position(|row| row.0 > d).unwrap_or(1).max(1);
    let (a, b) = (DISC[k - 1], DISC[k]);
    let t = ((d - a.0) / (b.0 - a.0)).clamp(0.0, 1.0);
    (a.1 + t * (b.1 - a.1), a.2 + t * (b.2 - a.2))
}

/// Width of a bar shown with width `shown` under `blur`; 0 where the blur alone shows as much.
pub fn bar(shown: f64, blur: f64) -> f64 {
    let s = shown / blur;
    if s >= 12.0 {
        return shown;
    }
    let k = BAR.iter().position(|row| row.1 > s).unwrap_or(1);
    if k == 0 {
        return 0.0;
    }
    let (a, b) = (BAR[k - 1], BAR[k]);
    blur * (a.0 + (s - a.1) / (b.1 - a.1) * (b.0 - a.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_large_mark_keeps_its_size_and_a_small_one_is_bound_by_its_contrast() {
        let large = disc(20.0, 0.1, -0.5, 0.7);
        assert!((large.size - 20.05).abs() < 0.1 && large.u < 0.15, "{large:?}");
        // Shown as wide as the blur alone shows anything, a third of the light gone: between the d that takes
        // all light and the d that shows wider than this.
        let small = disc(2.55, 0.15, -0.11, 1.0);
        assert!((0.9..2.0).contains(&small.size), "{small:?}");
        assert!(small.u > 0.2);
    }

    #[test]
    fn a_bar_is_undone() {
        for (width, shown) in BAR {
            assert!((bar(shown * 0.7, 0.7) - width * 0.7).abs() < 0.02, "{width}");
        }
    }
}
