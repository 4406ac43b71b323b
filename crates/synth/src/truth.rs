//! What is truly on a made-up face and where it lies in the picture: the document that is written beside it.

mod tell;

pub(crate) use tell::tell;

use serde::{Deserialize, Serialize};

/// Version of the document.
pub const SCHEMA: &str = "pitchline.synth-truth/1";

/// The whole truth of one picture. Lengths in um, places as [x, y].
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Truth {
    /// Always [`SCHEMA`].
    pub schema: String,
    /// Id of the layout.
    pub layout: String,
    /// Id of the criteria that the scene suggests, if any.
    pub criteria: Option<String>,
    /// The view of it.
    pub view: ViewTruth,
    /// Micrometres per pixel in the middle of the picture.
    pub um_per_px: f64,
    /// Turn of the picture, degrees from picture right towards picture down.
    pub turn_deg: f64,
    /// Standard deviation of the blur at best focus.
    pub blur_um: f64,
    /// Length by which the picture was smeared.
    pub smear_um: f64,
    /// Share by which the lens moves a corner outwards.
    pub distortion: f64,
    /// Level of clean glass under light 1, share of the full range.
    pub exposure: f64,
    /// Clean glass level over the noise of one pixel.
    pub signal_to_noise: f64,
    /// Columns of the picture.
    pub width_px: usize,
    /// Rows of the picture.
    pub height_px: usize,
    /// `open` or `pins`.
    pub guides: String,
    /// Where the centres of the guide holes at face -x and +x lie in the picture's frame, in it or not.
    pub guides_px: [[f64; 2]; 2],
    /// Every populated position of the layout, in order.
    pub positions: Vec<PositionTruth>,
    /// Marks that touch no fibre, in the picture or not.
    pub face_marks: Vec<FaceMarkTruth>,
}

/// How the picture shows the face.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ViewTruth {
    /// `up` or `down`.
    pub key: String,
    /// Whether left and right are exchanged.
    pub mirrored: bool,
}

/// One populated position.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PositionTruth {
    /// The standard's number.
    pub position: u16,
    /// Row from 1 at the top.
    pub row: u16,
    /// Column from 1 at the left.
    pub column: u16,
    /// Whether there is a fibre in the bore.
    pub fibre: bool,
    /// Centre of the cladding (of the bore if it is empty), face frame.
    pub face_um: [f64; 2],
    /// That centre less the layout's nominal site.
    pub offset_um: [f64; 2],
    /// Where that centre lies in the picture, pixel frame; it may lie outside.
    pub centre_px: [f64; 2],
    /// Diameter of the cladding.
    pub cladding_um: f64,
    /// Diameter of the core, or of the spot at 1/e^2.
    pub core_um: f64,
    /// Centre of the core less that of the cladding.
    pub core_offset_um: [f64; 2],
    /// Whether light comes out of the core.
    pub lit: bool,
    /// Standard deviation of the blur here, without smear.
    pub blur_um: f64,
    /// Share of the cladding's disc that lies in the picture, by 400 evenly spread points.
    pub visible: f64,
    /// The marks that touch the glass.
    pub marks: Vec<MarkTruth>,
}

/// One mark, told in the frame of one fibre that it touches.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MarkTruth {
    /// Number of the mark on its face, from 1 in the order in which the marks were put there; the same in every
    /// picture of the face and under every fibre that the mark touches.
    pub id: usize,
    /// `scratch`, `particle`, `pit`, `film` or `chip`.
    pub kind: String,
    /// What it is in particular: `droplet`, `lint`, `smear`, `oil`, `print`, or the kind itself.
    pub shape: String,
    /// A scratch's width; anything else's smallest enclosing circle (diameter) of the whole ideal shape.
    pub size_um: f64,
    /// Length of a scratch's part on the glass; anything else's size.
    pub length_um: f64,
    /// Centre of the enclosing circle, or the middle of a scratch's longest part on the glass; fibre frame.
    pub centre_um: [f64; 2],
    /// Signed contrast against the clean surface.
    pub contrast: f64,
    /// Smallest distance of the ideal shape from the cladding's centre, 0 if it covers it.
    pub r_min_um: f64,
    /// Largest distance of the whole ideal shape from the cladding's centre.
    pub r_max_um: f64,
    /// Area of the ideal shape; none for a scratch.
    pub area_um2: Option<f64>,
    /// A scratch's or lint's line: its parts on the glass, longest first; empty for anything else.
    pub paths_um: Vec<Vec<[f64; 2]>>,
    /// The ideal outline, fibre frame; empty for a line.
    pub outline_um: Vec<[f64; 2]>,
}

/// One mark that touches no fibre.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FaceMarkTruth {
    /// Number of the mark on its face.
    pub id: usize,
    /// `scratch`, `particle`, `pit`, `film` or `chip`.
    pub kind: String,
    /// What it is in particular.
    pub shape: String,
    /// Its size, as for a mark on a fibre.
    pub size_um: f64,
    /// Its centre, face frame.
    pub centre_face_um: [f64; 2],
    /// Where that lies in the picture's frame; it may lie outside.
    pub centre_px: [f64; 2],
    /// Signed contrast against the clean surface.
    pub contrast: f64,
    /// Whether it reaches within 40 um of a guide hole's edge.
    pub at_guide: bool,
}
