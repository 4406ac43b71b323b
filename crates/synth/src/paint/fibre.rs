//! A fibre in its bore: adhesive line, cladding with its polish and shading, core; or an empty bore.

use super::grid::{Grid, Row, Window};
use crate::face::{CoreLook, Face, FibreBody};
use crate::noise::{line_noise, value_noise};
use crate::normal::Share;
use crate::random::{Topic, hash, topic_seed};
use crate::shape::Spot;
use std::f64::consts::TAU;

/// A fibre, ready to be painted.
pub(super) struct Drawn<'a> {
    fibre: &'a FibreBody,
    window: Window,
    bore_at: Spot,
    core_at: Spot,
    polish: (f64, f64),
    seed: u32,
}

impl<'a> Drawn<'a> {
    /// None if it lies outside the picture.
    pub(super) fn new(face: &Face, fibre: &'a FibreBody, grid: &Grid) -> Option<Drawn<'a>> {
        let reach = 0.5 * fibre.bore.diameter + fibre.bore.offset.0.hypot(fibre.bore.offset.1);
        let window = grid.window(fibre.centre, reach + 1.0 + 5.0 * grid.soft)?;
        let moved = |by: Spot| (fibre.centre.0 + by.0, fibre.centre.1 + by.1);
        let seed = hash(topic_seed(face.seed, Topic::Polish), i64::from(fibre.position), 1) as u32;
        Some(Drawn {
            fibre,
            window,
            bore_at: moved(fibre.bore.offset),
            core_at: moved(fibre.core.offset),
            polish: fibre.polish_turn.sin_cos(),
            seed,
        })
    }

    pub(super) fn paint(&self, row: &mut Row, polish: f32, soft: f32, share: Share) {
        if row.j < self.window.y0 || row.j >= self.window.y1 {
            return;
        }
        let radius = (0.5 * self.fibre.diameter) as f32;
        for i in self.window.x0..self.window.x1 {
            let at = (row.x[i], row.y[i]);
            let (dx, dy) = (at.0 - self.fibre.centre.0, at.1 - self.fibre.centre.1);
            let inside = radius - (dx * dx + dy * dy).sqrt() as f32;
            if inside > 5.0 * soft && !self.fibre.empty {
                row.out[i] = self.glass((dx, dy), at, polish, soft, share);
                continue;
            }
            let bore = self.bore_cover(at, soft, share);
            let glass = if self.fibre.empty { 0.0 } else { share.disc(inside, radius, soft) };
            let filling = if self.fibre.empty { 0.05 } else { self.adhesive((dx, dy)) };
            // Glass lies within the bore, so the three shares add up to one wherever the edges are.
            let bore = bore.max(glass);
            let glass_part =
                if glass > 1e-6 { glass * self.glass((dx, dy), at, polish, soft, share) } else { 0.0 };
            row.out[i] = (1.0 - bore) * row.out[i] + (bore - glass) * filling + glass_part;
        }
    }

    /// Share of the bore's disc, its edge a little ragged where it was moulded.
    fn bore_cover(&self, at: Spot, soft: f32, share: Share) -> f32 {
        let (dx, dy) = (at.0 - self.bore_at.0, at.1 - self.bore_at.1);
        let turns = dy.atan2(dx) / TAU + 0.5;
        // The noise does not close on itself: it is faded out where the angle jumps.
        let fade = (8.0 * turns.min(1.0 - turns)).min(1.0) as f32;
        let gap = (self.fibre.bore.diameter - self.fibre.diameter).max(0.0) as f32;
        let ragged = (0.2 * gap).min(0.22) * fade * line_noise(self.seed ^ 9, turns * 60.0);
        let radius = (0.5 * self.fibre.bore.diameter) as f32 + ragged;
        share.disc(radius - (dx * dx + dy * dy).sqrt() as f32, radius, soft)
    }

    fn adhesive(&self, (dx, dy): Spot) -> f32 {
        self.fibre.bore.adhesive as f32 * (1.0 + 0.35 * value_noise(self.seed ^ 5, dx / 14.0, dy / 14.0))
    }

    #[inline]
    fn glass(&self, (dx, dy): Spot, at: Spot, polish: f32, soft: f32, share: Share) -> f32 {
        let fibre = self.fibre;
        let q = 2.0 / fibre.diameter;
        let (u, v) = (dx * q, dy * q);
        let (sx, sy, round) = fibre.shading;
        let shade = 1.0 + sx * u + sy * v + round * (u * u + v * v - 0.5);
        let core = 1.0 + self.core(at, soft, share);
        (fibre.brightness * shade) as f32 * core * (1.0 + polish * self.polish((dx, dy)))
    }

    fn core(&self, at: Spot, soft: f32, share: Share) -> f32 {
        let core = &self.fibre.core;
        let (dx, dy) = (at.0 - self.core_at.0, at.1 - self.core_at.1);
        let r2 = dx * dx + dy * dy;
        let radius = 0.5 * core.diameter;
        let far = if core.look == CoreLook::Spot { 2.5 * radius } else { radius + 3.0 };
        if r2 > far * far {
            return 0.0;
        }
        let r = r2.sqrt();
        let strength = (core.contrast * core.profile(r)) as f32;
        match core.look {
            CoreLook::Spot => strength,
            // The index step is not quite sharp: dopant has wandered across it.
            _ => {
                strength * share.disc((radius - r) as f32, radius as f32, (soft * soft + 0.35 * 0.35).sqrt())
            }
        }
    }

    /// Fine lines left by polishing, in two directions, stronger here and weaker there.
    fn polish(&self, (dx, dy): Spot) -> f32 {
        let (sin, cos) = self.polish;
        let across = dy * cos - dx * sin;
        let along = dx * cos + dy * sin;
        let crossed = 0.83 * across + 0.56 * along;
        let fine = line_noise(self.seed, across / 0.9) + 0.7 * line_noise(self.seed ^ 1, crossed / 1.3);
        let broad = line_noise(self.seed ^ 2, across / 5.0) + line_noise(self.seed ^ 4, crossed / 2.3);
        let where_strong = 0.6 + 0.4 * value_noise(self.seed ^ 3, along / 45.0, across / 12.0);
        0.007 * where_strong * fine + 0.004 * broad
    }
}
