//! Films: wide faint layers whose strength is a function of the place, with a rim that fades.

use crate::noise::value_noise;
use crate::normal::Share;
use crate::shape::{Outline, Spot, distance, spread_in_disc};
use std::f64::consts::{PI, TAU};

const ANGLES: usize = 256;

/// What a film is made of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Texture {
    /// Wiped residue: faint streaks.
    Smear,
    /// Oil: this many fringes from rim to middle.
    Oil(f64),
    /// A finger print with ridges this far apart, um.
    Print(f64),
}

/// A film on the face; multiplies the reflectance beneath by one plus its gain.
#[derive(Clone, Debug)]
pub(crate) struct Film {
    /// The outline at half strength, face frame.
    pub(crate) outline: Outline,
    centre: Spot,
    radii: Vec<f64>,
    contrast: f64,
    rim: f64,
    texture: Texture,
    turn: f64,
    seed: u32,
}

impl Film {
    pub(crate) fn new(
        outline: &Outline,
        contrast: f64,
        rim: f64,
        texture: Texture,
        turn: f64,
        seed: u64,
    ) -> Film {
        let centre = outline.centroid();
        let radii = radii_about(outline, centre);
        let seed = crate::random::mix(seed) as u32;
        Film { outline: outline.clone(), centre, radii, contrast, rim, texture, turn, seed }
    }

    /// How far beyond its outline it can be seen, um.
    pub(crate) fn margin(&self, soft: f64) -> f64 {
        5.0 * self.rim.max(soft)
    }

    /// Its gain at a place of the face, seen through a blur of `soft` um.
    pub(crate) fn gain(&self, at: Spot, soft: f64, share: Share) -> f32 {
        let (dx, dy) = (at.0 - self.centre.0, at.1 - self.centre.1);
        let (r, edge) = (dx.hypot(dy), self.edge(dy.atan2(dx)));
        let cover = share.below(((edge - r) / self.rim.max(soft)) as f32);
        if cover < 1e-4 {
            return 0.0;
        }
        cover * (self.contrast * self.strength((dx, dy), r / edge)) as f32
    }

    /// Whether it shows within a circle of the face: at one place in a hundred at least with a quarter of its
    /// full contrast. The ridges of a print leave clean glass between them.
    pub(crate) fn shows_in(&self, centre: Spot, radius: f64) -> bool {
        let places = spread_in_disc(centre, radius, 800);
        let share = Share::new();
        let least = 0.25 * self.contrast.abs() as f32;
        places.filter(|at| self.gain(*at, 0.1, share).abs() > least).count() >= 8
    }

    fn edge(&self, angle: f64) -> f64 {
        let place = (angle / TAU).rem_euclid(1.0) * ANGLES as f64;
        let (cell, part) = (place as usize % ANGLES, place.fract());
        self.radii[cell] + (self.radii[(cell + 1) % ANGLES] - self.radii[cell]) * part
    }

    /// Strength from 0 to about 1 at a place about the film's centre; `q` is 0 in the middle, 1 at the rim.
    fn strength(&self, (dx, dy): Spot, q: f64) -> f64 {
        let (sin, cos) = self.turn.sin_cos();
        let (along, across) = (dx * cos + dy * sin, dy * cos - dx * sin);
        let noise =
            |a: f64, b: f64, salt: u32| f64::from(value_noise(self.seed ^ salt, along / a, across / b));
        match self.texture {
            Texture::Smear => 0.85 + 0.2 * noise(40.0, 6.0, 1) + 0.1 * noise(9.0, 3.0, 2),
            Texture::Oil(fringes) => {
                let depth = (1.0 - q * q).max(0.0) + 0.12 * noise(30.0, 30.0, 3);
                let fringe = 0.5 - 0.5 * (TAU * fringes * depth).cos();
                0.25 + 0.75 * fringe
            }
            Texture::Print(pitch) => {
                let wander = 0.35 * noise(2.5 * pitch, 1.5 * pitch, 4);
                let ridge = 0.5 + 0.5 * (TAU * (across / pitch + wander)).cos();
                let drops = noise(5.0, 5.0, 5) + 0.9 * noise(2.2, 2.2, 6);
                let band = (3.0 * (ridge - 0.35)).clamp(0.0, 1.0);
                band * (0.45 + 1.3 * drops).clamp(0.08, 1.0)
            }
        }
    }
}

/// Distance of the outline from the centre at evenly spaced angles; the outline is star-shaped about it.
fn radii_about(outline: &Outline, centre: Spot) -> Vec<f64> {
    let mut polar: Vec<(f64, f64)> =
        outline.0.iter().map(|p| ((p.1 - centre.1).atan2(p.0 - centre.0), distance(*p, centre))).collect();
    polar.sort_by(|a, b| a.0.total_cmp(&b.0));
    let at = |angle: f64| {
        let next = polar.partition_point(|p| p.0 < angle) % polar.len();
        let (a, b) = (polar[(next + polar.len() - 1) % polar.len()], polar[next]);
        let (span, part) = ((b.0 - a.0).rem_euclid(TAU), (angle - a.0).rem_euclid(TAU));
        if span == 0.0 { a.1 } else { a.1 + (b.1 - a.1) * (part / span).min(1.0) }
    };
    (0..ANGLES)
        .map(|i| {
            let angle = TAU * i as f64 / ANGLES as f64;
            at(if angle > PI { angle - TAU } else { angle })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Between two ridges there is clean glass, on a ridge there is grease: both occur along a print, and
    /// nothing shows outside it.
    #[test]
    fn a_print_shows_on_its_ridges_only() {
        let outline = Outline::disc((0.0, 0.0), 3000.0);
        let film = Film::new(&outline, -0.2, 10.0, Texture::Print(500.0), 0.0, 7);
        let seen: Vec<bool> = (-20..=20).map(|k| film.shows_in((0.0, 60.0 * f64::from(k)), 40.0)).collect();
        let count = seen.iter().filter(|s| **s).count();
        assert!((12..=36).contains(&count), "{count} of {}", seen.len());
        assert!(!film.shows_in((0.0, 1700.0), 40.0));
    }

    /// A sharp film reaches its outline and ends there.
    #[test]
    fn a_sharp_film_ends_at_its_outline() {
        let outline = Outline::disc((5.0, 3.0), 40.0);
        let film = Film::new(&outline, -0.1, 0.0, Texture::Smear, 0.3, 7);
        let at = |x: f64| film.gain((5.0 + x, 3.0), 0.2, Share::new());
        assert!(at(19.0) < -0.04 && at(-19.0) < -0.04 && at(0.0) < -0.04);
        assert_eq!((at(21.5), at(-21.5)), (0.0, 0.0));
    }
}
