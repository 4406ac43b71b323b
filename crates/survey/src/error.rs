//! Why no survey could be made: every sentence of the crate that is not about the row itself.

use crate::locate::LocateError;

/// Why a survey cannot be made. What the picture shows too badly to grade is no error but a flaw in the
/// survey.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SurveyError {
    /// No row, or not the row of this layout.
    #[error(transparent)]
    Locate(#[from] LocateError),
    /// The stated scale is not the picture's.
    #[error(
        "the stated scale of {stated} um per pixel does not agree with the picture, whose fibres are 250 um apart \
         at {measured:.4} um per pixel; leave the scale out or correct it"
    )]
    Scale {
        /// What the user stated.
        stated: f64,
        /// What the lattice says.
        measured: f64,
    },
    /// No number above zero.
    #[error("the stated scale must be a number of micrometres per pixel above zero, not {0}")]
    NotAScale(f64),
    /// No picture.
    #[error("no picture was given; give one of the whole face, or several that step along it")]
    Frames,
}
