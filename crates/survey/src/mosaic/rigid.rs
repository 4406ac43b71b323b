//! Turn and shift between two pictures of one camera, and their fit to places that both show.

use crate::solve::median;

/// A place in a picture, pixels.
pub(crate) type Spot = (f64, f64);

/// Carries places of one picture into another: turned, then shifted. Both are of one scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Rigid {
    /// Radians, from picture x towards picture y.
    pub turn: f64,
    pub shift: Spot,
}

impl Rigid {
    pub const SAME: Rigid = Rigid { turn: 0.0, shift: (0.0, 0.0) };

    /// Where a place lies.
    pub fn place(self, p: Spot) -> Spot {
        let (sin, cos) = self.turn.sin_cos();
        (cos * p.0 - sin * p.1 + self.shift.0, sin * p.0 + cos * p.1 + self.shift.1)
    }

    /// The way back.
    pub fn back(self) -> Rigid {
        let (sin, cos) = self.turn.sin_cos();
        let (x, y) = self.shift;
        Rigid { turn: -self.turn, shift: (-cos * x - sin * y, sin * x - cos * y) }
    }

    /// First this, then another.
    pub fn then(self, other: Rigid) -> Rigid {
        Rigid { turn: self.turn + other.turn, shift: other.place(self.shift) }
    }

    /// How far this carries a place from where it is seen.
    pub fn miss(self, tie: &Tie) -> f64 {
        let (x, y) = self.place(tie.from);
        (x - tie.to.0).hypot(y - tie.to.1)
    }
}

/// One thing in two pictures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Tie {
    pub from: Spot,
    pub to: Spot,
    pub weight: f64,
}

/// The best turn and shift by least squares; none for less than two different places.
fn least_squares(ties: &[Tie], weights: &[f64]) -> Option<Rigid> {
    let total: f64 = weights.iter().sum();
    let mean = |f: fn(&Tie) -> f64| ties.iter().zip(weights).map(|(t, w)| w * f(t)).sum::<f64>() / total;
    let (ax, ay, bx, by) = (mean(|t| t.from.0), mean(|t| t.from.1), mean(|t| t.to.0), mean(|t| t.to.1));
    let (mut dot, mut cross) = (0.0, 0.0);
    for (t, w) in ties.iter().zip(weights) {
        let (px, py, qx, qy) = (t.from.0 - ax, t.from.1 - ay, t.to.0 - bx, t.to.1 - by);
        dot += w * (px * qx + py * qy);
        cross += w * (px * qy - py * qx);
    }
    if dot.is_nan() || dot <= 1e-9 {
        return None;
    }
    let turn = cross.atan2(dot);
    let (sin, cos) = turn.sin_cos();
    Some(Rigid { turn, shift: (bx - cos * ax + sin * ay, by - sin * ax - cos * ay) })
}

/// The turn and shift that most ties agree on, by Tukey's biweight from their median shift on. Ties that lie
/// farther than `play` pixels off have no say at the end.
pub(crate) fn agreed(ties: &[Tie], play: f64) -> Option<Rigid> {
    if ties.len() < 3 {
        return None;
    }
    let middle = |f: fn(&Tie) -> f64| median(&mut ties.iter().map(f).collect::<Vec<_>>());
    let shift = (middle(|t| t.to.0 - t.from.0), middle(|t| t.to.1 - t.from.1));
    let mut now = Rigid { turn: 0.0, shift };
    for reach in [4.0, 4.0, 3.0, 2.0, 1.5, 1.0, 1.0, 1.0] {
        let weights: Vec<f64> =
            ties.iter().map(|t| t.weight * biweight(now.miss(t) / (reach * play))).collect();
        if weights.iter().filter(|w| **w > 0.0).count() < 3 {
            return None;
        }
        now = least_squares(ties, &weights)?;
    }
    Some(now)
}

/// Tukey's biweight: 1 at 0, falling to 0 at 1.
pub(crate) fn biweight(t: f64) -> f64 {
    if t.abs() < 1.0 { (1.0 - t * t).powi(2) } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_way_back_undoes_the_way_there() {
        let way = Rigid { turn: 0.3, shift: (12.0, -7.0) };
        let there = way.place((3.0, 5.0));
        let here = way.back().place(there);
        assert!((here.0 - 3.0).abs() < 1e-12 && (here.1 - 5.0).abs() < 1e-12);
        assert!(way.then(way.back()).shift.0.abs() < 1e-12);
    }

    #[test]
    fn most_ties_outvote_a_third_of_wrong_ones() {
        let way = Rigid { turn: 0.012, shift: (310.0, -4.0) };
        let mut ties: Vec<Tie> = (0..24)
            .map(|i| (f64::from(i % 4) * 60.0, f64::from(i / 4) * 90.0))
            .map(|p| Tie { from: p, to: way.place(p), weight: 1.0 })
            .collect();
        for (i, t) in ties.iter_mut().enumerate().filter(|(i, _)| i % 3 == 0) {
            t.to.0 += 9.0 + i as f64;
        }
        let found = agreed(&ties, 2.0).unwrap();
        assert!((found.turn - 0.012).abs() < 1e-9 && (found.shift.0 - 310.0).abs() < 1e-6, "{found:?}");
    }
}
