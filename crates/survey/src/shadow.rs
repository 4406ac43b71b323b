//! What a strong mark does to the model of the glass about it: rings and light are pulled its way, so that the clean
//! glass beside it stands out the other way, wide and faint. Such shadows are no marks.

use crate::marks::Mark;
use terms::geometry::{point_in_polygon, point_segment_distance};

/// A shadow is fainter than this, and than this share of what throws it.
const FAINT: (f64, f64) = (0.08, 0.35);

/// A shadow is wider than this, um: narrower marks are not what a pulled ring looks like.
const WIDE: f64 = 4.0;

/// The marks that are not shadows of others.
pub fn without(marks: Vec<Mark>, px_per_um: f64) -> Vec<Mark> {
    let thrown: Vec<bool> =
        marks.iter().map(|mark| marks.iter().any(|other| throws(other, mark, px_per_um))).collect();
    marks.into_iter().zip(thrown).filter(|(_, thrown)| !thrown).map(|(mark, _)| mark).collect()
}

/// Whether the first mark may throw the second as its shadow.
fn throws(strong: &Mark, faint: &Mark, px_per_um: f64) -> bool {
    let (most, share) = FAINT;
    let height = faint.contrast.abs();
    strong.contrast * faint.contrast < 0.0
        && height < most
        && height < share * strong.contrast.abs()
        && faint.size > WIDE * px_per_um
        && distance(strong, faint.centre) < faint.size
}

/// From a place to a mark's outline; 0 inside it.
fn distance(mark: &Mark, at: (f64, f64)) -> f64 {
    if point_in_polygon(at, &mark.outline) {
        return 0.0;
    }
    let next = mark.outline.iter().cycle().skip(1);
    let sides = mark.outline.iter().zip(next);
    sides.map(|(a, b)| point_segment_distance(at, *a, *b)).fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    use super::*;
    use terms::Kind;

    fn mark(centre: (f64, f64), size: f64, contrast: f64) -> Mark {
        let corner = |(x, y)| (centre.0 + x * size / 2.0, centre.1 + y * size / 2.0);
        let outline = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)].map(corner).to_vec();
        let (kind, u) = (Kind::Particle, 0.1);
        Mark { kind, size, u, length: size, centre, contrast, outline, strength: 9.0 }
    }

    #[test]
    fn only_faint_wide_marks_beside_strong_ones_of_the_other_sign_go() {
        let strong = mark((100.0, 100.0), 20.0, -0.4);
        let cases = [
            (mark((120.0, 100.0), 24.0, 0.05), false, "wide, faint, beside it"),
            (mark((120.0, 100.0), 24.0, -0.05), true, "of the same sign"),
            (mark((120.0, 100.0), 24.0, 0.16), true, "strong itself"),
            (mark((112.0, 100.0), 3.0, 0.05), true, "small"),
            (mark((180.0, 100.0), 24.0, 0.05), true, "far away"),
        ];
        for (faint, stays, what) in cases {
            let left = without(vec![strong.clone(), faint], 1.0);
            assert_eq!(left.len(), 1 + usize::from(stays), "{what}");
        }
        assert_eq!(without(vec![mark((50.0, 50.0), 24.0, 0.05)], 1.0).len(), 1, "alone it is a mark");
    }
}
