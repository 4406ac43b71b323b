//! The catalogue: everything the survey tells about a face, in numbers and without pixels. Below it there
//! are only pixels, above it only numbers.

use crate::flaw::Flaw;
use crate::geometry::{point_in_polygon, point_segment_distance};
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

impl Reach {
    /// The reach of what lies within an outline; from the centre on where there is none.
    pub fn of(outline: &[Point<FibreFrame>]) -> Reach {
        let outer = outline.iter().map(|p| p.radius()).fold(0.0, f64::max);
        let centre = Point::new(0.0, 0.0);
        let sides = outline.iter().zip(outline.iter().cycle().skip(1));
        let nearest =
            sides.map(|(a, b)| point_segment_distance(centre, *a, *b)).fold(f64::INFINITY, f64::min);
        let is_off = nearest.is_finite() && !point_in_polygon(centre, outline);
        Reach { inner: Um(if is_off { nearest } else { 0.0 }), outer: Um(outer) }
    }
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

/// A place where the glass differs from clean glass by more than noise mostly does, and by less than a mark must: too
/// little to tell a mark by, enough to know one by that another picture shows there. None lies on a mark or close about
/// one, but where a scratch is broken its gap may hold some.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hint {
    /// Where.
    pub at: Point<FibreFrame>,
    /// Signed height, a share of the clean glass's level, as `faintest_visible` of the fibre tells it.
    pub height: f64,
}

impl Hint {
    /// Least height of a hint, scatters of the field in which marks are looked for: noise alone has a few dozen such
    /// peaks on a fibre, so that one near a given place is rare.
    pub const LEAST_SCATTERS: f64 = 3.3;
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
    /// Diameter of the core where its light is half the middle's; none if it does not stand out from the cladding.
    pub core_width: Option<Um>,
    /// What was seen on the glass and its rim, in order of id.
    pub features: Vec<Feature>,
    /// What may be marks too faint to be told; none under or close about `features`.
    pub hints: Vec<Hint>,
    /// Those of `features` that lie where the camera's optics are dirty, and of which no other picture tells whether they are
    /// on the fibre.
    pub at_optics: Vec<FeatureId>,
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
    /// What its levels are multiplied by in the picture of the whole face, so that exposures match there.
    pub gain: f32,
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
    /// Dirt on the camera's optics: it stays at the same pixels whatever the pictures show.
    pub optics: Vec<OpticsSpot>,
    /// Marks on whose place on the face the pictures do not agree, in order of position.
    pub disagreements: Vec<Disagreement>,
}

/// A spot at the same pixels of the pictures of a run: dirt on the camera's optics.
#[derive(Clone, Debug, PartialEq)]
pub struct OpticsSpot {
    /// Its middle in every picture.
    pub centre: Point<Pixel>,
    /// Diameter, pixels.
    pub size_px: f64,
    /// Contrast against what the pictures show about it, their median: -0.2 is 20 % darker.
    pub contrast: f64,
    /// Number of pictures in which it shows.
    pub pictures: usize,
}

/// A mark that one picture shows on a fibre and that another does not show there, or that lies where the optics are
/// dirty.
#[derive(Clone, Debug, PartialEq)]
pub struct Disagreement {
    /// The position.
    pub position: u16,
    /// The mark; its id is that of the fibre's feature if it counts there, else 0.
    pub mark: Feature,
    /// Index of the picture that shows it.
    pub shown_in: usize,
    /// Index of the picture that shows its place and not the mark; none if no other picture tells.
    pub absent_in: Option<usize>,
    /// Index among the spots of the optics of the one that lies there.
    pub optics: Option<usize>,
    /// Whether it is left out of the fibre's features: it lies where the optics are dirty, and what the other picture
    /// shows at its place stands among them instead.
    pub set_aside: bool,
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
