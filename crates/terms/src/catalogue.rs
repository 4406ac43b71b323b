//! The catalogue: everything the survey tells about a face, in numbers and without pixels. Below it there
//! are only pixels, above it only numbers.

use crate::place::{Face, FibreFrame, Pixel, Point, Pose, View};
use crate::units::{Scale, Um};
use std::fmt;

/// Number of a feature on its face, from 1 in order of position, then of the feature's place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct FeatureId(pub u32);

/// What a feature looks like. Only a scratch is told apart by the criteria; the rest are defects.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// A line: its width is what the criteria limit.
    Scratch,
    /// Something on the surface.
    Particle,
    /// A small, round, deep hole in the glass.
    Pit,
    /// A wide, faint layer: residue, smear, droplet.
    Film,
    /// Glass missing at the cladding's edge.
    Chip,
}

impl Kind {
    /// The word used in every output.
    pub const fn word(self) -> &'static str {
        match self {
            Kind::Scratch => "scratch",
            Kind::Particle => "particle",
            Kind::Pit => "pit",
            Kind::Film => "film",
            Kind::Chip => "chip",
        }
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// Nearest and farthest point of a feature from the cladding's centre (radii, not diameters).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reach {
    /// Smallest radius that the feature touches; 0 if it covers the centre.
    pub inner: Um,
    /// Largest radius that it touches.
    pub outer: Um,
}

/// One mark on or beside a fibre.
#[derive(Clone, Debug, PartialEq)]
pub struct Feature {
    /// Its number on the face.
    pub id: FeatureId,
    /// What it looks like.
    pub kind: Kind,
    /// What the criteria limit: a scratch's width, any other feature's smallest enclosing circle (diameter),
    /// both corrected for blur.
    pub size: Um,
    /// Standard uncertainty of `size`.
    pub u: Um,
    /// Length along a scratch; the largest extent of anything else.
    pub length: Um,
    /// A scratch's middle, any other feature's centre of its enclosing circle.
    pub centre: Point<FibreFrame>,
    /// Signed contrast against the clean glass about it: -0.3 is 30 % darker, 0.2 is 20 % brighter.
    pub contrast: f64,
    /// How near to and far from the cladding's centre it reaches.
    pub reach: Reach,
    /// Its outline, a closed polygon (the last point joins the first).
    pub outline: Vec<Point<FibreFrame>>,
}

/// Why a position, or a picture, cannot be graded. Facts of the picture only; whether it is sharp enough
/// for given criteria is the grader's business.
#[derive(Clone, Debug, PartialEq)]
pub enum Flaw {
    /// The site lies outside the picture.
    NotInView,
    /// Part of the site lies outside the picture; share of the cladding that is in it.
    CutByBorder {
        /// 0 to 1.
        visible: f64,
    },
    /// The site is in view and no cladding edge was found there.
    NotFound,
    /// Only part of the cladding's edge shows; share of it that was found.
    Hidden {
        /// 0 to 1.
        edge_seen: f64,
    },
    /// The glass is at the top of the range of the camera; share of the cladding that is.
    Saturated {
        /// 0 to 1.
        share: f64,
    },
    /// The glass is too dark or too flat for any mark to stand out; signal to noise ratio of one pixel.
    TooDark {
        /// Clean glass level over noise.
        signal_to_noise: f64,
    },
    /// The picture was moved during exposure: the edge is wider in one direction.
    Smeared {
        /// Width across over width along, above 1.
        ratio: f64,
    },
    /// The edge is too soft to be measured as an edge.
    Blurred {
        /// Standard deviation of the blur.
        blur: Um,
    },
    /// The pixels are too large for an edge to be measured.
    TooCoarse {
        /// Micrometres per pixel.
        um_per_px: f64,
    },
    /// What was measured is no 125 um cladding.
    WrongDiameter {
        /// The diameter found.
        diameter: Um,
    },
    /// Which position this is cannot be told from the picture.
    Ambiguous(Ambiguity),
    /// No picture of a stepped run shows the whole of the site. Pictures are given by their index.
    Gap {
        /// Share of the cladding's width that one picture shows at most, 0 to 1.
        visible: f64,
        /// The nearest picture to the left on the face.
        before: Option<usize>,
        /// The nearest picture to the right on the face.
        after: Option<usize>,
        /// Pictures whose place is not known.
        unplaced: Vec<usize>,
    },
}

/// What keeps a picture from telling which position is which.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ambiguity {
    /// The border of the picture cuts the row at both ends.
    NoEnd,
    /// An end of the row lies in the picture, under something.
    HiddenEnd,
    /// A row that ends on bare ferrule at both ends and lacks one or two fibres of the layout.
    ShortRow {
        /// Sites from its first to its last fibre.
        seen: usize,
        /// Sites from the first to the last populated one of the layout's row.
        due: usize,
    },
    /// One row, where the layout has several.
    OneRow {
        /// Rows of the layout.
        rows: u16,
    },
    /// Pictures of a run that show this position and do not join.
    Unjoined,
    /// A run no part of which can be numbered.
    UnnumberedRun,
}

impl fmt::Display for Ambiguity {
    /// One sentence: what is wrong and how to mend it.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Ambiguity::NoEnd => f.write_str(
                "the border of the picture cuts the row at both ends, so nothing tells which fibre is which; show \
                 an end of the row or a guide hole",
            ),
            Ambiguity::HiddenEnd => f.write_str(
                "an end of the row is hidden, so nothing tells which fibre is which; clean the face, or show a \
                 guide hole too",
            ),
            Ambiguity::ShortRow { seen, due } => write!(
                f,
                "the row shows {seen} fibres where the layout has {due}, and not which end lacks one; check the \
                 layout, or clean the face and show a guide hole too"
            ),
            Ambiguity::OneRow { rows } => write!(
                f,
                "one row of fibres shows where the layout has {rows}, and not which one it is; show all rows, or \
                 check the layout"
            ),
            Ambiguity::Unjoined => f.write_str(
                "pictures that show this position do not join, so one of them is numbered wrongly; take the run \
                 again with neighbours that overlap by at least one fibre",
            ),
            Ambiguity::UnnumberedRun => f.write_str(
                "no pictures of the run that join show an end of the row, so nothing tells which fibre is which; \
                 take it from one end of the row to the other, each picture overlapping the next",
            ),
        }
    }
}

impl Flaw {
    /// A stable code for programs.
    pub const fn code(&self) -> &'static str {
        match self {
            Flaw::NotInView => "not-in-view",
            Flaw::CutByBorder { .. } => "cut-by-border",
            Flaw::NotFound => "not-found",
            Flaw::Hidden { .. } => "hidden",
            Flaw::Saturated { .. } => "saturated",
            Flaw::TooDark { .. } => "too-dark",
            Flaw::Smeared { .. } => "smeared",
            Flaw::Blurred { .. } => "blurred",
            Flaw::TooCoarse { .. } => "too-coarse",
            Flaw::WrongDiameter { .. } => "wrong-diameter",
            Flaw::Ambiguous(_) => "ambiguous-position",
            Flaw::Gap { visible, .. } if *visible > 0.0 => "cut-by-border",
            Flaw::Gap { .. } => "not-in-view",
        }
    }
}

impl fmt::Display for Flaw {
    /// One sentence: what is wrong and how to mend it.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let percent = |x: f64| (x * 100.0).round();
        match self {
            Flaw::NotInView => {
                write!(f, "this position lies outside the picture; take one that shows the whole row")
            }
            Flaw::CutByBorder { visible } => {
                write!(
                    f,
                    "the border of the picture cuts this fibre ({} % of it shows); move the view",
                    percent(*visible)
                )
            }
            Flaw::NotFound => {
                write!(
                    f,
                    "no cladding edge was found here; clean the face, check the layout and take the picture again"
                )
            }
            Flaw::Hidden { edge_seen } => write!(
                f,
                "only {} % of the cladding's edge shows; clean the face and take the picture again",
                percent(*edge_seen)
            ),
            Flaw::Saturated { share } => {
                write!(
                    f,
                    "{} % of the glass is overexposed; lower the light or the exposure",
                    percent(*share)
                )
            }
            Flaw::TooDark { signal_to_noise } => write!(
                f,
                "the glass is too dark to see marks on (signal to noise {signal_to_noise:.0}); raise the light or the exposure"
            ),
            Flaw::Smeared { ratio } => {
                write!(
                    f,
                    "the camera moved during the exposure (edges {ratio:.1} times wider in one direction); hold it still"
                )
            }
            Flaw::Blurred { blur } => {
                write!(f, "out of focus (blur {:.1} um); focus and take the picture again", blur.0)
            }
            Flaw::TooCoarse { um_per_px } => write!(
                f,
                "the picture is too coarse ({um_per_px:.1} um per pixel, 1.2 at most); use a higher magnification"
            ),
            Flaw::WrongDiameter { diameter } => {
                write!(
                    f,
                    "what was found here is {:.0} um wide and no 125 um cladding; check the layout, and that the picture was not stretched",
                    diameter.0
                )
            }
            Flaw::Ambiguous(why) => why.fmt(f),
            Flaw::Gap { visible, before, after, unplaced } => gap(f, *visible, (*before, *after), unplaced),
        }
    }
}

/// Which picture of a run is lacking; pictures are counted from 1, as they were given.
fn gap(
    f: &mut fmt::Formatter<'_>,
    visible: f64,
    beside: (Option<usize>, Option<usize>),
    unplaced: &[usize],
) -> fmt::Result {
    match visible > 0.0 {
        true => write!(f, "no picture shows the whole of this fibre")?,
        false => write!(f, "no picture shows this position")?,
    }
    match beside {
        (Some(a), Some(b)) => write!(f, "; take one more between pictures {} and {}", a + 1, b + 1)?,
        (Some(a), None) | (None, Some(a)) => write!(f, "; take one more beyond picture {}", a + 1)?,
        (None, None) => {}
    }
    let numbers: Vec<String> = unplaced.iter().map(|i| (i + 1).to_string()).collect();
    match numbers.len() {
        0 => Ok(()),
        1 => write!(f, "; the place of picture {} is not known: take it again with more overlap", numbers[0]),
        _ => write!(
            f,
            "; the places of pictures {} are not known: take them again with more overlap",
            numbers.join(", ")
        ),
    }
}

/// How the core looks.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Core {
    /// Brighter than the cladding: light comes from the far end or is reflected more.
    Lit,
    /// As bright as the cladding or darker.
    Dark,
    /// It cannot be told.
    #[default]
    Unknown,
}

/// One fibre that was found and measured.
#[derive(Clone, Debug, PartialEq)]
pub struct Fibre {
    /// Index of the source picture.
    pub source: usize,
    /// Measured centre of the cladding in that picture.
    pub centre_px: Point<Pixel>,
    /// Standard uncertainty of the centre, per axis.
    pub centre_u: Um,
    /// Measured diameter of the cladding.
    pub diameter: Um,
    /// Measured centre less the layout's nominal site, face frame.
    pub offset: Point<Face>,
    /// Standard deviation of the blur, from the cladding's own edge.
    pub blur: Um,
    /// The smallest mark that would be seen here nine times in ten.
    pub smallest_visible: Um,
    /// Height, as a share of the clean glass's level, of the faintest compact mark that would be seen here nine
    /// times in ten. A mark's height is its contrast less what the blur takes from its peak.
    pub faintest_visible: f64,
    /// How the core looks.
    pub core: Core,
    /// Level of the core's middle against the clean glass about it, less 1: 0.3 is 30 % brighter; none if it was not
    /// seen.
    pub core_light: Option<f64>,
    /// What was seen on the glass and its rim, in order of id.
    pub features: Vec<Feature>,
    /// Why it cannot be graded; empty if it can.
    pub flaws: Vec<Flaw>,
}

/// What was found at one populated position.
#[derive(Clone, Debug, PartialEq)]
pub enum Look {
    /// A fibre.
    Found(Box<Fibre>),
    /// None, and why.
    Missing(Flaw),
}

/// One populated position of the layout, found or not.
#[derive(Clone, Debug, PartialEq)]
pub struct Site {
    /// The standard's number.
    pub position: u16,
    /// Row from 1 at the top.
    pub row: u16,
    /// Column from 1 at the left.
    pub column: u16,
    /// What was found.
    pub look: Look,
}

/// Where the scale came from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ScaleSource {
    /// Measured from the lattice of fibres.
    Lattice,
    /// Stated by the user and checked against the picture.
    Stated,
}

/// What else in the picture says of the scale: measured over nominal, 1 where it agrees.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ScaleChecks {
    /// Median cladding diameter over the layout's; none without fibres.
    pub cladding: Option<f64>,
    /// Distance of the guide holes over the layout's; none unless both show.
    pub guides: Option<f64>,
}

/// What shows at the guide holes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Guides {
    /// Open holes.
    Holes,
    /// Pins in the holes.
    Pins,
    /// The picture does not reach them.
    #[default]
    NotInView,
}

/// A mark on the ferrule, off the fibres: a reason to clean, no limit of edition 2.
#[derive(Clone, Debug, PartialEq)]
pub struct FaceMark {
    /// Index of the source picture.
    pub source: usize,
    /// Where on the face.
    pub centre: Point<Face>,
    /// Smallest enclosing circle (diameter).
    pub size: Um,
    /// Signed contrast against the ferrule about it.
    pub contrast: f64,
    /// Whether it lies at a guide hole.
    pub at_guide: bool,
}

/// How well the picture as a whole shows the face.
#[derive(Clone, Debug, PartialEq)]
pub struct Quality {
    /// Median over the fibres of the blur's standard deviation; none without fibres.
    pub blur: Option<Um>,
    /// The largest over the gradable fibres of the smallest mark seen nine times in ten.
    pub smallest_visible: Option<Um>,
    /// Why no position of the picture can be graded; empty if any can.
    pub flaws: Vec<Flaw>,
}

/// How one picture of a stepped run was put in its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Placement {
    /// Whether its place on the face is known.
    pub placed: bool,
    /// Indices of the pictures that it was found to overlap.
    pub linked: Vec<usize>,
    /// Root mean square of what is left between it and them; none without any.
    pub residual: Option<Um>,
}

/// The frame of a picture that is put together from others; its key is up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Canvas {
    /// Face frame to pixel frame.
    pub pose: Pose,
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
}

/// How the pictures of a stepped run were put together.
#[derive(Clone, Debug, PartialEq)]
pub struct Stitch {
    /// One for each source picture.
    pub placements: Vec<Placement>,
    /// Where the picture of the whole face lies; none if no picture could be placed.
    pub canvas: Option<Canvas>,
    /// Share of the face half a pitch about the sites that some picture shows, 0 to 1.
    pub covered: f64,
}

/// Everything the survey tells about a face. Holds no pixel.
#[derive(Clone, Debug, PartialEq)]
pub struct Survey {
    /// Id of the layout it was read by.
    pub layout: String,
    /// What the user stated of the view.
    pub view: View,
    /// Micrometres per pixel.
    pub scale: Scale,
    /// Where the scale came from.
    pub scale_source: ScaleSource,
    /// What else in the picture says of it.
    pub scale_checks: ScaleChecks,
    /// Face frame to pixel frame, one for each source picture.
    pub poses: Vec<Pose>,
    /// How well the picture shows the face.
    pub quality: Quality,
    /// One for every populated position, in order of position.
    pub sites: Vec<Site>,
    /// What shows at the guide holes.
    pub guides: Guides,
    /// Marks off the fibres, largest first.
    pub face_marks: Vec<FaceMark>,
    /// How the source pictures were put together; none of a single one.
    pub stitch: Option<Stitch>,
}
