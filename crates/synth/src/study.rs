//! Isolated marks for studies of what can be seen: many lumps of chosen sizes and contrasts, each by itself. The
//! faces of a whole study are in `set`.

mod set;

pub use set::{Role, StudyFace, face};

use crate::face::Face;
use crate::mark::{Mark, On, What};
use crate::random::{Stream, Topic};
use crate::shape::{Form, Spot, distance, on_circle};
use std::f64::consts::TAU;

/// A lump that a study wants.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// Diameter of its smallest enclosing circle, um.
    pub size_um: f64,
    /// Its contrast.
    pub contrast: f64,
    /// Its outline.
    pub form: Form,
}

/// Where the lumps of a study may lie on each fibre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Smallest distance of a lump's own edge from the cladding's centre, um.
    pub inner_um: f64,
    /// Largest distance of a lump's own edge from it, um.
    pub outer_um: f64,
    /// Least distance between the edges of two lumps, um.
    pub apart_um: f64,
}

/// Spreads the wanted lumps over the fibres of a face in turn, by chance within the ring and apart from each
/// other and from lumps already there. Returns the marks in the order wanted; what finds no room in 200 draws
/// is left out, so that the caller compares the lengths.
pub fn isolated(face: &Face, wanted: &[Wanted], spread: Spread, seed: u64) -> Vec<Mark> {
    let fibres: Vec<u16> = face.fibres.iter().filter(|f| !f.empty).map(|f| f.position).collect();
    let mut taken: Vec<(u16, Spot, f64)> = Vec::new();
    let mut marks = Vec::new();
    for (k, want) in wanted.iter().enumerate() {
        let Some(&position) = fibres.get(k % fibres.len().max(1)) else { break };
        let mut chance = Stream::new(seed, Topic::Study, k as i64, 0);
        let free = |at: Spot| {
            taken.iter().all(|(p, other, radius)| {
                *p != position || distance(*other, at) >= radius + 0.5 * want.size_um + spread.apart_um
            })
        };
        let place = (0..200).map(|_| draw(&mut chance, want.size_um, spread)).find(|at| free(*at));
        if let Some(at) = place {
            taken.push((position, at, 0.5 * want.size_um));
            let Wanted { size_um, contrast, form } = *want;
            let what = What::Particle { at, size_um, contrast, form };
            marks.push(Mark { on: On::Fibre(position), what, seed: chance.bits() });
        }
    }
    marks
}

/// A place spread evenly over the part of the ring that the whole lump fits in.
fn draw(chance: &mut Stream, size: f64, spread: Spread) -> Spot {
    let low = (spread.inner_um + 0.5 * size).min(spread.outer_um);
    let high = (spread.outer_um - 0.5 * size).max(low);
    let r = (low * low + (high * high - low * low) * chance.unit()).sqrt();
    on_circle((0.0, 0.0), r, TAU * chance.unit())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::face::{CoreBody, CoreLook};
    use crate::{Bore, FibreBody};

    fn fibre(position: u16) -> FibreBody {
        FibreBody {
            position,
            row: 1,
            column: position,
            nominal: (0.0, 0.0),
            centre: (0.0, 0.0),
            diameter: 125.0,
            core: CoreBody {
                look: CoreLook::Disc,
                lit: false,
                diameter: 50.0,
                offset: (0.0, 0.0),
                contrast: 0.0,
            },
            bore: Bore { diameter: 126.0, offset: (0.0, 0.0), adhesive: 0.2 },
            brightness: 1.0,
            shading: (0.0, 0.0, 0.0),
            polish_turn: 0.0,
            empty: position == 2,
        }
    }

    #[test]
    fn lumps_lie_in_the_ring_and_apart() {
        let face = Face {
            seed: 1,
            ferrule: crate::Ferrule { level: 0.5, contrast: 1.0 },
            guides: Default::default(),
            guide_spacing: terms::Um(4600.0),
            guide_diameter: terms::Um(700.0),
            polish: 1.0,
            fibres: vec![fibre(1), fibre(2), fibre(3)],
            marks: Vec::new(),
        };
        let wanted: Vec<Wanted> = (0..40)
            .map(|k| Wanted { size_um: 0.5 + 0.1 * f64::from(k), contrast: -0.3, form: Form::Disc })
            .collect();
        let spread = Spread { inner_um: 28.0, outer_um: 55.0, apart_um: 6.0 };
        let marks = isolated(&face, &wanted, spread, 4);
        assert_eq!(marks.len(), 40);
        let spots: Vec<(On, Spot, f64)> = marks
            .iter()
            .map(|m| match m.what {
                What::Particle { at, size_um, .. } => (m.on, at, size_um / 2.0),
                _ => panic!("only particles were wanted"),
            })
            .collect();
        for (i, (on, at, radius)) in spots.iter().enumerate() {
            assert_ne!(*on, On::Fibre(2));
            let r = distance(*at, (0.0, 0.0));
            assert!(r - radius >= 28.0 - 1e-9 && r + radius <= 55.0 + 1e-9);
            for (other, there, wide) in &spots[..i] {
                assert!(other != on || distance(*at, *there) >= radius + wide + 6.0 - 1e-9);
            }
        }
    }
}
