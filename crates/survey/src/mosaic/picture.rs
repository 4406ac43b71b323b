//! One picture of the whole face out of the pictures of a run: its key up, exposures matched, each place taken
//! from the picture whose border is farthest and blended only along the seams.

use super::compose::{Affine, Piece, between, composed, gains, meet};
use super::path::Path;
use crate::ferrule;
use imaging::vectors::widest;
use imaging::{Frame, Plane, Samples};
use rayon::prelude::*;
use terms::{Canvas, Face, FaceMark, Guides, Layout, Point, Pose, Survey, View};

/// Pixels of the coarse composition, um: fine enough for debris and for exposures.
const COARSE_UM: f64 = 2.5;

/// Most pixels of a composed picture.
const MOST: f64 = 4e8;

/// Columns over which the pictures that show a place are taken to be the same.
const BLOCK: usize = 32;

/// A picture that shows a place less far from its border than this share of the one that shows it farthest is left out.
const NEAR: f32 = 0.75;

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
    let all = frames.iter().zip(&survey.poses).zip(&stitch.placements);
    let views: Vec<Sheet> = all
        .filter(|(_, placement)| placement.placed)
        .map(|((frame, pose), placement)| Sheet::new(frame, pose, canvas, placement.gain))
        .collect();
    let mut pixels = vec![0; canvas.width * canvas.height];
    pixels.par_chunks_mut(canvas.width).enumerate().for_each(|(y, row)| {
        widest(
            #[inline(always)]
            || fill(&views, y, row),
        )
    });
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

    /// What each picture's light is multiplied by so that they agree.
    pub fn gains(&self) -> Vec<f32> {
        gains(&self.pieces(), self.size.0, self.size.1)
    }

    /// The marks on the ferrule, and the share of the face about the sites that some picture shows.
    pub fn ferrule(&self, gains: &[f32], guides: Guides, layout: &Layout) -> (Vec<FaceMark>, f64) {
        let plane = composed(&self.pieces(), gains, self.size.0, self.size.1);
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

    /// From which column of row `y` of the canvas to which the picture may show something.
    fn span(&self, y: f64) -> (f64, f64) {
        let ([[a, b, c], [d, e, f]], (right, bottom)) = (self.way.0, self.last());
        meet(between(b * y + c, a, right + 0.5), between(e * y + f, d, bottom + 0.5))
    }

    /// Last column and row.
    fn last(&self) -> (f64, f64) {
        (self.frame.width() as f64 - 1.0, self.frame.height() as f64 - 1.0)
    }

    /// How far inside the picture the place so many columns after (x, y) lies, 1 in its middle and 0 at its border and
    /// beyond: across times along, so that of two pictures side by side one is farther inside all along the seam.
    fn inside(&self, x: f64, y: f64) -> impl Fn(u16) -> f32 {
        let least = |a: f32, b: f32| if a < b { a } else { b };
        let ((u, v), (right, bottom)) = (self.way.place((x, y)), self.last());
        let (u, v, du, dv) = (u as f32, v as f32, self.way.0[0][0] as f32, self.way.0[1][0] as f32);
        let whole = (4.0 / (right * bottom).max(1.0)) as f32;
        let (right, bottom) = (right as f32, bottom as f32);
        move |i| {
            let (u, v) = (u + f32::from(i) * du, v + f32::from(i) * dv);
            let (across, along) = (least(u, right - u), least(v, bottom - v));
            if across > 0.0 && along > 0.0 { whole * across * along } else { 0.0 }
        }
    }

    /// The levels at places from (x, y) on that lie side by side on the canvas; those outside are of no use.
    #[inline(always)]
    fn levels(&self, x: f64, y: f64, out: &mut [f32]) {
        let path = Path::new(self.way.place((x, y)), (self.way.0[0][0], self.way.0[1][0]));
        match self.frame.samples() {
            Samples::Eight(s) => path.levels(s, self.frame.width(), out),
            Samples::Sixteen(s) => path.levels(s, self.frame.width(), out),
        }
        out.iter_mut().for_each(|v| *v *= self.gain);
    }
}

/// A picture in a block of a row.
struct Part<'a> {
    sheet: &'a Sheet<'a>,
    /// How far inside it the farther of both ends lies.
    inside: f32,
    /// Whether it shows the whole block.
    whole: bool,
}

/// Fills row `y` of the canvas.
#[inline(always)]
fn fill(sheets: &[Sheet], y: usize, row: &mut [u8]) {
    row.fill(OUTSIDE);
    let y = y as f64;
    let spans: Vec<(&Sheet, (f64, f64))> = sheets.iter().map(|s| (s, s.span(y))).collect();
    let mut parts: Vec<Part> = Vec::new();
    for (block, out) in row.chunks_mut(BLOCK).enumerate() {
        let x = (block * BLOCK) as f64;
        let last = out.len() - 1;
        let near = spans.iter().filter(|(_, span)| span.0 <= x + last as f64 && span.1 >= x);
        parts.clear();
        // Pushed one by one: an `extend` is called apart, where it is not made for wide vectors.
        for (sheet, _) in near {
            let inside = sheet.inside(x, y);
            let (a, b) = (inside(0), inside(last as u16));
            parts.push(Part { sheet, inside: a.max(b), whole: a.min(b) > 0.0 });
        }
        let best = parts.iter().fold(0.0f32, |m, p| m.max(p.inside));
        parts.retain(|p| p.inside > NEAR * best);
        match &parts[..] {
            [] => {}
            [only] if only.whole => alone(only.sheet, x, y, out),
            several => blended(several, best, x, y, out),
        }
    }
}

/// A block that one picture alone shows well.
#[inline(always)]
fn alone(sheet: &Sheet, x: f64, y: f64, out: &mut [u8]) {
    let mut levels = [0.0f32; BLOCK];
    let levels = &mut levels[..out.len()];
    sheet.levels(x, y, levels);
    out.iter_mut().zip(levels).for_each(|(o, v)| *o = rounded(*v));
}

/// A block on a seam, or at the border of what is shown; `best` is how far inside the best picture it lies.
#[inline(always)]
fn blended(parts: &[Part], best: f32, x: f64, y: f64, out: &mut [u8]) {
    let (mut sums, mut totals, mut levels) = ([0.0f32; BLOCK], [0.0f32; BLOCK], [0.0f32; BLOCK]);
    for Part { sheet, .. } in parts {
        sheet.levels(x, y, &mut levels[..out.len()]);
        let inside = sheet.inside(x, y);
        for (i, ((sum, total), level)) in (0..).zip(sums.iter_mut().zip(&mut totals).zip(&levels)) {
            let weight = steep(inside(i) / best);
            *sum += weight * level;
            *total += weight;
        }
    }
    for (o, (sum, total)) in out.iter_mut().zip(sums.iter().zip(&totals)) {
        if *total > 0.0 {
            *o = rounded(sum / total);
        }
    }
}

/// To the twelfth power: so steep that a seam is narrow.
fn steep(share: f32) -> f32 {
    let square = share * share;
    let fourth = square * square;
    fourth * fourth * fourth
}

/// The nearest level; by adding so much that no bits are left for parts, which runs on whole vectors.
fn rounded(level: f32) -> u8 {
    const WHOLE: f32 = (1 << 23) as f32;
    let level = level + 0.5;
    let level = if level > 0.0 { level } else { 0.0 };
    let level = if level < 255.0 { level } else { 255.0 };
    let near = level + WHOLE;
    // It may have been rounded up.
    (near.to_bits() - u32::from(near - WHOLE > level)) as u8
}

#[cfg(test)]
mod tests {
    use super::rounded;

    #[test]
    fn levels_are_rounded_as_by_the_plain_way() {
        let plain = |level: f32| (level + 0.5).clamp(0.0, 255.0) as u8;
        let odd = [f32::MIN, -0.5, -0.0, 254.499_98, 254.5, 255.0, 300.0, f32::MAX, f32::INFINITY, f32::NAN];
        for level in (-400..26_000).map(|k| k as f32 / 100.0).chain(odd) {
            assert_eq!(rounded(level), plain(level), "{level}");
        }
    }
}
