//! One picture of the whole face out of the pictures of a run: its key up, exposures matched, each place taken
//! from the picture whose border is farthest and blended only along the seams.

use super::compose::{Affine, Piece, composed, gains};
use crate::ferrule;
use imaging::{Frame, Plane, Samples};
use rayon::prelude::*;
use terms::{Canvas, Face, FaceMark, Guides, Layout, Point, Pose, Survey, View};

/// Pixels of the coarse composition, um: fine enough for debris and for exposures.
const COARSE_UM: f64 = 2.5;

/// Most pixels of a composed picture.
const MOST: f64 = 4e8;

/// Columns over which the pictures that show a place are taken to be the same.
const BLOCK: usize = 32;

/// A picture whose weight is below this share of the best one's is left out.
const FAINT: f32 = 0.03;

/// What lies in no picture.
const OUTSIDE: u8 = 255;

/// The picture of a face put together from a stepped run.
#[derive(Clone, Debug)]
pub struct FacePicture {
    /// The picture, 8 bit deep; white where no source picture reaches.
    pub frame: Frame,
    /// The face in it.
    pub pose: Pose,
}

/// Puts together the picture of a face from the pictures it was surveyed in. None unless these were several.
pub fn face_picture(frames: &[Frame], survey: &Survey) -> Option<FacePicture> {
    let stitch = survey.stitch.as_ref()?;
    let canvas = stitch.canvas?;
    let placed: Vec<(&Frame, &Pose)> = frames
        .iter()
        .zip(&survey.poses)
        .zip(&stitch.placements)
        .filter_map(|(view, placement)| placement.placed.then_some(view))
        .collect();
    let gains = Coarse::new(&placed, canvas)?.gains();
    let views: Vec<Sheet> =
        placed.iter().zip(&gains).map(|((f, p), g)| Sheet::new(f, p, canvas, *g)).collect();
    let mut pixels = vec![OUTSIDE; canvas.width * canvas.height];
    pixels.par_chunks_mut(canvas.width).enumerate().for_each(|(y, row)| fill(&views, y, row));
    let frame = Frame::new(canvas.width, canvas.height, Samples::Eight(pixels))?;
    Some(FacePicture { frame, pose: canvas.pose })
}

/// Where the composed picture of placed pictures lies on the face; none without any.
pub(crate) fn canvas(placed: &[(&Frame, &Pose)], um_per_px: f64) -> Option<Canvas> {
    let corners = placed.iter().flat_map(|(f, pose)| {
        let (w, h) = (f.width() as f64 - 1.0, f.height() as f64 - 1.0);
        [(0.0, 0.0), (w, 0.0), (0.0, h), (w, h)].map(|(x, y)| pose.to_face(Point::new(x, y)))
    });
    let (mut low, mut high) = ((f64::INFINITY, f64::INFINITY), (f64::NEG_INFINITY, f64::NEG_INFINITY));
    for p in corners {
        low = (low.0.min(p.x), low.1.min(p.y));
        high = (high.0.max(p.x), high.1.max(p.y));
    }
    let (width, height) = ((high.0 - low.0) / um_per_px + 1.0, (high.1 - low.1) / um_per_px + 1.0);
    let sound =
        width.is_finite() && height.is_finite() && width >= 1.0 && height >= 1.0 && width * height <= MOST;
    sound.then(|| Canvas {
        pose: Pose::new(View::default(), um_per_px, 0.0, Point::new(-low.0 / um_per_px, high.1 / um_per_px)),
        width: width as usize,
        height: height as usize,
    })
}

/// The pictures shrunk, and how they lie on the shrunk canvas.
pub(crate) struct Coarse {
    planes: Vec<Plane<f32>>,
    ways: Vec<Affine>,
    size: (usize, usize),
    pose: Pose,
    factor: f64,
}

impl Coarse {
    pub fn new(placed: &[(&Frame, &Pose)], canvas: Canvas) -> Option<Coarse> {
        let factor = ((COARSE_UM / canvas.pose.um_per_px()).round() as usize).max(1);
        let planes: Option<Vec<Plane<f32>>> = placed.par_iter().map(|(f, _)| f.shrunk(factor)).collect();
        let f = factor as f64;
        let way = |pose: &Pose| {
            Affine::like(|(x, y)| {
                let at = canvas.pose.to_face(Point::new((x + 0.5) * f - 0.5, (y + 0.5) * f - 0.5));
                let p = pose.to_pixel(at);
                ((p.x + 0.5) / f - 0.5, (p.y + 0.5) / f - 0.5)
            })
        };
        Some(Coarse {
            planes: planes?,
            ways: placed.iter().map(|(_, pose)| way(pose)).collect(),
            size: (canvas.width.div_ceil(factor), canvas.height.div_ceil(factor)),
            pose: canvas.pose,
            factor: f,
        })
    }

    fn pieces(&self) -> Vec<Piece<'_>> {
        self.planes.iter().zip(&self.ways).map(|(plane, &way)| Piece { plane, way }).collect()
    }

    fn gains(&self) -> Vec<f32> {
        gains(&self.pieces(), self.size.0, self.size.1)
    }

    /// The marks on the ferrule, and the share of the face about the sites that some picture shows.
    pub fn ferrule(&self, guides: Guides, layout: &Layout) -> (Vec<FaceMark>, f64) {
        let plane = composed(&self.pieces(), self.size.0, self.size.1);
        let marks = ferrule::marks_on(&plane, self.pose, self.factor, guides, layout);
        (marks, self.covered(&plane, layout))
    }

    /// Share of the rectangle half a pitch about the sites where the plane is a number.
    fn covered(&self, plane: &Plane<f32>, layout: &Layout) -> f64 {
        let about = layout.pitch.0 / 2.0;
        let step = COARSE_UM * 2.0;
        let (x, y) = (
            layout.pitch.0 * f64::from(layout.columns) / 2.0,
            layout.row_pitch.0 * f64::from(layout.rows - 1) / 2.0 + about,
        );
        let (columns, rows) = ((2.0 * x / step) as i32, (2.0 * y / step) as i32);
        let shown = |i: i32, j: i32| {
            let at = Point::<Face>::new(f64::from(i) * step - x, f64::from(j) * step - y);
            let p = self.pose.to_pixel(at);
            let on = |v: f64| ((v + 0.5) / self.factor - 0.5).round() as isize;
            plane.get(on(p.x), on(p.y)).is_some_and(f32::is_finite)
        };
        let count = (0..=columns).map(|i| (0..=rows).filter(|&j| shown(i, j)).count()).sum::<usize>();
        count as f64 / (f64::from(columns + 1) * f64::from(rows + 1))
    }
}

/// A picture and how the canvas lies on it.
struct Sheet<'a> {
    frame: &'a Frame,
    way: Affine,
    gain: f32,
}

impl<'a> Sheet<'a> {
    fn new(frame: &'a Frame, pose: &Pose, canvas: Canvas, gain: f32) -> Sheet<'a> {
        let way = Affine::like(|(x, y)| {
            let p = pose.to_pixel(canvas.pose.to_face(Point::new(x, y)));
            (p.x, p.y)
        });
        Sheet { frame, way, gain: gain * frame.level_step() * 255.0 }
    }

    /// How far from its border the picture shows a place of the canvas; 0 where it does not.
    fn weight(&self, x: f64, y: f64) -> f32 {
        let (u, v) = self.way.place((x, y));
        let (right, bottom) = (self.frame.width() as f64 - 1.0, self.frame.height() as f64 - 1.0);
        let inside = u.min(right - u).min(v).min(bottom - v).max(0.0);
        let share = (2.0 * inside / right.min(bottom).max(1.0)) as f32;
        // So steep that a seam is narrow.
        share.powi(12)
    }

    fn level(&self, (u, v): (f64, f64)) -> f32 {
        let mut out = [0.0];
        self.levels((u, v), &mut out);
        out[0]
    }

    /// The levels at places from one on that lie side by side on the canvas; all must lie inside.
    fn levels(&self, from: (f64, f64), out: &mut [f32]) {
        let step = (self.way.0[0][0], self.way.0[1][0]);
        match self.frame.samples() {
            Samples::Eight(s) => along(s, self.frame.width(), from, step, out),
            Samples::Sixteen(s) => along(s, self.frame.width(), from, step, out),
        }
        out.iter_mut().for_each(|v| *v *= self.gain);
    }
}

/// Levels between four samples each, at places a step apart.
fn along<T: Copy + Into<u32>>(
    samples: &[T],
    width: usize,
    from: (f64, f64),
    step: (f64, f64),
    out: &mut [f32],
) {
    // On the last row or column the fraction is nought, so that what is read instead does not count.
    let last = samples.len() - 1;
    let level = |i: usize| samples[i.min(last)].into() as f32;
    for (i, o) in out.iter_mut().enumerate() {
        let (u, v) = (from.0 + i as f64 * step.0, from.1 + i as f64 * step.1);
        let (column, row) = (u as i32, v as i32);
        let (fx, fy) = ((u - f64::from(column)) as f32, (v - f64::from(row)) as f32);
        let start = row as usize * width + column as usize;
        let (p, q) = (level(start), level(start + 1));
        let (r, s) = (level(start + width), level(start + width + 1));
        let (top, bottom) = (p + (q - p) * fx, r + (s - r) * fx);
        *o = top + (bottom - top) * fy;
    }
}

/// Fills row `y` of the canvas.
fn fill(sheets: &[Sheet], y: usize, row: &mut [u8]) {
    let y = y as f64;
    for (block, out) in row.chunks_mut(BLOCK).enumerate() {
        let x = (block * BLOCK) as f64;
        let last = (out.len() - 1) as f64;
        let ends: Vec<(f32, f32)> = sheets.iter().map(|s| (s.weight(x, y), s.weight(x + last, y))).collect();
        let best = ends.iter().fold(0.0f32, |m, e| m.max(e.0.max(e.1)));
        let whole = |e: &(f32, f32)| e.0 > 0.0 && e.1 > 0.0;
        let chosen: Vec<(&Sheet, bool)> = sheets
            .iter()
            .zip(&ends)
            .filter(|(_, e)| e.0.max(e.1) > FAINT * best)
            .map(|(s, e)| (s, whole(e)))
            .collect();
        match &chosen[..] {
            [] => {}
            [(only, true)] => alone(only, x, y, out),
            several => blended(&several.iter().map(|c| c.0).collect::<Vec<_>>(), x, y, out),
        }
    }
}

/// A block that one picture alone shows well.
fn alone(sheet: &Sheet, x: f64, y: f64, out: &mut [u8]) {
    let mut levels = [0.0f32; BLOCK];
    let levels = &mut levels[..out.len()];
    sheet.levels(sheet.way.place((x, y)), levels);
    out.iter_mut().zip(levels).for_each(|(o, v)| *o = (*v + 0.5).clamp(0.0, 255.0) as u8);
}

/// A block on a seam, or at the border of what is shown.
fn blended(sheets: &[&Sheet], x: f64, y: f64, out: &mut [u8]) {
    for (i, o) in out.iter_mut().enumerate() {
        let at = (x + i as f64, y);
        let (mut sum, mut total) = (0.0f32, 0.0f32);
        for sheet in sheets {
            let weight = sheet.weight(at.0, at.1);
            if weight > 0.0 {
                sum += weight * sheet.level(sheet.way.place(at));
                total += weight;
            }
        }
        if total > 0.0 {
            *o = (sum / total + 0.5).clamp(0.0, 255.0) as u8;
        }
    }
}
