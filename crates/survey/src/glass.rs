//! The clean glass of one fibre as a model, and what departs from it. Light that falls off across the fibre,
//! the core's own look (disc, ring, graded or single-mode spot, lit or dark) and the radial shading of the
//! polish belong to the model; everything else is left in the residual for `lines` and `blobs` to judge.
//!
//! A look is the fibre type's and the light is the picture's: fibres are compared with their neighbours, so that
//! a film is not taken for either; waves of light that run through all of them are taken away first.
//!
//! Method: a quadratic surface by iteratively reweighted least squares (Huber, 1964, "Robust estimation of
//! a location parameter") over the cladding, then medians over rings about the core's own centre, which is
//! found with its ellipticity from the first and second angular harmonic of the residual.

use crate::edge::Edge;
use crate::solve;
use imaging::{Coding, Plane};

mod agree;
mod clean;
mod light;
mod middle;
mod rings;
mod rounding;
mod sloped;
mod waves;

use crate::fibre::TOP;
use light::Surface;
use rayon::prelude::*;
use rings::{CoreLook, Rings};
pub use rounding::Rounding;
use std::ops::Range;

/// Share of the cladding's radius within which the core's look may reach: 62.5 um core, its offset and blur.
const CORE_SHARE: f64 = 0.58;

/// The middle of a core, share of the cladding's radius, and the share of it at the top of the range from which on its light
/// is more than the picture can hold: no mark shows there, and what is cut off looks like one.
const MIDDLE: f64 = 0.07;
const CLIPPED: f64 = 0.02;

/// The glass of one fibre after its model is taken away.
#[derive(Clone, Debug)]
pub struct Glass {
    /// Relative residual, (picture - model) / model; 0 where `inside` is 0.
    pub residual: Plane<f32>,
    /// 1 on glass that can be judged, 0 elsewhere.
    pub inside: Plane<f32>,
    /// The cladding's centre in the patch.
    pub centre: (f64, f64),
    /// Radius within which glass is judged, pixels from the cladding's centre.
    pub radius: f64,
    /// Median level of the clean cladding, 0 to 1.
    pub level: f64,
    /// Standard deviation of one pixel of the residual.
    pub noise: f64,
    /// What the picture's coding has left of its levels.
    pub rounding: Rounding,
    /// Level of the core's middle over the clean glass about it, less 1; none if it was not seen.
    pub core_light: Option<f64>,
    /// Whether the light out of the core is more than the picture can hold.
    pub core_clipped: bool,
    /// Diameter of the core where its light is half the middle's, pixels; none if it does not stand out.
    pub core_width: Option<f64>,
    /// At most 1: what the scatter of this fibre must be multiplied with to be that of clean glass. A face's
    /// fibres share camera and polish, so one that scatters far more than the others is covered.
    pub ease: f64,
}

/// A pixel on the glass, about the cladding's centre.
#[derive(Clone, Copy, Debug)]
pub struct Spot {
    dx: f32,
    dy: f32,
    r: f32,
    value: f32,
}

/// The light and the looks of one fibre.
#[derive(Clone, Debug)]
pub struct Looks {
    radius: f64,
    /// Radius of the cladding.
    unit: f64,
    /// The cladding between these radii tells the light.
    ring: (f64, f64),
    /// Whether the light out of the core is more than the picture can hold.
    clipped: bool,
    /// The picture's levels at first, relative to the light once that is agreed upon.
    spots: Vec<Spot>,
    /// What the picture's coding has left of its levels.
    coding: Coding,
    surface: Surface,
    core: CoreLook,
    cladding: Rings,
    /// Whether what was fitted as its light bends more than light can.
    no_light: bool,
}

impl Looks {
    /// Counts the core's levels from the glass beside it, if no coder has evened out what lies there.
    fn count_core_from_beside(&mut self) {
        if !self.coding.is_in_blocks() {
            self.core.count_from_beside(self.ring.0);
        }
    }

    /// Whether its own levels are no smooth light on clean glass.
    pub fn is_veiled(&self) -> bool {
        self.no_light
    }

    /// Whether the light is not the fibre's own but what its neighbours say.
    pub fn is_borrowed(&self) -> bool {
        self.surface.borrowed
    }
}

/// Looks at the light inside `edge` in a picture whose levels were stored as `coding` tells; what it falls on follows by
/// [`agree`]. None if too little of the glass is in the patch or the light is nothing.
pub fn look(patch: &Plane<f32>, edge: &Edge, coding: Coding) -> Option<Looks> {
    let radius = edge.radius - 2.0 * edge.blur - 0.5;
    let spots = spots(patch, edge, radius);
    let ring = (CORE_SHARE * edge.radius, radius - edge.blur);
    let surface = Surface::fit(&spots, ring.0, ring.1, edge.radius)?;
    let middle = || spots.iter().filter(|s| f64::from(s.r) < MIDDLE * edge.radius);
    let top = middle().filter(|s| s.value >= TOP).count();
    let clipped = top as f64 > CLIPPED * middle().count() as f64;
    let none = Rings { radius: Vec::new(), level: Vec::new() };
    let core = CoreLook::flat();
    Some(Looks {
        radius,
        unit: edge.radius,
        ring,
        spots,
        coding,
        surface,
        core,
        clipped,
        cladding: none,
        no_light: false,
    })
}

/// Lets the fibres of one picture agree on the light, then on what their glass looks like. `at` are the
/// centres in the picture, pixels, in the order of `looks`.
pub fn agree(looks: &mut [&mut Looks], at: &[(f64, f64)]) {
    waves::take_away(looks, at);
    looks.iter_mut().for_each(|l| l.no_light = l.surface.is_no_light());
    let mut lit: Vec<light::Lit> = looks
        .iter_mut()
        .zip(at)
        .map(|(l, at)| light::Lit {
            at: *at,
            unit: l.unit,
            surface: &mut l.surface,
            spots: &l.spots,
            ring: l.ring,
        })
        .collect();
    light::agree(&mut lit);
    looks.par_iter_mut().for_each(|l| {
        for s in &mut l.spots {
            s.value = s.value / l.surface.at(s.dx, s.dy, l.unit).max(1e-4) - 1.0;
        }
        l.core = CoreLook::fit(&l.spots, l.ring.0);
        l.count_core_from_beside();
        l.cladding = Rings::about_centre(&l.spots, l.ring.0, l.radius);
    });
    agree::agree(looks);
}

/// Takes the looks away from the picture.
pub fn model(patch: &Plane<f32>, edge: &Edge, looks: &Looks) -> Glass {
    let mut residual = Plane::filled(patch.width(), patch.height(), 0.0f32);
    let mut inside = Plane::filled(patch.width(), patch.height(), 0.0f32);
    let (core, cladding) = (looks.core.table(looks.ring.0), looks.cladding.table());
    let mut spots = looks.spots.iter();
    for (y, columns) in rows(patch, edge, looks.radius) {
        for (left, spot) in residual.row_mut(y)[columns.clone()].iter_mut().zip(&mut spots) {
            let in_core = f64::from(spot.r) < looks.ring.0;
            let clean = if in_core { looks.core.at(&core, spot) } else { cladding.at(spot.r) };
            *left = (1.0 + spot.value) / (1.0 + clean).max(0.05) - 1.0;
        }
        inside.row_mut(y)[columns].fill(1.0);
    }
    let level = looks.surface.level();
    let rounding = Rounding::of(looks.coding, level, pixel_noise(&residual, &inside));
    let noise = rounding.noise;
    cool(&mut residual, noise as f32);
    Glass {
        residual,
        inside,
        centre: (edge.x, edge.y),
        radius: looks.radius,
        level,
        noise,
        rounding,
        core_light: looks.core.light(looks.unit),
        core_clipped: looks.clipped,
        core_width: looks.core.width(looks.unit),
        ease: 1.0,
    }
}

/// Rows of the patch, and in each the columns of the pixels whose centre lies within `radius` of the cladding's centre.
fn rows(patch: &Plane<f32>, edge: &Edge, radius: f64) -> impl Iterator<Item = (usize, Range<usize>)> {
    let (x, y, width, height) = (edge.x, edge.y, patch.width(), patch.height());
    let rows = (y - radius).ceil().max(0.0) as usize
        ..((y + radius).floor() + 1.0).clamp(0.0, height as f64) as usize;
    rows.map(move |py| {
        let dy = py as f64 - y;
        let half = (radius * radius - dy * dy).max(0.0).sqrt();
        let from = (x - half).ceil().max(0.0) as usize;
        let to = ((x + half).floor() + 1.0).clamp(0.0, width as f64) as usize;
        (py, from.min(to)..to)
    })
}

fn spots(patch: &Plane<f32>, edge: &Edge, radius: f64) -> Vec<Spot> {
    // Room for a whole disc at once: growing copies it again and again.
    let mut spots =
        Vec::with_capacity((4.0 * radius * radius).clamp(0.0, patch.data().len() as f64) as usize);
    for (y, columns) in rows(patch, edge, radius) {
        let dy = (y as f64 - edge.y) as f32;
        spots.extend(columns.clone().zip(&patch.row(y)[columns]).map(|(x, &value)| {
            let dx = (x as f64 - edge.x) as f32;
            Spot { dx, dy, r: (dx * dx + dy * dy).sqrt(), value }
        }));
    }
    spots
}

/// Levels single pixels that stand far above all their neighbours: light that went through the optics cannot,
/// a hot pixel of the camera does.
fn cool(residual: &mut Plane<f32>, noise: f32) {
    let (w, h) = (residual.width(), residual.height());
    let mut hot = Vec::new();
    for y in 1..h.saturating_sub(1) {
        for x in 1..w.saturating_sub(1) {
            let v = residual.at(x, y);
            if v > 5.0 * noise {
                let around = [
                    residual.at(x - 1, y),
                    residual.at(x + 1, y),
                    residual.at(x, y - 1),
                    residual.at(x, y + 1),
                ];
                if around.iter().all(|a| *a < 0.4 * v) {
                    hot.push((x, y, around.iter().sum::<f32>() / 4.0));
                }
            }
        }
    }
    for (x, y, v) in hot {
        residual.set(x, y, v);
    }
}

/// Standard deviation of one pixel from differences of neighbours two apart, which ignore slow changes.
fn pixel_noise(residual: &Plane<f32>, inside: &Plane<f32>) -> f64 {
    let mut differences = Vec::new();
    for y in (0..residual.height()).step_by(2) {
        let (row, mask) = (residual.row(y), inside.row(y));
        for x in (2..row.len()).step_by(3) {
            if mask[x] > 0.0 && mask[x - 2] > 0.0 {
                differences.push(row[x] - row[x - 2]);
            }
        }
    }
    f64::from(solve::spread32(&differences)) / std::f64::consts::SQRT_2
}
