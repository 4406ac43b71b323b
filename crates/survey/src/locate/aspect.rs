//! Where a picture shows no row, or hardly one: whether it would if it were not stretched or turned upright. Looks at
//! coarse planes only, and only where something is wrong already.

use super::error::LocateError;
use super::find::search;
use super::grid::Grid;
use super::pyramid::Level;
use imaging::{Frame, Plane};
use terms::Layout;

/// Stretches that are tried; the search bears some 7 % to either side of each.
const STRETCHES: [f64; 6] = [1.12, 1.25, 4.0 / 3.0, 1.5, 1.75, 2.0];

/// Turns that are tried, degrees; the search bears 19 to either side of each.
const TURNS: [f64; 4] = [-58.0, -32.0, 32.0, 58.0];

/// What a row must show to be the truth behind a worse one: so many circumferences more than one and a half times
/// as many. A tilted or filthy face gains little by being pulled about.
const MORE: f64 = 2.0;

/// Circumferences of a row that no picture of other things shows by chance, however it is pulled about.
const LEAST: f64 = 6.0;

/// Says that the picture is turned upright or stretched, if so it shows far more of a row than it does as it is.
pub(crate) fn distorted(frame: &Frame, layout: &Layout) -> Option<LocateError> {
    let base = Level::base(frame)?;
    let law = layout.pitch.0 / (layout.cladding.0 / 2.0);
    let shown = |plane: Plane<f32>| search(&Level { plane, factor: base.factor }, law).0;
    let total = |grid: Option<Grid>| grid.map_or(0.0, |grid| grid.total());
    let as_it_is = total(shown(base.plane.clone()));
    let tilted = TURNS.iter().filter_map(|&trial| {
        let grid = shown(turned(&base.plane, trial.to_radians()))?;
        let degrees = (grid.line.step.1.atan2(grid.line.step.0).to_degrees() - trial).abs();
        Some((grid.total(), LocateError::Tilted { degrees: degrees.round() }))
    });
    let stretched = STRETCHES.iter().flat_map(|&times| [true, false].map(|wider| (times, wider)));
    let stretched = stretched.map(|(times, wider)| {
        (total(shown(squeezed(&base.plane, times, wider))), LocateError::Stretched { times, wider })
    });
    let upright = (total(shown(upright(&base.plane))), LocateError::Upright);
    let best = std::iter::once(upright).chain(tilted).chain(stretched).max_by(|a, b| a.0.total_cmp(&b.0))?;
    (best.0 > (1.5 * as_it_is + MORE).max(LEAST)).then_some(best.1)
}

/// Says by how much fitted claddings are longer one way than the other, if they agree on it. `widenings` are half
/// the difference of width and height over their mean, one for each fibre.
pub(crate) fn stretched(widenings: &mut [f64]) -> Option<LocateError> {
    if widenings.len() < LEAST_FIBRES {
        return None;
    }
    let common = crate::solve::median(widenings);
    let times = (1.0 + common.abs()) / (1.0 - common.abs());
    (times > BEARABLE).then_some(LocateError::Stretched { times, wider: common > 0.0 })
}

/// Fibres whose shape says that of the picture.
const LEAST_FIBRES: usize = 3;

/// Stretch that is borne: claddings are round to 1 % (from memory of IEC 60793-2-10), each oval in a direction of
/// its own.
const BEARABLE: f64 = 1.02;

/// The picture turned over its diagonal: a row that runs up and down lies level.
fn upright(plane: &Plane<f32>) -> Plane<f32> {
    Plane::from_fn(plane.height(), plane.width(), |x, y| plane.at(y, x))
}

/// The picture turned about its middle by an angle, radians, from x towards y; large enough to hold all of it.
fn turned(plane: &Plane<f32>, angle: f64) -> Plane<f32> {
    let (sin, cos) = angle.sin_cos();
    let (w, h) = (plane.width() as f64, plane.height() as f64);
    let (width, height) = (w * cos.abs() + h * sin.abs(), w * sin.abs() + h * cos.abs());
    let border = plane.at(0, 0);
    Plane::from_fn(width.ceil() as usize, height.ceil() as usize, |x, y| {
        let (dx, dy) = (x as f64 - width / 2.0, y as f64 - height / 2.0);
        let (u, v) = (w / 2.0 + cos * dx + sin * dy, h / 2.0 - sin * dx + cos * dy);
        let inside = (0.0..=w - 1.0).contains(&u) && (0.0..=h - 1.0).contains(&v);
        if inside { plane.sample(u, v) } else { border }
    })
}

/// The picture with its width, or else its height, made so many times shorter.
fn squeezed(plane: &Plane<f32>, times: f64, wider: bool) -> Plane<f32> {
    let shorter = |length: usize, by: f64| ((length as f64 / by) as usize).max(1);
    let (by_x, by_y) = if wider { (times, 1.0) } else { (1.0, times) };
    let at = |v: usize, by: f64| (v as f64 + 0.5) * by - 0.5;
    Plane::from_fn(shorter(plane.width(), by_x), shorter(plane.height(), by_y), |x, y| {
        plane.sample(at(x, by_x), at(y, by_y))
    })
}
