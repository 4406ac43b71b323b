//! Runs of pictures that step along a face, drawn by chance over what stages, hands and cameras do. The dirt
//! on the camera's own optics lies at the same pixels of every picture.

use crate::camera::Camera;
use crate::error::SceneError;
use crate::face::{Face, FacePlan, FibreType, GuideLook};
use crate::mark::{DirtLevel, strew};
use crate::random::{Stream, Topic};
use crate::render::render_face;
use crate::shape::Spot;
use imaging::{Frame, Samples};
use rayon::prelude::*;
use terms::{Key, Layout, View};

/// What a run is drawn from; every range is drawn from evenly.
#[derive(Clone, Debug, PartialEq)]
pub struct StepPlan {
    /// Width and height of a picture on the face, um.
    pub width_um: (f64, f64),
    /// Height of a picture beyond the rows' own, um.
    pub height_um: (f64, f64),
    /// Micrometres per pixel.
    pub um_per_px: (f64, f64),
    /// Share of a picture's width that it has in common with the next.
    pub overlap: (f64, f64),
    /// Blur of each picture, standard deviation, um.
    pub blur_um: (f64, f64),
    /// Farthest drift across the row from end to end, um.
    pub drift_um: f64,
    /// Largest turn of all pictures, and of each by itself, degrees.
    pub turn_deg: (f64, f64),
    /// Share of the runs in which a picture is repeated, left out or out of its order.
    pub disturbed: f64,
    /// Share of the runs taken with dirt on the camera's optics.
    pub lens_dirt: f64,
}

impl Default for StepPlan {
    /// One to two fibres and a half in a picture, 10 to 60 % overlap.
    fn default() -> Self {
        StepPlan {
            width_um: (380.0, 640.0),
            height_um: (300.0, 400.0),
            um_per_px: (0.55, 0.75),
            overlap: (0.1, 0.6),
            blur_um: (0.5, 0.9),
            drift_um: 12.0,
            turn_deg: (1.0, 0.2),
            disturbed: 0.6,
            lens_dirt: 0.3,
        }
    }
}

impl StepPlan {
    /// A single fibre in a picture, or hardly two.
    pub fn narrow() -> StepPlan {
        StepPlan { width_um: (200.0, 330.0), height_um: (180.0, 260.0), ..StepPlan::default() }
    }
}

/// A run: a face, and the cameras in the order in which the pictures come.
#[derive(Clone, Debug)]
pub struct StepRun {
    /// The face.
    pub face: Face,
    /// How it is shown.
    pub view: View,
    /// One for each picture.
    pub cameras: Vec<Camera>,
    /// Dirt on the camera's optics.
    pub lens: Vec<LensSpot>,
}

/// A blurred speck on the camera's optics.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LensSpot {
    /// Its place in every picture, pixels.
    pub at: Spot,
    /// Standard deviation of its shade, pixels.
    pub sigma_px: f64,
    /// Share of the light that it takes at its middle.
    pub depth: f64,
}

/// Most pictures of a run.
const MOST: usize = 40;

impl StepRun {
    /// Draws a run over a face of `layout`.
    pub fn drawn(layout: &Layout, plan: &StepPlan, seed: u64) -> StepRun {
        let mut chance = Stream::new(seed, Topic::Camera, 0, 1);
        let key = if chance.chance(0.3) { Key::Down } else { Key::Up };
        let view = View { key, mirrored: chance.chance(0.2) };
        let mut face = face(layout, &mut chance, seed);
        if let Some(level) = dirt(&mut chance) {
            let strewn = strew(&face, level, seed);
            face.marks.extend(strewn);
        }
        let mut cameras = cameras(layout, plan, view, &mut chance);
        if chance.chance(0.5) {
            cameras.reverse();
        }
        if chance.chance(plan.disturbed) {
            disturb(&mut cameras, &mut chance);
        }
        let lens = if chance.chance(plan.lens_dirt) { lens_dirt(&cameras, &mut chance) } else { Vec::new() };
        StepRun { face, view, cameras, lens }
    }

    /// The pictures.
    ///
    /// # Errors
    /// As [`render_face`].
    pub fn pictures(&self) -> Result<Vec<Frame>, SceneError> {
        let picture = |c: &Camera| Ok(soiled(render_face(&self.face, c)?.frame, &self.lens));
        self.cameras.par_iter().map(picture).collect()
    }

    /// Whether a picture shows the whole of the fibre at a position, with `margin_px` to its border.
    pub fn shows(&self, camera: &Camera, position: u16, margin_px: f64) -> bool {
        self.face.fibres.iter().filter(|f| f.position == position).any(|fibre| {
            let at = camera.lens().to_pixel(fibre.centre);
            let reach = 0.5 * fibre.diameter / camera.um_per_px + margin_px;
            let inside = |v: f64, size: usize| v >= reach && v + reach <= size as f64 - 1.0;
            inside(at.x, camera.width_px) && inside(at.y, camera.height_px)
        })
    }
}

fn face(layout: &Layout, chance: &mut Stream, seed: u64) -> Face {
    let fibre = if chance.chance(0.5) { FibreType::Multimode50 } else { FibreType::SingleMode };
    let guides = if chance.chance(0.3) { GuideLook::Pins } else { GuideLook::Open };
    let ferrule_contrast = chance.between(0.5, 1.3);
    Face::new(layout, &FacePlan { seed, fibre, guides, ferrule_contrast, ..FacePlan::default() })
}

fn dirt(chance: &mut Stream) -> Option<DirtLevel> {
    match chance.below(3) {
        0 => None,
        1 => Some(DirtLevel::Light),
        _ => Some(DirtLevel::Moderate),
    }
}

fn cameras(layout: &Layout, plan: &StepPlan, view: View, chance: &mut Stream) -> Vec<Camera> {
    let mut range = |(low, high): (f64, f64)| chance.between(low, high);
    let um_per_px = range(plan.um_per_px);
    let rows = layout.row_pitch.0 * f64::from(layout.rows - 1);
    let (width, height) = (range(plan.width_um), rows + range(plan.height_um));
    let turn = range((-plan.turn_deg.0, plan.turn_deg.0));
    let drift = range((-plan.drift_um, plan.drift_um));
    // So far that bare ferrule shows where the next fibre would be.
    let beyond = (1.1 * layout.pitch.0 - width / 2.0).max(0.0);
    let end = layout.pitch.0 * f64::from(layout.columns - 1) / 2.0 + beyond + range((0.0, 60.0));
    // So many pictures at most that a whole run has no more than MOST.
    let least_step = 2.0 * end / (MOST as f64 - 2.0);
    let mut cameras = Vec::new();
    let mut x = -end;
    loop {
        cameras.push(Camera {
            width_px: (width / um_per_px) as usize,
            height_px: (height / um_per_px) as usize,
            um_per_px,
            view,
            turn_deg: turn + range((-plan.turn_deg.1, plan.turn_deg.1)),
            middle_um: (x, drift * x / end + range((-12.0, 12.0))),
            blur_um: range(plan.blur_um),
            exposure: range((0.45, 0.65)),
            seed: range((0.0, 1e15)) as u64,
            ..Camera::default()
        });
        if x >= end {
            return cameras;
        }
        x += (width * (1.0 - range(plan.overlap))).max(least_step);
    }
}

/// A picture twice, a picture left out, or two exchanged.
fn disturb(cameras: &mut Vec<Camera>, chance: &mut Stream) {
    let Some(last) = cameras.len().checked_sub(2) else { return };
    let at = chance.below(last + 1);
    match chance.below(3) {
        0 => cameras.insert(at, Camera { seed: 77, ..cameras[at].clone() }),
        1 => drop(cameras.remove(at)),
        _ => cameras.swap(at, at + 1),
    }
}

fn lens_dirt(cameras: &[Camera], chance: &mut Stream) -> Vec<LensSpot> {
    let (w, h) = cameras.first().map_or((1.0, 1.0), |c| (c.width_px as f64, c.height_px as f64));
    let count = 1 + chance.below(3);
    let mut spot = || LensSpot {
        at: (chance.between(0.1, 0.9) * w, chance.between(0.1, 0.9) * h),
        sigma_px: chance.between(3.0, 9.0),
        depth: chance.between(0.1, 0.35),
    };
    (0..count).map(|_| spot()).collect()
}

/// The picture through dirty optics.
fn soiled(frame: Frame, lens: &[LensSpot]) -> Frame {
    if lens.is_empty() {
        return frame;
    }
    let (width, height) = (frame.width(), frame.height());
    let passes = |i: usize| {
        let (x, y) = ((i % width) as f64, (i / width) as f64);
        let one = |s: &LensSpot| {
            let q = ((x - s.at.0).powi(2) + (y - s.at.1).powi(2)) / (s.sigma_px * s.sigma_px);
            if q < 30.0 { 1.0 - s.depth * (-0.5 * q).exp() } else { 1.0 }
        };
        lens.iter().map(one).product::<f64>()
    };
    let samples = match frame.samples() {
        Samples::Eight(v) => Samples::Eight(
            v.iter().enumerate().map(|(i, s)| (f64::from(*s) * passes(i)).round() as u8).collect(),
        ),
        Samples::Sixteen(v) => Samples::Sixteen(
            v.iter().enumerate().map(|(i, s)| (f64::from(*s) * passes(i)).round() as u16).collect(),
        ),
    };
    Frame::new(width, height, samples).unwrap_or(frame)
}
