//! The small shift and turn between two pictures of one fibre, from the marks that stay: dirt on the edge can
//! pull a fitted centre aside.
//!
//! Method: least squares with what is known beforehand of shift and turn, reweighted after Huber (1964,
//! "Robust estimation of a location parameter").

use terms::{Feature, FibreFrame, Point};

/// Standard deviation, before any mark is looked at, of a shift (um) and of a turn (radians).
const SHIFT: f64 = 0.15;
const TURN: f64 = 0.002;
/// Standard deviation of a mark's place about the common shift, um; common practice, no source.
const SCATTER: f64 = 0.12;

/// Carries places of the first picture into the second.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Settling {
    /// To the right, um.
    pub x: f64,
    /// Up, um.
    pub y: f64,
    /// From x towards y, radians; small.
    pub turn: f64,
}

impl Settling {
    /// From pairs of places of one mark in the first and the second picture.
    pub fn of(pairs: &[(Point<FibreFrame>, Point<FibreFrame>)]) -> Settling {
        let mut found = Settling::default();
        for _ in 0..5 {
            let next = found.step(pairs);
            if !(next.x.is_finite() && next.y.is_finite() && next.turn.is_finite()) {
                break;
            }
            found = next;
        }
        found
    }

    /// One weighted solution. The turn is solved about the fibre's centre; what it shares with the shift is
    /// small, as marks lie all around, and the repetition settles it.
    fn step(self, pairs: &[(Point<FibreFrame>, Point<FibreFrame>)]) -> Settling {
        let (mut sum, mut x, mut y) = (SCATTER.powi(2) / SHIFT.powi(2), 0.0, 0.0);
        let (mut lever, mut swing) = (SCATTER.powi(2) / TURN.powi(2), 0.0);
        for (from, to) in pairs {
            let miss = self.place(*from).distance(*to) / SCATTER;
            let weight = if miss <= 1.5 { 1.0 } else { 1.5 / miss };
            sum += weight;
            x += weight * (to.x - from.x + self.turn * from.y);
            y += weight * (to.y - from.y - self.turn * from.x);
            lever += weight * (from.x * from.x + from.y * from.y);
            swing += weight * (from.x * (to.y - from.y - self.y) - from.y * (to.x - from.x - self.x));
        }
        Settling { x: x / sum, y: y / sum, turn: swing / lever }
    }

    /// Where a place of the first picture lies in the second.
    pub fn place(&self, p: Point<FibreFrame>) -> Point<FibreFrame> {
        Point::new(p.x + self.x - self.turn * p.y, p.y + self.y + self.turn * p.x)
    }

    /// The feature in the second picture.
    pub fn feature(&self, feature: &Feature) -> Feature {
        Feature {
            centre: self.place(feature.centre),
            outline: feature.outline.iter().map(|p| self.place(*p)).collect(),
            ..feature.clone()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shift_and_a_turn_are_found_despite_a_stranger() {
        let true_one = Settling { x: 0.2, y: -0.1, turn: 0.003 };
        let mut pairs: Vec<_> = (0..9)
            .map(|i| {
                let angle = f64::from(i) * 0.7;
                let p = Point::new(50.0 * angle.cos(), 50.0 * angle.sin());
                (p, true_one.place(p))
            })
            .collect();
        pairs[4].1 = pairs[4].1.moved(3.0, 2.0);
        let found = Settling::of(&pairs);
        assert!((found.x - 0.2).abs() < 0.06 && (found.y + 0.1).abs() < 0.06, "{found:?}");
        assert!((found.turn - 0.003).abs() < 0.0015, "{found:?}");
    }

    #[test]
    fn without_marks_nothing_moves() {
        assert_eq!(Settling::of(&[]), Settling::default());
    }
}
