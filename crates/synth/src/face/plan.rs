//! A face as one wants it: the kind of fibre, how its cores and guide holes look, tolerances; and the face
//! drawn from it by chance.

use super::{Bore, CoreBody, CoreLook, Face, Ferrule, FibreBody, GuideLook};
use crate::check::{Check, Wrong};
use crate::random::{Stream, Topic};
use std::f64::consts::{PI, TAU};
use terms::{Layout, Place};

/// The kind of fibre.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum FibreType {
    /// Multimode, core 50 um.
    #[default]
    Multimode50,
    /// Multimode, core 62.5 um.
    Multimode62,
    /// Single mode.
    SingleMode,
}

/// Whether light comes out of the cores.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Cores {
    /// Out of none.
    #[default]
    Dark,
    /// Out of all.
    Lit,
    /// Out of some, by chance.
    Mixed,
}

/// What a face is made from; the default is a clean multimode face with open guide holes.
#[derive(Clone, Debug, PartialEq)]
pub struct FacePlan {
    /// Seed of all that is drawn by chance.
    pub seed: u64,
    /// The kind of fibre.
    pub fibre: FibreType,
    /// Whether the cores are lit.
    pub cores: Cores,
    /// Positions out of which light comes, whatever `cores` says of the others.
    pub lit: Vec<u16>,
    /// What shows at the guide holes.
    pub guides: GuideLook,
    /// The ferrule's mean reflectance; clean glass is 1.
    pub ferrule_level: f64,
    /// How strongly the ferrule is mottled: 0 is flat, 1 usual.
    pub ferrule_contrast: f64,
    /// Strength of the polishing texture: 0 is none, 1 usual.
    pub polish: f64,
    /// Farthest that a fibre may lie from its nominal site, um.
    pub eccentricity_um: f64,
    /// Mean difference of bore and cladding diameter, um: the room that the adhesive fills.
    pub gap_um: f64,
    /// Positions whose bore is empty.
    pub empty: Vec<u16>,
}

impl Default for FacePlan {
    fn default() -> Self {
        FacePlan {
            seed: 1,
            fibre: FibreType::Multimode50,
            cores: Cores::Dark,
            lit: Vec::new(),
            guides: GuideLook::Open,
            ferrule_level: 0.55,
            ferrule_contrast: 1.0,
            polish: 1.0,
            eccentricity_um: 1.4,
            gap_um: 2.6,
            empty: Vec::new(),
        }
    }
}

impl FacePlan {
    /// What cannot be in this plan; empty if all can.
    pub fn check(&self) -> Vec<Wrong> {
        let mut check = Check::default();
        check.range("ferrule_level", self.ferrule_level, 0.1, 0.9);
        check.range("ferrule_contrast", self.ferrule_contrast, 0.0, 2.0);
        check.range("polish", self.polish, 0.0, 3.0);
        check.range("eccentricity_um", self.eccentricity_um, 0.0, 5.0);
        check.range("gap_um", self.gap_um, 0.0, 10.0);
        check.wrong
    }
}

pub(super) fn build(layout: &Layout, plan: &FacePlan) -> Face {
    let mut chance = Stream::new(plan.seed, Topic::Polish, 0, 0);
    let polish_turn = chance.between(0.0, PI);
    Face {
        seed: plan.seed,
        ferrule: Ferrule { level: plan.ferrule_level, contrast: plan.ferrule_contrast },
        guides: plan.guides,
        guide_spacing: layout.guides.spacing,
        guide_diameter: layout.guides.diameter,
        polish: plan.polish,
        fibres: layout.places.iter().map(|p| fibre(layout, plan, p, polish_turn)).collect(),
        marks: Vec::new(),
    }
}

fn fibre(layout: &Layout, plan: &FacePlan, place: &Place, polish_turn: f64) -> FibreBody {
    let mut chance = Stream::new(plan.seed, Topic::Fibre, i64::from(place.position), 0);
    let off = chance.in_disc(plan.eccentricity_um);
    // Data sheets: 125 +- 0.7 um; most fibres lie well inside.
    let diameter = layout.cladding.0 + (0.25 * chance.normal()).clamp(-0.7, 0.7);
    let bore = bore(&mut chance, diameter, plan.gap_um);
    FibreBody {
        position: place.position,
        row: place.row,
        column: place.column,
        nominal: (place.at.x, place.at.y),
        centre: (place.at.x + off.0, place.at.y + off.1),
        diameter,
        core: core(&mut chance, plan, place.position),
        bore,
        brightness: 1.0 + (0.02 * chance.normal()).clamp(-0.05, 0.05),
        shading: (0.012 * chance.normal(), 0.012 * chance.normal(), chance.between(-0.03, 0.015)),
        polish_turn: polish_turn + 0.06 * chance.normal(),
        empty: plan.empty.contains(&place.position),
    }
}

/// The fibre leans to one side of its bore; the crescent beside it holds the adhesive. A film of adhesive stays
/// on the narrow side as well.
fn bore(chance: &mut Stream, cladding: f64, mean_gap: f64) -> Bore {
    let gap = mean_gap * chance.between(0.6, 1.4);
    let lean = 0.5 * gap * 0.75 * chance.unit().sqrt();
    let angle = chance.between(0.0, TAU);
    Bore {
        diameter: cladding + gap,
        offset: (lean * angle.cos(), lean * angle.sin()),
        adhesive: chance.between(0.16, 0.4),
    }
}

fn core(chance: &mut Stream, plan: &FacePlan, position: u16) -> CoreBody {
    let by_plan = match plan.cores {
        Cores::Dark => false,
        Cores::Lit => true,
        Cores::Mixed => chance.chance(0.5),
    };
    let lit = by_plan || plan.lit.contains(&position);
    match plan.fibre {
        FibreType::Multimode50 => multimode(chance, 50.0, lit),
        FibreType::Multimode62 => multimode(chance, 62.5, lit),
        FibreType::SingleMode => single_mode(chance, lit),
    }
}

fn multimode(chance: &mut Stream, nominal: f64, lit: bool) -> CoreBody {
    let look = match (lit, chance.below(3)) {
        (true, 0 | 1) => CoreLook::Graded,
        (false, 2) => CoreLook::Ring,
        _ => CoreLook::Disc,
    };
    let contrast = match lit {
        true => chance.between(0.15, 0.4),
        false if chance.chance(0.25) => chance.between(0.015, 0.04),
        false => -chance.between(0.03, 0.1),
    };
    CoreBody {
        look,
        lit,
        diameter: nominal + (0.7 * chance.normal()).clamp(-2.0, 2.0),
        offset: chance.in_disc(1.0),
        contrast,
    }
}

fn single_mode(chance: &mut Stream, lit: bool) -> CoreBody {
    let contrast = if lit { chance.between(0.35, 0.7) } else { -chance.between(0.05, 0.12) };
    CoreBody {
        look: CoreLook::Spot,
        lit,
        diameter: chance.between(8.6, 9.6),
        offset: chance.in_disc(0.5),
        contrast,
    }
}
