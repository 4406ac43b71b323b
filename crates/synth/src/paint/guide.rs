//! The guide holes: open ones, black with a bright bevel, or pins, turned metal with a bow-tie of light.

use super::grid::{Grid, Row, Window};
use crate::face::{Face, GuideLook};
use crate::noise::{line_noise, value_noise};
use crate::normal::Share;
use crate::random::{Stream, Topic};
use crate::shape::Spot;
use std::f64::consts::TAU;

/// A blur of `soft` um with another of `own` um.
fn wider(soft: f32, own: f32) -> f32 {
    (soft * soft + own * own).sqrt()
}

/// Reflectance deep in an open hole.
const DEPTH: f32 = 0.02;

/// One guide hole, ready to be painted.
pub(super) struct Drawn {
    at: Spot,
    radius: f32,
    bevel: f32,
    look: GuideLook,
    light: f64,
    window: Window,
    seed: u32,
}

impl Drawn {
    /// Those of the two holes that the picture shows.
    pub(super) fn both(face: &Face, grid: &Grid) -> Vec<Drawn> {
        let one = |(k, at): (usize, Spot)| {
            let mut chance = Stream::new(face.seed, Topic::Guide, k as i64, 0);
            let radius = 0.5 * face.guide_diameter.0 + 0.3 * chance.normal();
            let bevel = chance.between(12.0, 24.0);
            Some(Drawn {
                at,
                radius: radius as f32,
                bevel: bevel as f32,
                look: face.guides,
                light: chance.between(0.0, TAU),
                window: grid.window(at, radius + bevel + 12.0)?,
                seed: chance.bits() as u32,
            })
        };
        face.guide_centres().into_iter().enumerate().filter_map(one).collect()
    }

    pub(super) fn paint(&self, row: &mut Row, soft: f32, share: Share) {
        if row.j < self.window.y0 || row.j >= self.window.y1 {
            return;
        }
        for i in self.window.x0..self.window.x1 {
            let (dx, dy) = (row.x[i] - self.at.0, row.y[i] - self.at.1);
            let r = (dx * dx + dy * dy).sqrt() as f32;
            let angle = dy.atan2(dx);
            let bevel = self.bevel_cover(r, angle, soft, share);
            let hole = share.disc(self.radius - r, self.radius, wider(soft, 0.4)).min(bevel);
            if bevel <= 0.0 {
                continue;
            }
            let inner = match self.look {
                GuideLook::Open => self.open((dx, dy), r),
                GuideLook::Pins => self.pin((dx, dy), r, angle, soft, share),
            };
            let rim = if bevel > hole { self.bevel_tone(r, angle) } else { 0.0 };
            row.out[i] = (1.0 - bevel) * row.out[i] + (bevel - hole) * rim + hole * inner;
        }
    }

    /// Share of the bevel's disc; its outer edge is rounded and uneven.
    fn bevel_cover(&self, r: f32, angle: f64, soft: f32, share: Share) -> f32 {
        let wide = self.bevel * (1.0 + 0.12 * (angle - self.light).cos() as f32);
        let uneven = 0.8 * (line_noise(self.seed, angle * 40.0) + line_noise(self.seed ^ 1, angle * 9.0));
        share.below((self.radius + wide + uneven - r) / wider(soft, 0.9))
    }

    /// A bevel mirrors the lamp on one side, less on the other, and has fine rings.
    fn bevel_tone(&self, r: f32, angle: f64) -> f32 {
        let side = (angle - self.light).cos() as f32;
        let t = ((r - self.radius) / self.bevel).clamp(0.0, 1.0);
        let ring = 0.12 * line_noise(self.seed ^ 2, f64::from(r) / 1.1);
        let blotch = 0.15 * line_noise(self.seed ^ 3, angle * 14.0);
        (0.78 + 0.3 * side) * (0.65 + 0.45 * t) * (1.0 + ring + blotch)
    }

    /// Light fades within a few micrometres of the mouth; a far wall glows faintly.
    fn open(&self, (dx, dy): Spot, r: f32) -> f32 {
        let deep = self.radius - r;
        let wall = 0.05 * (-f64::from(deep) / 25.0).exp() as f32;
        let glow = 0.012 * value_noise(self.seed ^ 4, dx / 160.0, dy / 160.0);
        DEPTH + wall + glow.max(0.0)
    }

    /// A flat front with turned rings and, about it, a rounded edge that falls away into the gap.
    fn pin(&self, (dx, dy): Spot, r: f32, angle: f64, soft: f32, share: Share) -> f32 {
        let edge = self.radius - 1.2;
        let flat = 0.74 * edge;
        let rings = line_noise(self.seed ^ 5, f64::from(r) / 1.6)
            + 0.6 * line_noise(self.seed ^ 6, f64::from(r) / 6.0);
        let bow = (2.0 * (angle - self.light)).cos() as f32;
        let stain = value_noise(self.seed ^ 7, dx / 70.0, dy / 70.0);
        let front = (0.95 + 0.28 * bow * (r / flat).min(1.0)) * (1.0 + 0.09 * rings) + 0.05 * stain;
        let t = ((r - flat) / (edge - flat)).clamp(0.0, 1.0);
        let rounded =
            (0.55 + 0.2 * (angle - self.light).cos() as f32) * (1.0 - t * t) * (1.0 + 0.05 * rings) + 0.04;
        let tone = rounded + (front - rounded) * share.below((flat - r) / wider(soft, 1.0));
        DEPTH + (tone - DEPTH) * share.disc(edge - r, edge, soft)
    }
}
