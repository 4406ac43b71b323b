//! Where the fibres are: from a whole picture to one approximate circle for each position of the layout.

use imaging::Frame;
use terms::{Flaw, Guides, Layout, Pixel, Point, Pose, View};

/// What was located at one populated position.
#[derive(Clone, Debug, PartialEq)]
pub enum Located {
    /// A cladding, to a fraction of a pixel or two; its edge is fitted later.
    Fibre {
        /// Centre in the picture.
        centre: Point<Pixel>,
        /// Radius of the cladding, pixels.
        radius: f64,
    },
    /// None, and why. `NotInView` and `CutByBorder` where the picture does not hold the site, `NotFound` or
    /// `Hidden` where it does.
    Missing(Flaw),
}

/// The lattice in one picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Lattice {
    /// Face frame to pixel frame, from the lattice.
    pub pose: Pose,
    /// One for every populated place of the layout, in the same order.
    pub sites: Vec<Located>,
    /// What shows at the guide holes.
    pub guides: Guides,
}
