//! How two faces meet. With the key of the second face up, as that of the first, a point (x, y) lies on (-x, y);
//! with the keys opposed, on (x, -y). Both maps are their own inverse.
//!
//! By geometry: the two faces look at each other, so that right and left change places; turning one connector
//! by 180 degrees negates both axes of it.

use super::MatedError;
use crate::compare::FaceSeen;
use terms::Point;

/// How the keys of two connectors lie in an adapter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Adapter {
    /// Type A: key up to key down.
    Opposed,
    /// Type B: key up to key up.
    Aligned,
}

impl Adapter {
    /// Signs of x and y.
    pub const fn signs(self) -> (f64, f64) {
        match self {
            Adapter::Opposed => (1.0, -1.0),
            Adapter::Aligned => (-1.0, 1.0),
        }
    }

    /// The word of the command line: `type-a`, `type-b`.
    pub const fn word(self) -> &'static str {
        match self {
            Adapter::Opposed => "type-a",
            Adapter::Aligned => "type-b",
        }
    }

    /// Where a place, or a vector, of one face lies in the frame of the other.
    pub fn across<F>(self, point: Point<F>) -> Point<F> {
        let (sx, sy) = self.signs();
        Point::new(sx * point.x, sy * point.y)
    }

    /// The position of `b` that each position of `a` faces, in order.
    pub(crate) fn facing(self, a: &FaceSeen, b: &FaceSeen) -> Result<Vec<(u16, u16)>, MatedError> {
        let faced = |position, nominal| {
            let there = b.position_at(self.across(nominal));
            there.map(|there| (position, there)).ok_or(MatedError::FacesNothing(position))
        };
        a.fibres.iter().map(|fibre| faced(fibre.position, fibre.nominal)).collect()
    }
}
