//! The small shift and turn with which two ferrules meet beyond their mirror map: pins have clearance in their
//! holes, holes lie off their sites, and a picture that does not show them is placed by its fibres.
//!
//! Method: least squares with what is known beforehand of shift and turn, weighted by each pair's chance.

use super::adapter::Adapter;
use crate::compare::Glass;
use terms::{Face, FibreFrame, Point};

/// Standard deviation of the shift along each axis before any mark is looked at, um. Holes of 700 um and pins of
/// 698.5 to 699 um (gauge pins of IEC 61754-7, one public restatement) leave about 0.6 um; holes lie up to 2.5 um
/// off their sites (ferrule data), the mean of two fewer; together about 1 um.
pub const SHIFT: f64 = 1.0;
/// Standard deviation of the turn, radians: the same clearance over the 4.6 mm between the holes.
pub const TURN: f64 = 3e-4;

/// Carries places of the first face onto the second.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Meeting {
    /// The mirror map.
    pub adapter: Adapter,
    /// Shift in the second face's frame, to the right, um.
    pub x: f64,
    /// Shift up, um.
    pub y: f64,
    /// Turn in the second face's frame, from x towards y, radians.
    pub turn: f64,
    /// Standard uncertainty of the shift along each axis, um.
    pub u: f64,
}

/// A mark's place on the first face carried by the mirror map alone, where it is found on the second, the
/// standard deviation of the difference, and how sure the pair is.
pub struct Miss {
    pub from: Point<Face>,
    pub to: Point<Face>,
    pub sd: f64,
    pub weight: f64,
}

impl Meeting {
    /// What the adapter alone tells.
    pub const fn unknown(adapter: Adapter) -> Meeting {
        Meeting { adapter, x: 0.0, y: 0.0, turn: 0.0, u: SHIFT }
    }

    /// From pairs of places of marks.
    pub fn of(adapter: Adapter, pairs: &[Miss]) -> Meeting {
        let mut found = Meeting::unknown(adapter);
        for _ in 0..4 {
            found = found.step(pairs);
        }
        found
    }

    fn step(self, pairs: &[Miss]) -> Meeting {
        let (mut sum, mut x, mut y) = (1.0 / SHIFT.powi(2), 0.0, 0.0);
        let (mut lever, mut swing) = (1.0 / TURN.powi(2), 0.0);
        for Miss { from, to, sd, weight } in pairs {
            let w = weight / sd.powi(2);
            sum += w;
            x += w * (to.x - from.x + self.turn * from.y);
            y += w * (to.y - from.y - self.turn * from.x);
            lever += w * (from.x * from.x + from.y * from.y);
            swing += w * (from.x * (to.y - from.y - self.y) - from.y * (to.x - from.x - self.x));
        }
        Meeting { x: x / sum, y: y / sum, turn: swing / lever, u: 1.0 / sum.sqrt(), ..self }
    }

    /// The same told from the second face to the first.
    pub fn inverse(&self, adapter: Adapter) -> Meeting {
        // Undone first in the second face's frame, then carried across; a mirror reverses the sense of the turn,
        // so that the turn itself stays.
        let undone = adapter.across(Point::<Face>::new(-self.x, -self.y));
        Meeting { x: undone.x, y: undone.y, ..*self }
    }

    /// Where a place of the first face lies on the second.
    pub fn place(&self, p: Point<Face>) -> Point<Face> {
        let p = self.adapter.across(p);
        Point::new(p.x + self.x - self.turn * p.y, p.y + self.y + self.turn * p.x)
    }

    /// Where a point about a fibre of the first face lies about the fibre that faces it.
    pub fn about(&self, p: Point<FibreFrame>, from: &Seat, to: &Seat) -> Point<FibreFrame> {
        let place = self.place(Point::new(from.centre.x + p.x, from.centre.y + p.y));
        Point::new(place.x - to.centre.x, place.y - to.centre.y)
    }
}

/// Where a fibre's cladding lies on its face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seat {
    pub centre: Point<Face>,
}

impl Seat {
    pub fn of(nominal: Point<Face>, glass: &Glass) -> Seat {
        Seat { centre: nominal.moved(glass.offset.x, glass.offset.y) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pairs(adapter: Adapter, truth: &Meeting) -> Vec<Miss> {
        let place =
            |i: i32| Point::<Face>::new(f64::from(i) * 250.0 - 1375.0, f64::from(i * 7 % 11) * 9.0 - 40.0);
        (0..12)
            .map(|i| Miss {
                from: adapter.across(place(i)),
                to: truth.place(place(i)),
                sd: 0.05,
                weight: 1.0,
            })
            .collect()
    }

    #[test]
    fn shift_and_turn_are_found_from_the_marks() {
        for adapter in [Adapter::Opposed, Adapter::Aligned] {
            let truth = Meeting { adapter, x: 1.2, y: -0.7, turn: 4e-4, u: 0.0 };
            let found = Meeting::of(adapter, &pairs(adapter, &truth));
            assert!((found.x - 1.2).abs() < 0.02 && (found.y + 0.7).abs() < 0.02, "{found:?}");
            assert!((found.turn - 4e-4).abs() < 2e-5, "{found:?}");
        }
    }

    #[test]
    fn there_and_back_is_where_it_was() {
        for adapter in [Adapter::Opposed, Adapter::Aligned] {
            let there = Meeting { adapter, x: 1.2, y: -0.7, turn: 4e-4, u: 0.1 };
            let back = there.inverse(adapter);
            for p in [Point::<Face>::new(1375.0, 250.0), Point::new(-2300.0, 10.0)] {
                assert!(back.place(there.place(p)).distance(p) < 0.01, "{adapter:?}");
            }
        }
    }

    #[test]
    fn without_a_pair_nothing_moves() {
        assert_eq!(Meeting::of(Adapter::Aligned, &[]), Meeting::unknown(Adapter::Aligned));
    }
}
