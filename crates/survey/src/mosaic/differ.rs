//! Two pictures of one fibre held against each other: what is left of the logarithm of their ratio once focus, light
//! and place are matched. What both show is gone from it, the look of the fibre above all; what one alone shows
//! stands out, and its sum over a mark does not depend on the focus.

use super::compose::Affine;
use super::texture::shrunk;
use crate::elsewhere::elsewhere;
use crate::fibre::Glimpse;
use crate::level::level;
use crate::marks::Mark;
use crate::near::pixels_near;
use crate::solve::median;
use imaging::Plane;
use imaging::blur::gaussian;
use imaging::regions::{Connectivity, regions};
use terms::geometry::polygon_area;

/// Width of a pixel of the difference, um.
const PIXEL_UM: f64 = 0.8;

/// The difference is taken out to this share of the radius: farther out the edge itself differs with the focus.
const WITHIN: f64 = 0.92;

/// A mark is absent from the other picture if at least this share of its light is in the difference, and is in both if
/// at most this share is.
const ABSENT: f64 = 0.55;
const SAME: f64 = 0.3;

/// The share must be known so well, standard deviation.
const KNOWN: f64 = 0.15;

/// Other places of the glass whose sums tell the scatter of a mark's, and the least number of them.
const ELSEWHERE: (usize, usize) = (40, 8);

/// What stands out of a difference must exceed this many of its deviations, this contrast and this area, um^2.
const CLEAR: f32 = 8.0;
const LEAST_CONTRAST: f32 = 0.1;
const LEAST_AREA_UM: f64 = 5.0;

/// Whether another picture shows a mark too.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Shows {
    Both,
    One,
    /// It cannot be told.
    Untold,
}

/// The difference of two pictures of one fibre on the pixels of the first, `factor` of which lie along one of its own.
pub(crate) struct Difference {
    /// First over second, logarithm; not a number off the glass that is compared.
    plane: Plane<f32>,
    centre: (f64, f64),
    radius: f64,
    factor: f64,
    /// The wider of the two blurs, pixels of the plane.
    blur: f64,
}

/// Places that only the second picture shows a mark at, pixels of the first about the fibre's centre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Stranger {
    pub at: (f64, f64),
    pub radius: f64,
    /// Contrast in the second picture.
    pub contrast: f64,
}

impl Difference {
    /// `turn` carries vectors of the first picture into the second. None if too little of the glass is in both.
    pub fn new(first: &Glimpse, second: &Glimpse, turn: [[f64; 2]; 2], um_per_px: f64) -> Option<Difference> {
        let k = ((PIXEL_UM / um_per_px).round() as usize).max(1);
        let factor = k as f64;
        let on = |(x, y): (f64, f64)| ((x + 0.5) / factor - 0.5, (y + 0.5) / factor - 0.5);
        let blur = first.blur.max(second.blur);
        let even = |g: &Glimpse| {
            let plane = shrunk(&g.patch, k);
            let lacking = (blur * blur - g.blur * g.blur).sqrt() / factor;
            if lacking > 0.1 { gaussian(&plane, lacking) } else { plane }
        };
        let (a, b) = (even(first), even(second));
        let (from, to) = (on(first.centre), on(second.centre));
        let way = Affine::like(|(x, y)| {
            let (dx, dy) = (x - from.0, y - from.1);
            (to.0 + turn[0][0] * dx + turn[0][1] * dy, to.1 + turn[1][0] * dx + turn[1][1] * dy)
        });
        let radius = WITHIN * first.radius.min(second.radius) / factor - blur / factor;
        let (right, bottom) = (b.width() as f64 - 1.0, b.height() as f64 - 1.0);
        let ratio = |x: usize, y: usize| {
            let at = (x as f64, y as f64);
            let (u, v) = way.place(at);
            let shown = u >= 0.0 && v >= 0.0 && u <= right && v <= bottom;
            match shown && (at.0 - from.0).hypot(at.1 - from.1) < radius {
                true => ((a.at(x, y) + 0.004) / (b.sample(u, v) + 0.004)).ln(),
                false => f32::NAN,
            }
        };
        let mut plane = Plane::from_fn(a.width(), a.height(), ratio);
        level(&mut plane, from, radius)?;
        Some(Difference { plane, centre: from, radius, factor, blur: blur / factor })
    }

    fn on_plane(&self, (x, y): (f64, f64)) -> (f64, f64) {
        (self.centre.0 + x / self.factor, self.centre.1 + y / self.factor)
    }

    /// Pixels of the plane that a mark fills, with what the blur spreads about it; its place is about the centre.
    fn aperture(&self, mark: &Mark) -> Vec<(isize, isize)> {
        let outline: Vec<(f64, f64)> = mark.outline.iter().map(|p| self.on_plane(*p)).collect();
        pixels_near(&outline, self.blur + 0.7)
    }

    /// Sum of the difference over an aperture moved by a step; none where much of it is off the glass.
    fn sum(&self, aperture: &[(isize, isize)], (dx, dy): (isize, isize)) -> Option<f64> {
        let inside =
            aperture.iter().filter_map(|&(x, y)| self.plane.get(x + dx, y + dy)).filter(|v| v.is_finite());
        let (count, sum) = inside.fold((0usize, 0.0), |(n, s), v| (n + 1, s + f64::from(v)));
        (10 * count >= 9 * aperture.len() && count > 0).then(|| sum * aperture.len() as f64 / count as f64)
    }

    /// Whether a mark of the first picture, its place about the centre, is in the second one too.
    pub fn shows(&self, mark: &Mark) -> Shows {
        self.told(mark, 1.0)
    }

    /// The same of a mark of the second picture, carried into the first.
    pub fn shows_back(&self, mark: &Mark) -> Shows {
        self.told(mark, -1.0)
    }

    fn told(&self, mark: &Mark, sign: f64) -> Shows {
        let aperture = self.aperture(mark);
        let expected = sign * (1.0 + mark.contrast.max(-0.9)).ln() * polygon_area(&mark.outline).abs()
            / (self.factor * self.factor);
        let Some(own) = self.sum(&aperture, (0, 0)) else { return Shows::Untold };
        let Some((usual, scatter)) = self.elsewhere(mark, &aperture) else { return Shows::Untold };
        let share = (own - usual) / expected;
        match scatter / expected.abs() {
            known if known.is_nan() || known > KNOWN => Shows::Untold,
            _ if share > ABSENT => Shows::One,
            _ if share < SAME => Shows::Both,
            _ => Shows::Untold,
        }
    }

    /// Median and scatter of the sums over the same aperture elsewhere on the glass.
    fn elsewhere(&self, mark: &Mark, aperture: &[(isize, isize)]) -> Option<(f64, f64)> {
        let apart = 1.2 * mark.size.max(mark.length) / self.factor + 2.0 * self.blur;
        let disc = (self.centre, self.radius);
        elsewhere(ELSEWHERE, disc, self.on_plane(mark.centre), apart, |step| self.sum(aperture, step))
    }

    /// Where the second picture shows what the first does not, off the first one's own marks.
    pub fn strangers(&self, own: &[Mark], um_per_px: f64) -> Vec<Stranger> {
        let filled = self.plane.map(|v| if v.is_finite() { v } else { 0.0 });
        let mut smooth = gaussian(&filled, 1.0);
        for mark in own {
            for (x, y) in self.aperture(mark) {
                if smooth.get(x, y).is_some() {
                    smooth.set(x as usize, y as usize, 0.0);
                }
            }
        }
        let inside = |(v, d): (&f32, &f32)| if d.is_finite() { *v } else { 0.0 };
        let data: Vec<f32> = smooth.data().iter().zip(self.plane.data()).map(inside).collect();
        let Some(smooth) = Plane::from_vec(smooth.width(), smooth.height(), data) else { return Vec::new() };
        let mut sizes: Vec<f64> =
            smooth.data().iter().filter(|v| **v != 0.0).map(|v| f64::from(v.abs())).collect();
        let limit = (CLEAR * 1.4826 * median(&mut sizes) as f32).max(LEAST_CONTRAST);
        let least = (LEAST_AREA_UM / (um_per_px * self.factor).powi(2)).max(3.0);
        let found = [-1.0f32, 1.0]
            .into_iter()
            .flat_map(|sign| regions(&smooth, Connectivity::Eight, move |v| sign * v > limit));
        let stranger = |r: imaging::regions::Region| {
            let m = r.moments();
            let at = ((m.x - self.centre.0) * self.factor, (m.y - self.centre.1) * self.factor);
            let radius = (r.area() as f64 / std::f64::consts::PI).sqrt() * self.factor;
            let peak = r.pixels().map(|(x, y)| smooth.at(x, y)).max_by(|a, b| a.abs().total_cmp(&b.abs()))?;
            let contrast = f64::from((-peak).exp() - 1.0);
            (r.area() as f64 >= least).then_some(Stranger { at, radius, contrast })
        };
        found.filter_map(stranger).collect()
    }
}
