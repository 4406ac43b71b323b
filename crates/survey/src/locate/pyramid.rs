//! The coarse planes that the search looks at, and how their pixels lie on the frame's.

use imaging::{Frame, Plane};

/// The longest side of the base plane, pixels: wide enough that a cladding keeps a radius of some six
/// pixels in a picture of the whole 6.4 mm face.
const BASE_SIDE: usize = 1100;

/// The largest area of the base plane, pixels; reached by pictures that are no strip.
const BASE_AREA: f64 = 400_000.0;

/// Planes with a side shorter than this hold no array.
const LEAST_SIDE: usize = 24;

/// One plane of the pyramid, each pixel the mean of `factor` x `factor` pixels of the frame.
#[derive(Clone, Debug)]
pub(crate) struct Level {
    /// Luminance from 0 to 1.
    pub plane: Plane<f32>,
    /// Frame pixels along the side of one pixel of this plane.
    pub factor: f64,
}

impl Level {
    /// The finest plane that is searched; none for a picture without pixels.
    pub fn base(frame: &Frame) -> Option<Level> {
        let factor = Level::base_factor(frame);
        Some(Level { plane: frame.shrunk(factor)?, factor: factor as f64 })
    }

    /// How many frame pixels go along the side of one pixel of the finest plane that is searched.
    pub fn base_factor(frame: &Frame) -> usize {
        let (width, height) = (frame.width(), frame.height());
        let by_area = ((width * height) as f64 / BASE_AREA).sqrt().ceil() as usize;
        width.max(height).div_ceil(BASE_SIDE).max(by_area).max(1)
    }

    /// How rough the picture is here and there, relative to the light: the ferrule's grain shows, glass is
    /// smooth however bright it is. Same size as this plane.
    pub fn roughness(&self) -> Level {
        let p = &self.plane;
        let (width, height) = (p.width(), p.height());
        let inner = |v: usize, size: usize| v.clamp(1, size.saturating_sub(2).max(1));
        let rough = Plane::from_fn(width, height, |x, y| {
            if width < 3 || height < 3 {
                return 0.0;
            }
            let (x, y) = (inner(x, width), inner(y, height));
            let about = p.at(x - 1, y) + p.at(x + 1, y) + p.at(x, y - 1) + p.at(x, y + 1);
            ((about - 4.0 * p.at(x, y)) / (about + 0.02)).abs().min(0.2)
        });
        Level { plane: imaging::blur::gaussian(&rough, 1.5), factor: self.factor }
    }

    /// A coordinate of this plane as a coordinate of the frame.
    pub fn to_frame(&self, v: f64) -> f64 {
        (v + 0.5) * self.factor - 0.5
    }

    /// The planes below this one, each at half the resolution of the one before.
    pub fn below(&self) -> Vec<Level> {
        std::iter::successors(self.halved(), Level::halved).collect()
    }

    /// This plane at half the resolution; none when nothing worth searching is left.
    fn halved(&self) -> Option<Level> {
        let (width, height) = (self.plane.width() / 2, self.plane.height() / 2);
        if width.max(height) < LEAST_SIDE || width.min(height) < 4 {
            return None;
        }
        let mut data = Vec::with_capacity(width * height);
        for y in 0..height {
            let (a, b) = (self.plane.row(2 * y), self.plane.row(2 * y + 1));
            let pairs = a.chunks_exact(2).zip(b.chunks_exact(2)).take(width);
            data.extend(pairs.map(|(p, q)| (p[0] + p[1] + q[0] + q[1]) * 0.25));
        }
        Some(Level { plane: Plane::from_vec(width, height, data)?, factor: self.factor * 2.0 })
    }
}
