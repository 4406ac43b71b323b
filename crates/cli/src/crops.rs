//! The pictures that a map shows: parts of the source pictures, turned so that the key is up, averaged where
//! the map has fewer pixels than the source, and brightened where the source is very dark.

use imaging::{Frame, Plane, Samples};
use rayon::prelude::*;
use report::map::{GreyCrop, MapPictures, Window, Windows};
use std::collections::BTreeMap;
use terms::{Look, Pose, Survey};

/// What lies outside the source picture is as white as the paper.
const OUTSIDE: u8 = 255;
/// A picture whose bright end is darker than this is brightened, up to the second level.
const TOO_DARK: (f32, f32) = (0.4, 0.8);

/// The pictures of the windows.
pub fn pictures(frames: &[Frame], survey: &Survey, windows: &Windows) -> MapPictures {
    let wanted: Vec<(usize, &Window)> = std::iter::once((0, &windows.strip))
        .chain(windows.fibres.iter().map(|(position, window)| (source(survey, *position), window)))
        .collect();
    let shrunk = shrunk(frames, survey, &wanted);
    let gains: Vec<f32> = frames.iter().map(gain).collect();
    let crops: Vec<Option<GreyCrop>> = wanted
        .par_iter()
        .map(|&(source, window)| {
            let (frame, pose) = (frames.get(source)?, survey.poses.get(source)?);
            let key = (source, factor(pose, window));
            let eye = Eye::new(frame, pose, window, shrunk.get(&key).map(|plane| (plane, key.1)))?;
            Some(eye.see(*gains.get(source)?))
        })
        .collect();
    let mut crops = crops.into_iter();
    let strip = crops.next().flatten();
    let fibres = windows.fibres.iter().zip(crops).filter_map(|((p, _), crop)| Some((*p, crop?)));
    MapPictures { strip, fibres: fibres.collect() }
}

/// The source that shows a position.
fn source(survey: &Survey, position: u16) -> usize {
    match survey.sites.iter().find(|s| s.position == position).map(|s| &s.look) {
        Some(Look::Found(fibre)) => fibre.source,
        _ => 0,
    }
}

/// How many source pixels go into one of the window, each way; at least 1.
fn factor(pose: &Pose, window: &Window) -> usize {
    (1.0 / (pose.um_per_px() * window.px_per_um)).floor().max(1.0) as usize
}

/// Each source shrunk by each factor above 1 that a window needs.
fn shrunk(
    frames: &[Frame],
    survey: &Survey,
    wanted: &[(usize, &Window)],
) -> BTreeMap<(usize, usize), Plane<f32>> {
    let mut planes = BTreeMap::new();
    for &(source, window) in wanted {
        let (Some(frame), Some(pose)) = (frames.get(source), survey.poses.get(source)) else { continue };
        let key = (source, factor(pose, window));
        if key.1 > 1
            && !planes.contains_key(&key)
            && let Some(plane) = frame.shrunk(key.1)
        {
            planes.insert(key, plane);
        }
    }
    planes
}

/// A look at one window of one source.
struct Eye<'a> {
    window: &'a Window,
    pose: &'a Pose,
    /// Columns and rows of the source.
    size: (f64, f64),
    plane: Level<'a>,
    /// Source pixel of the plane's first, and source pixels to one of the plane.
    first: (f64, f64),
    factor: f64,
}

/// The plane that an eye reads: the whole source shrunk, or a part of it.
enum Level<'a> {
    Shrunk(&'a Plane<f32>),
    Part(Plane<f32>),
}

impl<'a> Eye<'a> {
    fn new(
        frame: &Frame,
        pose: &'a Pose,
        window: &'a Window,
        shrunk: Option<(&'a Plane<f32>, usize)>,
    ) -> Option<Eye<'a>> {
        let size = (frame.width() as f64, frame.height() as f64);
        let (plane, first, factor) = match shrunk {
            Some((plane, factor)) => (Level::Shrunk(plane), (0.0, 0.0), factor as f64),
            None => {
                let (x, y, width, height) = part(frame, pose, window)?;
                (Level::Part(frame.patch(x, y, width, height)?), (x as f64, y as f64), 1.0)
            }
        };
        Some(Eye { window, pose, size, plane, first, factor })
    }

    fn see(&self, gain: f32) -> GreyCrop {
        let centre = self.pose.to_pixel(self.window.centre);
        let gain = 255.0 * gain;
        self.window.sample(|x_um, y_um| {
            let (dx, dy) = self.pose.vector(x_um, y_um);
            self.level(centre.x + dx, centre.y + dy).map_or(OUTSIDE, |v| (v * gain).round().min(255.0) as u8)
        })
    }

    /// The level, 0 to 1, at a place of the source.
    fn level(&self, x: f64, y: f64) -> Option<f32> {
        let inside = x >= -0.5 && y >= -0.5 && x <= self.size.0 - 0.5 && y <= self.size.1 - 0.5;
        let place = |at: f64, first: f64| (at - first + 0.5) / self.factor - 0.5;
        inside.then(|| self.plane().sample(place(x, self.first.0), place(y, self.first.1)))
    }

    fn plane(&self) -> &Plane<f32> {
        match &self.plane {
            Level::Shrunk(plane) => plane,
            Level::Part(plane) => plane,
        }
    }
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

/// The smallest rectangle of the source that holds the window: left, top, width, height.
fn part(frame: &Frame, pose: &Pose, window: &Window) -> Option<(usize, usize, usize, usize)> {
    let centre = pose.to_pixel(window.centre);
    let half = (
        f64::from(window.width_px) / window.px_per_um / 2.0,
        f64::from(window.height_px) / window.px_per_um / 2.0,
    );
    let corners = [pose.vector(half.0, half.1), pose.vector(half.0, -half.1)];
    let reach =
        |pick: fn(&(f64, f64)) -> f64| corners.iter().map(|c| pick(c).abs()).fold(0.0, f64::max) + 1.0;
    let span = |middle: f64, reach: f64, size: usize| {
        let low = (middle - reach).floor().max(0.0) as usize;
        let high = (middle + reach).ceil().clamp(0.0, size as f64) as usize;
        (low < high).then(|| (low, high - low))
    };
    let (x, width) = span(centre.x, reach(|c| c.0), frame.width())?;
    let (y, height) = span(centre.y, reach(|c| c.1), frame.height())?;
    Some((x, y, width, height))
}
