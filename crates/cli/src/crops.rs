//! The pictures that a map shows: parts of the source pictures, turned so that the key is up, averaged where
//! the map has fewer pixels than the source, and brightened where the source is very dark.

use imaging::{Frame, Plane, Samples};
use rayon::prelude::*;
use report::FaceRecord;
use report::map::{GreyCrop, MapPictures, Window, Windows};
use survey::FacePicture;
use terms::Pose;

/// What lies outside the source picture is as white as the paper.
const OUTSIDE: u8 = 255;
/// A picture whose bright end is darker than this is brightened, up to the second level.
const TOO_DARK: (f32, f32) = (0.4, 0.8);

/// Longest side of a block that is averaged: the most whose sum of 16 bit fits into 32, whatever scale a record states.
const MOST_AVERAGED: usize = 256;

/// The pictures of the windows of a face's map; the strip is cut from the `whole` face where that was put
/// together from several pictures.
pub fn pictures(
    frames: &[Frame],
    whole: Option<&FacePicture>,
    record: &FaceRecord,
    windows: &Windows,
) -> MapPictures {
    let camera = Camera::new(frames, record);
    let strip = || match whole {
        Some(face) => Some(Eye::new(&face.frame, &face.pose, &windows.strip)?.see(gain(&face.frame))),
        None => camera.crop(0, &windows.strip),
    };
    let (strip, fibres) = rayon::join(strip, || camera.fibres(record, &windows.fibres));
    MapPictures { strip, fibres }
}

/// The pictures of some positions alone.
pub fn fibres(frames: &[Frame], record: &FaceRecord, windows: &[(u16, Window)]) -> Vec<(u16, GreyCrop)> {
    Camera::new(frames, record).fibres(record, windows)
}

/// The pictures of a face with what is needed to look into them.
struct Camera<'a> {
    frames: &'a [Frame],
    poses: Vec<Option<Pose>>,
    gains: Vec<f32>,
}

impl<'a> Camera<'a> {
    fn new(frames: &'a [Frame], record: &FaceRecord) -> Camera<'a> {
        let poses = record.poses.iter().map(|pose| pose.pose()).collect();
        Camera { frames, poses, gains: frames.iter().map(gain).collect() }
    }

    fn crop(&self, source: usize, window: &Window) -> Option<GreyCrop> {
        let pose = self.poses.get(source)?.as_ref()?;
        let eye = Eye::new(self.frames.get(source)?, pose, window)?;
        Some(eye.see(*self.gains.get(source)?))
    }

    fn fibres(&self, record: &FaceRecord, windows: &[(u16, Window)]) -> Vec<(u16, GreyCrop)> {
        let crops: Vec<Option<GreyCrop>> = windows
            .par_iter()
            .map(|(position, window)| self.crop(source(record, *position), window))
            .collect();
        windows.iter().zip(crops).filter_map(|((position, _), crop)| Some((*position, crop?))).collect()
    }
}

/// The source that shows a position.
fn source(record: &FaceRecord, position: u16) -> usize {
    record.positions.iter().find(|p| p.position == position).and_then(|p| p.source).unwrap_or(0)
}

/// What levels are multiplied by: 1 unless the bright end of the picture, one pixel in a hundred, is dark.
fn gain(frame: &Frame) -> f32 {
    /// A prime, so that no column is favoured.
    const STRIDE: usize = 997;
    let mut levels: Vec<f32> = match frame.samples() {
        Samples::Eight(v) => v.iter().step_by(STRIDE).map(|&s| f32::from(s)).collect(),
        Samples::Sixteen(v) => v.iter().step_by(STRIDE).map(|&s| f32::from(s)).collect(),
    };
    let at = levels.len().saturating_sub(1) * 99 / 100;
    let (_, bright, _) = levels.select_nth_unstable_by(at, f32::total_cmp);
    let bright = *bright * frame.level_step();
    if bright > 0.0 && bright < TOO_DARK.0 { TOO_DARK.1 / bright } else { 1.0 }
}

/// A look at one window of one source.
struct Eye<'a> {
    window: &'a Window,
    /// The part of the source that holds the window, each pixel the mean of a block of the source.
    plane: Plane<f32>,
    /// Place of the window's middle in the plane.
    middle: (f64, f64),
    /// Carries micrometres of the face into pixels of the plane.
    matrix: [[f64; 2]; 2],
    /// Least and greatest place in the plane that the source still covers, in x and in y.
    covered: [(f64, f64); 2],
}

impl<'a> Eye<'a> {
    fn new(frame: &Frame, pose: &Pose, window: &'a Window) -> Option<Eye<'a>> {
        // No number becomes 1.
        let factor = (1.0 / (pose.um_per_px() * window.px_per_um)).floor().max(1.0) as usize;
        let factor = factor.min(MOST_AVERAGED);
        let (x, y, width, height) = part(frame, pose, window, factor)?;
        let plane = match frame.samples() {
            Samples::Eight(v) => averaged(v, frame, (x, y), (width, height), factor),
            Samples::Sixteen(v) => averaged(v, frame, (x, y), (width, height), factor),
        }?;
        let blocks = factor as f64;
        let place = |at: f64, first: usize| (at - first as f64 + 0.5) / blocks - 0.5;
        let covered = |first: usize, size: usize| (place(-0.5, first), place(size as f64 - 0.5, first));
        let centre = pose.to_pixel(window.centre);
        Some(Eye {
            window,
            plane,
            middle: (place(centre.x, x), place(centre.y, y)),
            matrix: pose.matrix.map(|row| row.map(|v| v / blocks)),
            covered: [covered(x, frame.width()), covered(y, frame.height())],
        })
    }

    fn see(&self, gain: f32) -> GreyCrop {
        let gain = 255.0 * gain;
        let [[a, b], [c, d]] = self.matrix;
        self.window.sample(|x_um, y_um| {
            let (x, y) = (self.middle.0 + a * x_um + b * y_um, self.middle.1 + c * x_um + d * y_um);
            let level = self.inner(x, y).or_else(|| self.border(x, y));
            level.map_or(OUTSIDE, |v| (v * gain + 0.5).min(255.0) as u8)
        })
    }

    /// The level between four pixels of the plane: the common case, written to be quick.
    #[inline]
    fn inner(&self, x: f64, y: f64) -> Option<f32> {
        let (width, data) = (self.plane.width(), self.plane.data());
        if !(x >= 0.0 && y >= 0.0 && x < (width - 1) as f64) {
            return None;
        }
        let (column, row) = (x as u32, y as u32);
        let (fx, fy) = ((x - f64::from(column)) as f32, (y - f64::from(row)) as f32);
        let at = row as usize * width + column as usize;
        let ([p, q], [r, s]) = (data.get(at..at + 2)?, data.get(at + width..at + width + 2)?) else {
            return None;
        };
        let (top, bottom) = (p + (q - p) * fx, r + (s - r) * fx);
        Some(top + (bottom - top) * fy)
    }

    /// The level in the outermost half pixel of the source; none beyond.
    fn border(&self, x: f64, y: f64) -> Option<f32> {
        let [(left, right), (top, bottom)] = self.covered;
        (x >= left && x <= right && y >= top && y <= bottom).then(|| self.plane.sample(x, y))
    }
}

/// The smallest rectangle of the source that holds the window: left, top, and columns and rows in blocks of
/// `factor` pixels.
fn part(frame: &Frame, pose: &Pose, window: &Window, factor: usize) -> Option<(usize, usize, usize, usize)> {
    let centre = pose.to_pixel(window.centre);
    let half = |pixels: u32| f64::from(pixels) / window.px_per_um / 2.0;
    let (half_x, half_y) = (half(window.width_px), half(window.height_px));
    let corners = [pose.vector(half_x, half_y), pose.vector(half_x, -half_y)];
    let margin = factor as f64;
    let reach =
        |pick: fn(&(f64, f64)) -> f64| corners.iter().map(|c| pick(c).abs()).fold(margin, f64::max) + margin;
    let span = |middle: f64, reach: f64, size: usize| {
        let low = (middle - reach).floor().max(0.0) as usize;
        let high = (middle + reach).ceil().clamp(0.0, size as f64) as usize;
        let blocks = high.saturating_sub(low) / factor;
        (blocks > 0).then_some((low, blocks))
    };
    let (x, width) = span(centre.x, reach(|c| c.0), frame.width())?;
    let (y, height) = span(centre.y, reach(|c| c.1), frame.height())?;
    Some((x, y, width, height))
}

/// Means of blocks of `factor` x `factor` samples from `first` on, 0 to 1; `size` counts blocks.
fn averaged<T: Copy + Into<u32> + Sync>(
    samples: &[T],
    frame: &Frame,
    first: (usize, usize),
    size: (usize, usize),
    factor: usize,
) -> Option<Plane<f32>> {
    let norm = frame.level_step() / (factor * factor) as f32;
    let mut data = vec![0.0; size.0 * size.1];
    data.par_chunks_mut(size.0).enumerate().for_each(|(row, out)| {
        let mut sums = vec![0u32; size.0 * factor];
        for line in 0..factor {
            let from = (first.1 + row * factor + line) * frame.width() + first.0;
            let samples = &samples[from..from + sums.len()];
            sums.iter_mut().zip(samples).for_each(|(sum, &s)| *sum += s.into());
        }
        for (value, block) in out.iter_mut().zip(sums.chunks_exact(factor)) {
            *value = block.iter().sum::<u32>() as f32 * norm;
        }
    });
    Plane::from_vec(size.0, size.1, data)
}

#[cfg(test)]
mod tests {
    use super::*;
    use terms::Point;

    /// A record read from a file may state any scale.
    #[test]
    fn a_scale_beyond_sense_does_not_overflow() {
        let frame = Frame::new(600, 600, Samples::Sixteen(vec![u16::MAX; 360_000])).unwrap();
        let window = Window { centre: Point::new(0.0, 0.0), px_per_um: 1.0, width_px: 2, height_px: 2 };
        for px_per_um in [500.0, 1e-9, 1e9, f64::NAN, 0.0, f64::INFINITY] {
            let matrix = [[px_per_um, 0.0], [0.0, -px_per_um]];
            let pose = Pose { origin: Point::new(300.0, 300.0), matrix };
            let seen = Eye::new(&frame, &pose, &window).map(|eye| eye.see(1.0));
            assert!(seen.is_none_or(|crop| crop.bytes().iter().all(|&level| level == 255)), "{px_per_um}");
        }
    }
}
