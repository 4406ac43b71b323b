//! Marks that count once because they touch: nearer to each other than the gap that the criteria file names.

use crate::marks::Mark;
use terms::Kind;
use terms::geometry::{convex_hull, enclosing_circle, largest_extent};

/// Joins marks other than scratches whose outlines are at most `gap` pixels apart; 0 joins none.
pub fn together(marks: Vec<Mark>, gap: f64) -> Vec<Mark> {
    if gap <= 0.0 {
        return marks;
    }
    let (mut done, mut rest): (Vec<Mark>, Vec<Mark>) =
        marks.into_iter().partition(|m| m.kind == Kind::Scratch);
    while let Some(mut group) = rest.pop() {
        while let Some(k) = rest.iter().position(|m| apart(&group, m) <= gap) {
            group = joined(group, rest.remove(k));
        }
        done.push(group);
    }
    done
}

/// Distance of two outlines, point by point.
pub fn apart(a: &Mark, b: &Mark) -> f64 {
    let distance = |p: &(f64, f64), q: &(f64, f64)| (p.0 - q.0).hypot(p.1 - q.1);
    a.outline.iter().flat_map(|p| b.outline.iter().map(move |q| distance(p, q))).fold(f64::MAX, f64::min)
}

/// Both as one mark: the smallest circle about them, named after the stronger.
fn joined(a: Mark, b: Mark) -> Mark {
    let (strong, weak) = if a.strength >= b.strength { (a, b) } else { (b, a) };
    let u = strong.u.hypot(weak.u);
    let points = strong.outline.iter().chain(&weak.outline).copied().collect();
    Mark { u, ..about(points, strong) }
}

/// A mark laid about all these points.
pub fn about(points: Vec<(f64, f64)>, mark: Mark) -> Mark {
    let outline = convex_hull(&points);
    let circle = enclosing_circle(&outline);
    Mark {
        size: circle.map_or(mark.size, |c| 2.0 * c.r),
        centre: circle.map_or(mark.centre, |c| (c.x, c.y)),
        length: largest_extent(&outline),
        outline,
        ..mark
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(x: f64, strength: f64) -> Mark {
        Mark {
            kind: Kind::Particle,
            size: 2.0,
            u: 0.1,
            length: 2.0,
            centre: (x, 0.0),
            contrast: -0.4,
            outline: vec![(x - 1.0, -1.0), (x + 1.0, -1.0), (x + 1.0, 1.0), (x - 1.0, 1.0)],
            strength,
        }
    }

    #[test]
    fn marks_within_the_gap_are_one_and_others_stay() {
        let marks = || vec![square(0.0, 9.0), square(3.0, 7.0), square(10.0, 8.0)];
        assert_eq!(together(marks(), 0.0).len(), 3);
        let joined = together(marks(), 1.5);
        assert_eq!(joined.len(), 2);
        let wide = joined.iter().map(|m| m.size).fold(0.0, f64::max);
        assert!((wide - 29f64.sqrt()).abs() < 1e-9, "the circle about 5 by 2: {wide}");
    }
}
