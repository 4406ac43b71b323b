//! The end face as a thing, in micrometres and in no picture: ferrule, bores, fibres, guide holes and the
//! marks that lie on it. The camera that looks at it is another matter (`camera`).

mod body;
mod plan;

pub use body::{Bore, CoreBody, CoreLook, FibreBody, GuideLook};
pub use plan::{Cores, FacePlan, FibreType};

use crate::mark::Mark;
use crate::shape::{Spot, distance};
use terms::{Layout, Um};

/// Half the outline of the ferrule, um (6.4 x 2.5 mm nominal).
pub(crate) const HALF_FACE: Spot = (3200.0, 1250.0);

/// How the ferrule's surface looks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ferrule {
    /// Mean reflectance; clean glass is 1.
    pub level: f64,
    /// How strongly it is mottled: 0 is flat, 1 usual.
    pub contrast: f64,
}

/// One array end face. Reflectances are relative to clean glass; all places are in the face frame, um.
#[derive(Clone, Debug, PartialEq)]
pub struct Face {
    /// Seed of everything that is not listed: grains, polish, brushing.
    pub seed: u64,
    /// The ferrule's surface.
    pub ferrule: Ferrule,
    /// Whether the guide holes are open or hold pins.
    pub guides: GuideLook,
    /// Centre to centre of the guide holes.
    pub guide_spacing: Um,
    /// Diameter of a guide hole.
    pub guide_diameter: Um,
    /// Strength of the polishing texture: 0 is none, 1 usual.
    pub polish: f64,
    /// The fibres (and empty bores), in order of position.
    pub fibres: Vec<FibreBody>,
    /// What lies on the face, in the order in which it was put there.
    pub marks: Vec<Mark>,
}

impl Face {
    /// The fibre at a position.
    pub fn fibre(&self, position: u16) -> Option<&FibreBody> {
        self.fibres.iter().find(|f| f.position == position)
    }

    /// Puts a mark on the face.
    pub fn put(&mut self, mark: Mark) -> &mut Face {
        self.marks.push(mark);
        self
    }

    /// Ideal clean reflectance at a place on the face: core, cladding, or the ferrule's mean.
    pub(crate) fn clean_at(&self, at: Spot) -> f64 {
        let inside = |f: &&FibreBody| !f.empty && distance(f.centre, at) <= 0.5 * f.diameter;
        match self.fibres.iter().find(inside) {
            Some(fibre) => fibre.glass_at(at),
            None => self.ferrule.level,
        }
    }

    /// Centres of the two guide holes.
    pub(crate) fn guide_centres(&self) -> [Spot; 2] {
        let x = 0.5 * self.guide_spacing.0;
        [(-x, 0.0), (x, 0.0)]
    }

    /// The clean face of a layout, as the plan has it.
    pub fn new(layout: &Layout, plan: &FacePlan) -> Face {
        plan::build(layout, plan)
    }
}
