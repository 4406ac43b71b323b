//! Marks on an end face as one states them: what, where, how large, how strong. How they come to lie on the
//! face is in `place`, how dirt is strewn by chance in `dirt`.

mod dirt;
mod film;
mod place;

pub use dirt::DirtLevel;
pub(crate) use dirt::strew;
pub(crate) use film::Film;
pub(crate) use place::{Layer, Paint, Placed, Strength, Trace, place};

use crate::check::{Check, Wrong};
use crate::shape::{Form, Spot};

/// Which frame of reference a mark's places are in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum On {
    /// The fibre frame of this position: um from the true centre of its cladding.
    Fibre(u16),
    /// The face frame.
    Face,
}

/// A mark on the face.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// The frame of its places.
    pub on: On,
    /// What it is.
    pub what: What,
    /// Seed of its irregularities.
    pub seed: u64,
}

/// What a mark is. Places and sizes in um; a size is the diameter of the smallest circle that holds the ideal
/// shape, `at` that circle's centre. Contrast is relative to the clean surface beneath: -0.3 is 30 % darker.
#[derive(Clone, Debug, PartialEq)]
pub enum What {
    /// A solid lump.
    Particle {
        /// Its centre.
        at: Spot,
        /// Its size.
        size_um: f64,
        /// Its contrast.
        contrast: f64,
        /// Its outline.
        form: Form,
    },
    /// A drop of liquid: a dark rim about a nearly clean inside.
    Droplet {
        /// Its centre.
        at: Spot,
        /// Its size.
        size_um: f64,
        /// The rim's contrast.
        contrast: f64,
        /// The rim's width.
        rim_um: f64,
    },
    /// A small round deep hole in the glass.
    Pit {
        /// Its centre.
        at: Spot,
        /// Its size.
        size_um: f64,
        /// Its contrast.
        contrast: f64,
    },
    /// A scratch of even width along a smooth line through the points.
    Scratch {
        /// At least two points.
        path_um: Vec<Spot>,
        /// Its width.
        width_um: f64,
        /// Its contrast.
        contrast: f64,
        /// Share of its length, 0 to 0.8, over which it fades out.
        broken: f64,
    },
    /// A wide faint layer.
    Smear {
        /// Its centre.
        at: Spot,
        /// Its size at half strength of the rim.
        size_um: f64,
        /// Contrast of the full layer.
        contrast: f64,
        /// Standard deviation over which the rim fades; 0 is sharp.
        rim_um: f64,
    },
    /// A film of oil with interference fringes.
    Oil {
        /// Its centre.
        at: Spot,
        /// Its size at half strength of the rim.
        size_um: f64,
        /// Contrast of a full fringe.
        contrast: f64,
        /// Number of fringes from rim to middle.
        fringes: f64,
    },
    /// A finger print: parallel ridges of fine grease.
    Print {
        /// Its centre.
        at: Spot,
        /// Its size.
        size_um: f64,
        /// Contrast of a full ridge.
        contrast: f64,
        /// Distance from ridge to ridge.
        pitch_um: f64,
    },
    /// A fibre of cloth or paper that lies over the face; counted as a particle.
    Lint {
        /// At least two points.
        path_um: Vec<Spot>,
        /// Its width.
        width_um: f64,
        /// Its contrast.
        contrast: f64,
    },
    /// Glass missing at the cladding's edge, inside it.
    Chip {
        /// Where on the edge, degrees from x towards y.
        at_deg: f64,
        /// Its size.
        size_um: f64,
        /// How far it reaches in from the edge.
        depth_um: f64,
        /// Its contrast.
        contrast: f64,
    },
}

const FAR: f64 = 4000.0;

impl What {
    /// The word used for it in scene files and in the truth.
    pub fn word(&self) -> &'static str {
        match self {
            What::Particle { .. } => "particle",
            What::Droplet { .. } => "droplet",
            What::Pit { .. } => "pit",
            What::Scratch { .. } => "scratch",
            What::Smear { .. } => "smear",
            What::Oil { .. } => "oil",
            What::Print { .. } => "print",
            What::Lint { .. } => "lint",
            What::Chip { .. } => "chip",
        }
    }

    /// What cannot be in this mark; empty if all can.
    pub fn check(&self) -> Vec<Wrong> {
        let mut check = Check::default();
        match self {
            What::Particle { at, size_um, contrast, .. } => lump(&mut check, *at, *size_um, *contrast, 400.0),
            What::Pit { at, size_um, contrast } => lump(&mut check, *at, *size_um, *contrast, 60.0),
            What::Droplet { at, size_um, contrast, rim_um } => {
                lump(&mut check, *at, *size_um, *contrast, 400.0);
                check.range("rim_um", *rim_um, 0.05, (0.45 * size_um).max(0.05));
            }
            What::Smear { at, size_um, contrast, rim_um } => {
                lump(&mut check, *at, *size_um, *contrast, 6000.0);
                check.range("rim_um", *rim_um, 0.0, (0.25 * size_um).max(0.0));
            }
            What::Oil { at, size_um, contrast, fringes } => {
                lump(&mut check, *at, *size_um, *contrast, 6000.0);
                check.range("fringes", *fringes, 0.5, 20.0);
            }
            What::Print { at, size_um, contrast, pitch_um } => {
                lump(&mut check, *at, *size_um, *contrast, 6000.0);
                check.range("pitch_um", *pitch_um, 5.0, 1000.0);
            }
            What::Scratch { path_um, width_um, contrast, broken } => {
                line(&mut check, path_um, *width_um, *contrast);
                check.range("broken", *broken, 0.0, 0.8);
            }
            What::Lint { path_um, width_um, contrast } => line(&mut check, path_um, *width_um, *contrast),
            What::Chip { at_deg, size_um, depth_um, contrast } => {
                check.range("at_deg", *at_deg, -360.0, 360.0);
                check.range("size_um", *size_um, 0.5, 60.0);
                check.range("depth_um", *depth_um, 0.1, (0.5 * size_um).max(0.1));
                check.contrast(*contrast);
            }
        }
        check.wrong
    }
}

fn lump(check: &mut Check, at: Spot, size: f64, contrast: f64, largest: f64) {
    check.place("at_um", at, FAR);
    check.range("size_um", size, 0.1, largest);
    check.contrast(contrast);
}

fn line(check: &mut Check, path: &[Spot], width: f64, contrast: f64) {
    for p in path {
        check.place("path_um", *p, FAR);
    }
    if crate::path::Path::new(path.to_vec()).is_none() {
        check.say("path_um", "`path_um` must be two or more points [x, y] that do not all coincide");
    }
    check.range("width_um", width, 0.1, 60.0);
    check.contrast(contrast);
}
