//! Lengths in micrometres and the scale that turns pixels into them. Pixels never mix with micrometres:
//! a bare `f64` named `..._px` stays inside `imaging` and `survey`.

use std::fmt;
use std::ops::{Add, Div, Mul, Neg, Sub};

/// A length in micrometres.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Um(pub f64);

impl Um {
    /// The bare number of micrometres.
    pub const fn get(self) -> f64 {
        self.0
    }
}

impl fmt::Display for Um {
    /// Writes one decimal below 100 um and none above, with the unit.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let digits = if self.0.abs() < 99.95 { 1 } else { 0 };
        write!(f, "{:.*} um", digits, self.0)
    }
}

impl Add for Um {
    type Output = Um;
    fn add(self, other: Um) -> Um {
        Um(self.0 + other.0)
    }
}

impl Sub for Um {
    type Output = Um;
    fn sub(self, other: Um) -> Um {
        Um(self.0 - other.0)
    }
}

impl Neg for Um {
    type Output = Um;
    fn neg(self) -> Um {
        Um(-self.0)
    }
}

impl Mul<f64> for Um {
    type Output = Um;
    fn mul(self, factor: f64) -> Um {
        Um(self.0 * factor)
    }
}

impl Div<f64> for Um {
    type Output = Um;
    fn div(self, divisor: f64) -> Um {
        Um(self.0 / divisor)
    }
}

/// Why a number is no scale.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum UnitError {
    /// Not a finite number above zero.
    #[error("a scale must be a number of micrometres per pixel above zero, not {0}")]
    NotAScale(f64),
}

/// Micrometres per pixel with its standard uncertainty; both finite, the scale above zero.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    um_per_px: f64,
    standard_uncertainty: f64,
}

impl Scale {
    /// Checks and makes a scale.
    ///
    /// # Errors
    /// `NotAScale` if the scale is not a finite number above zero or the uncertainty not finite and >= 0.
    pub fn new(um_per_px: f64, standard_uncertainty: f64) -> Result<Scale, UnitError> {
        let sound = um_per_px.is_finite()
            && um_per_px > 0.0
            && standard_uncertainty.is_finite()
            && standard_uncertainty >= 0.0;
        if sound {
            Ok(Scale { um_per_px, standard_uncertainty })
        } else {
            Err(UnitError::NotAScale(um_per_px))
        }
    }

    /// Micrometres per pixel.
    pub const fn um_per_px(self) -> f64 {
        self.um_per_px
    }

    /// Standard uncertainty of the scale, micrometres per pixel.
    pub const fn standard_uncertainty(self) -> f64 {
        self.standard_uncertainty
    }

    /// A number of pixels as a length.
    pub fn um(self, px: f64) -> Um {
        Um(px * self.um_per_px)
    }

    /// A length as a number of pixels.
    pub fn px(self, um: Um) -> f64 {
        um.0 / self.um_per_px
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_scale_is_finite_and_positive() {
        for bad in [0.0, -0.5, f64::NAN, f64::INFINITY] {
            assert!(Scale::new(bad, 0.0).is_err(), "{bad}");
        }
        assert!(Scale::new(0.5, f64::NAN).is_err());
        let scale = Scale::new(0.5, 1e-4).unwrap();
        assert_eq!(scale.um(250.0), Um(125.0));
        assert_eq!(scale.px(Um(125.0)), 250.0);
    }
}
