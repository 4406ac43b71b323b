//! Seams of a picture that was put together from tiles: where one runs through a fibre, and what it does to the light.
//!
//! On either side of a seam the light is another tile's: its level steps there, at once or over the pixels in which the
//! tiles are blended, and it rises on both sides where tiles darken to their borders. A seam runs along the picture's
//! columns or rows through the whole of the glass, and through the ferrule beside it. No dirt does that: a scratch has
//! the same level on both sides of it, and a film's border is not straight.

mod beside;
mod profile;
mod shift;

use crate::glass::Glass;
use imaging::Plane;
use profile::{Profile, Smooth};

pub use beside::{Beside, cuts_rim, is_shared};
pub use shift::shift;

/// How far the light may fall on both sides away from a seam, relative, at the cladding's radius.
const FALLS: f64 = 0.012;

/// Bands across a seam in which it must be alike, and how many of them marks may spoil.
const BANDS: usize = 4;
const SPOILT: usize = 1;

/// Seams of so many fibres are of tiles whatever they look like, and those of two from which the light falls alike, by
/// this share at the cladding's radius.
const MANY: usize = 3;
const ALIKE: f64 = 0.05;

/// How surely something is a seam: the least that it leaves in the profile beside quadratic light, relative, the least
/// share of what is left there that it explains, and by how much of the whole one band's may differ.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Proof {
    least: f64,
    explained: f64,
    alike: f64,
}

impl Proof {
    /// Enough to say that a picture has seams. Weaker ones make no marks.
    pub const WHOLE: Proof = Proof { least: 0.0045, explained: 0.7, alike: 0.4 };
    /// Enough where the picture is known to have some.
    pub const KNOWN: Proof = Proof { least: 0.003, explained: 0.5, alike: 0.8 };
}

/// Along which of the picture's lines a seam runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Along {
    /// Between two columns.
    Columns,
    /// Between two rows.
    Rows,
}

impl Along {
    /// A place of the picture, or a size, as (across the seam, along it); and back.
    pub fn turned<T>(self, (x, y): (T, T)) -> (T, T) {
        if self == Along::Columns { (x, y) } else { (y, x) }
    }
}

/// A seam through a fibre, in pixels of its patch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seam {
    /// Along which lines it runs.
    pub along: Along,
    /// The column or row about which it lies.
    pub at: f64,
    /// Pixels over which the tiles are blended.
    width: f64,
    /// Step of the light from the one side to the other, relative.
    step: f64,
    /// Rise of the light away from it on both sides, relative, a radius of the cladding.
    bend: f64,
    /// Radius of the cladding.
    radius: f64,
}

impl Seam {
    /// The light at the column or row `u` over that at the seam.
    fn light(&self, u: f64) -> f64 {
        1.0 + self.step * share(u - self.at, self.width) + self.bend * (u - self.at).abs() / self.radius
    }

    /// Levels its two sides in a patch that begins so many pixels right of and below the one it was found in.
    pub fn take_out(&self, patch: &mut Plane<f32>, corner: (f64, f64)) {
        let from = self.along.turned(corner).0;
        let size = self.along.turned((patch.width(), patch.height())).0;
        let light: Vec<f32> = (0..size).map(|u| self.light(u as f64 + from) as f32).collect();
        for y in 0..patch.height() {
            let row = patch.row_mut(y).iter_mut();
            match self.along {
                Along::Columns => row.zip(&light).for_each(|(v, l)| *v /= l),
                Along::Rows => row.for_each(|v| *v /= light[y]),
            }
        }
    }

    /// Whether it is the same seam as another.
    pub fn is(&self, other: &Seam) -> bool {
        self.along == other.along && (self.at - other.at).abs() < 4.0 + self.width.max(other.width)
    }
}

/// How much of a step lies behind a place, -0.5 to 0.5.
fn share(off: f64, width: f64) -> f64 {
    (off / width.max(1e-9)).clamp(-0.5, 0.5)
}

/// The seams that show in what the model of the glass leaves.
pub fn find(glass: &Glass, proof: Proof) -> Vec<Seam> {
    let [columns, rows] = profile::of(glass);
    let seam = |whole: Profile, along| {
        let middle = whole.middle;
        let (fitted, place, width) = whole.steepest(proof)?;
        let seam = Seam {
            along,
            at: place + middle,
            width,
            step: fitted.step,
            bend: fitted.bend * glass.radius,
            radius: glass.radius,
        };
        let rises = proof == Proof::KNOWN || seam.bend > -FALLS;
        (rises && is_straight(glass, &seam, proof)).then_some(seam)
    };
    seam(columns, Along::Columns).into_iter().chain(seam(rows, Along::Rows)).collect()
}

/// Whether the seams of a face's fibres tell by themselves that its picture was put together from tiles: one or two may
/// be borders of films.
pub fn of_tiles(found: &[Vec<Seam>]) -> bool {
    [Along::Columns, Along::Rows].into_iter().any(|along| {
        let bends = found.iter().filter_map(|all| Some(all.iter().find(|s| s.along == along)?.bend));
        let bends: Vec<f64> = bends.collect();
        let alike = |(i, a): (usize, &f64)| bends[..i].iter().any(|b| (a - b).abs() < ALIKE);
        bends.len() >= MANY || bends.iter().enumerate().any(alike)
    })
}

/// Whether what a seam does to the light is alike in bands from edge to edge of the glass.
fn is_straight(glass: &Glass, seam: &Seam, proof: Proof) -> bool {
    let (across, along) = seam.along.turned(glass.centre);
    let chord = (glass.radius.powi(2) - (seam.at - across).powi(2)).max(0.0).sqrt().min(0.9 * glass.radius);
    let edge = |k: usize| (along + 0.94 * chord * (2.0 * k as f64 / BANDS as f64 - 1.0)).max(0.0) as usize;
    let alike = |k: &usize| {
        let band =
            Smooth::of(profile::of_band(glass, seam.along, edge(*k)..edge(k + 1)).bins(profile::BIN, 0.5));
        let share = band.share_of(|place| seam.light(place + across));
        (share - 1.0).abs() < proof.alike
    };
    (0..BANDS).filter(alike).count() + SPOILT >= BANDS
}

#[cfg(test)]
mod tests {
    use super::*;

    fn with(along: Along, bend: f64) -> Vec<Seam> {
        vec![Seam { along, at: 80.0, width: 60.0, step: 0.05, bend, radius: 125.0 }]
    }

    #[test]
    fn two_borders_of_films_make_no_tiles_and_seams_that_are_alike_do() {
        let columns = |bend| with(Along::Columns, bend);
        assert!(!of_tiles(&[columns(0.06), Vec::new()]));
        assert!(!of_tiles(&[columns(0.2), columns(0.1)]));
        assert!(!of_tiles(&[columns(0.06), with(Along::Rows, 0.06)]));
        assert!(of_tiles(&[columns(0.06), Vec::new(), columns(0.09)]));
        assert!(of_tiles(&[columns(0.0), columns(0.1), columns(0.2)]));
    }
}
