//! The grid on which a face's reflectance is laid out: the picture's pixels, each cut into `step` x `step`
//! samples, with a rim of samples beyond the border so that blur finds something there.

use crate::camera::{Camera, Lens};
use crate::shape::Spot;
use terms::Point;

/// How much of the blur is built into each sample, in samples: enough to sample without aliasing (a Gaussian
/// of 0.6 passes 0.1 % of what lies at one cycle per sample), and less than any blur there is.
pub(crate) const SOFT_SAMPLES: f64 = 0.6;
/// The least blur in samples; pixels are cut until the blur is at least this wide.
const LEAST_BLUR_SAMPLES: f64 = 0.9;

/// The grid of samples of one view.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Grid {
    lens: Lens,
    /// Samples per pixel along each axis.
    pub(crate) step: usize,
    /// Samples beyond the border on each side.
    pub(crate) pad: usize,
    /// Columns of samples.
    pub(crate) width: usize,
    /// Rows of samples.
    pub(crate) height: usize,
    /// Micrometres from sample to sample.
    pub(crate) um: f64,
    /// Standard deviation of the blur built into each sample, um.
    pub(crate) soft: f64,
}

impl Grid {
    /// The grid of a camera, `pad_px` pixels wider than its picture on each side.
    pub(crate) fn new(camera: &Camera, pad_px: usize) -> Grid {
        let step = steps_per_pixel(camera);
        let um = camera.um_per_px / step as f64;
        Grid {
            lens: camera.lens(),
            step,
            pad: pad_px * step,
            width: (camera.width_px + 2 * pad_px) * step,
            height: (camera.height_px + 2 * pad_px) * step,
            um,
            soft: SOFT_SAMPLES * um,
        }
    }

    /// The place on the face of sample (i, j).
    #[inline]
    pub(crate) fn to_face(self, i: f64, j: f64) -> Spot {
        let px = |k: f64| (k - self.pad as f64 + 0.5) / self.step as f64 - 0.5;
        self.lens.to_face(Point::new(px(i), px(j)))
    }

    /// The sample, as real numbers, at which a place of the face lies.
    pub(crate) fn to_sample(self, at: Spot) -> Spot {
        let p = self.lens.to_pixel(at);
        let sample = |v: f64| (v + 0.5) * self.step as f64 - 0.5 + self.pad as f64;
        (sample(p.x), sample(p.y))
    }

    /// The samples that can lie within `reach` um of a place; none if no sample does.
    pub(crate) fn window(&self, at: Spot, reach: f64) -> Option<Window> {
        let centre = self.to_sample(at);
        // Distortion stretches lengths by at most three times its share in a corner.
        let r = 1.04 * reach / self.um + 1.0;
        Window::cut((centre.0 - r, centre.1 - r), (centre.0 + r, centre.1 + r), self)
    }
}

/// Samples per pixel that keep the blur wide enough to be sampled.
pub(crate) fn steps_per_pixel(camera: &Camera) -> usize {
    (LEAST_BLUR_SAMPLES * camera.um_per_px / camera.blur_um).ceil().max(1.0) as usize
}

/// A rectangle of samples: columns x0 to x1 and rows y0 to y1, the ends not included.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Window {
    pub(crate) x0: usize,
    pub(crate) x1: usize,
    pub(crate) y0: usize,
    pub(crate) y1: usize,
}

impl Window {
    /// The samples between two corners that lie on the grid; none if there are none.
    pub(crate) fn cut(low: Spot, high: Spot, grid: &Grid) -> Option<Window> {
        let (x0, x1) = span(low.0, high.0, grid.width)?;
        let (y0, y1) = span(low.1, high.1, grid.height)?;
        Some(Window { x0, x1, y0, y1 })
    }
}

fn span(low: f64, high: f64, count: usize) -> Option<(usize, usize)> {
    let (first, last) = (low.ceil().max(0.0), high.floor().min(count as f64 - 1.0));
    (first <= last).then_some((first as usize, last as usize + 1))
}

/// One row of samples being painted, with the place of each on the face.
pub(crate) struct Row<'a> {
    pub(crate) j: usize,
    pub(crate) x: &'a [f64],
    pub(crate) y: &'a [f64],
    pub(crate) out: &'a mut [f32],
}
