//! One fibre in its bore, and the guide holes.

use crate::shape::{Spot, distance};

/// What shows at the guide holes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum GuideLook {
    /// Open holes: black, with a bright bevel.
    #[default]
    Open,
    /// Pins: brushed metal.
    Pins,
}

/// How a core stands out of its cladding.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CoreLook {
    /// An even disc.
    Disc,
    /// Strongest in the middle, fading to the edge as the graded index does.
    Graded,
    /// An even disc with a stronger rim and a small dip in the middle.
    Ring,
    /// The small spot of a single-mode fibre, a Gaussian.
    Spot,
}

/// The core of a fibre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoreBody {
    /// How it stands out.
    pub look: CoreLook,
    /// Whether light comes out of it.
    pub lit: bool,
    /// Diameter, um; of a spot the diameter at which it falls to 1/e^2.
    pub diameter: f64,
    /// Its centre less the cladding's, um.
    pub offset: Spot,
    /// Reflectance of its middle less that of the cladding.
    pub contrast: f64,
}

/// The hole that holds the fibre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bore {
    /// Diameter, um.
    pub diameter: f64,
    /// Its centre less the cladding's, um.
    pub offset: Spot,
    /// Reflectance of the adhesive in it; clean glass is 1.
    pub adhesive: f64,
}

/// One fibre, or an empty bore.
#[derive(Clone, Debug, PartialEq)]
pub struct FibreBody {
    /// The standard's number.
    pub position: u16,
    /// Row from 1 at the top.
    pub row: u16,
    /// Column from 1 at the left.
    pub column: u16,
    /// Where the layout would have it, face frame, um.
    pub nominal: Spot,
    /// Centre of the cladding, face frame, um.
    pub centre: Spot,
    /// Diameter of the cladding, um.
    pub diameter: f64,
    /// Its core.
    pub core: CoreBody,
    /// Its bore.
    pub bore: Bore,
    /// Reflectance of the clean cladding, 1 on average over the fibres.
    pub brightness: f64,
    /// Relative change of reflectance from the centre to the edge in x, in y, and with the square of the radius.
    pub shading: (f64, f64, f64),
    /// Direction of the polishing lines, radians.
    pub polish_turn: f64,
    /// No fibre in the bore.
    pub empty: bool,
}

impl FibreBody {
    /// Reflectance of the clean glass at a place (face frame), without polish and shading.
    pub(crate) fn glass_at(&self, at: Spot) -> f64 {
        let centre = (self.centre.0 + self.core.offset.0, self.centre.1 + self.core.offset.1);
        let r = distance(centre, at);
        let inside = self.core.look == CoreLook::Spot || r <= 0.5 * self.core.diameter;
        let core = if inside { self.core.contrast * self.core.profile(r) } else { 0.0 };
        self.brightness * (1.0 + core)
    }
}

impl CoreBody {
    /// Strength at distance `r` um from its centre, 1 in the middle; what lies past the edge is cut by the caller.
    #[inline]
    pub(crate) fn profile(&self, r: f64) -> f64 {
        let q = 2.0 * r / self.diameter;
        match self.look {
            CoreLook::Disc => 1.0,
            CoreLook::Graded => 1.0 - 0.75 * (q * q).min(1.0),
            CoreLook::Ring => 0.75 + 0.45 * q.min(1.0).powi(6) - 0.25 * (-(q * q) / 0.02).exp(),
            CoreLook::Spot => (-2.0 * q * q).exp(),
        }
    }
}
