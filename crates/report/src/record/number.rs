//! Numbers as they stand in a document: finite or null, and rounded so that the text stays readable.

use terms::Point;

/// Decimals of a length in micrometres.
pub const UM: i32 = 3;
/// Decimals of a place in a picture, pixels.
pub const PX: i32 = 3;
/// Decimals of a ratio.
pub const RATIO: i32 = 4;
/// Decimals of micrometres per pixel and of pixels per micrometre.
pub const SCALE: i32 = 7;

/// `x` rounded to so many decimals; none if it is not finite. Never minus zero.
pub fn rounded(x: f64, decimals: i32) -> Option<f64> {
    let steps = 10f64.powi(decimals);
    let value = (x * steps).round() / steps + 0.0;
    value.is_finite().then_some(value)
}

/// A finite `x` rounded to so many decimals; `x` itself where the rounding would leave the range of numbers.
pub fn kept(x: f64, decimals: i32) -> f64 {
    rounded(x, decimals).unwrap_or(x)
}

/// A point as `[x, y]`; none if either is not finite.
pub fn pair<F>(p: Point<F>, decimals: i32) -> Option<[f64; 2]> {
    Some([rounded(p.x, decimals)?, rounded(p.y, decimals)?])
}

#[cfg(test)]
mod tests {
    use super::*;
    use terms::Face;

    #[test]
    fn rounding_keeps_no_minus_zero_and_no_infinity() {
        assert_eq!(rounded(12.34567, UM), Some(12.346));
        assert!(rounded(-0.0001, UM).unwrap().is_sign_positive());
        assert_eq!(rounded(f64::NAN, UM), None);
        assert_eq!(rounded(f64::MAX, UM), None);
        assert_eq!(kept(f64::MAX, UM), f64::MAX);
        assert_eq!(kept(0.12345, UM), 0.123);
        assert_eq!(pair(Point::<Face>::new(1.0, f64::INFINITY), UM), None);
    }
}
