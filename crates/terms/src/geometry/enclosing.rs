//! The smallest circle that holds all points.

use super::polygon::{convex_hull, finite};
use super::{Circle, Xy};

/// The smallest circle that encloses all points; none without points or with one that is not finite.
///
/// Exact up to rounding and free of chance: grows the smallest circle of two or three supporting points by
/// the farthest point still outside until there is none (Elzinga and Hearn 1972, "Geometrical solutions for
/// some minimax location problems"; the pivot rule of Gaertner 1999, "Fast and robust smallest enclosing
/// balls", after Welzl 1991). Every point lies within the returned radius up to the last bit or two.
pub fn enclosing_circle<P: Xy>(points: &[P]) -> Option<Circle> {
    if points.is_empty() || !points.iter().all(|p| finite(*p)) {
        return None;
    }
    let hull: Vec<(f64, f64)> = convex_hull(points).into_iter().map(Xy::xy).collect();
    let mut support = vec![hull[0]];
    let mut circle = Circle { x: hull[0].0, y: hull[0].1, r: 0.0 };
    loop {
        let (far, reach) = farthest(&hull, (circle.x, circle.y));
        if reach <= circle.r {
            return Some(circle);
        }
        support.push(far);
        let (next, kept) = smallest_of_few(&support);
        // The radius grows with every pivot; when it no longer does, what is left outside is rounding.
        if next.r <= circle.r {
            return Some(Circle { r: reach, ..circle });
        }
        (circle, support) = (next, kept);
    }
}

fn farthest(points: &[(f64, f64)], centre: (f64, f64)) -> ((f64, f64), f64) {
    let mut best = (points[0], 0.0);
    for &p in points {
        let d = distance(p, centre);
        if d > best.1 {
            best = (p, d);
        }
    }
    best
}

/// The smallest circle around two to four points, and the points that hold it. Every pair and triple offers a
/// centre; each is given the radius that it needs, so that no tolerance decides who is inside.
fn smallest_of_few(points: &[(f64, f64)]) -> (Circle, Vec<(f64, f64)>) {
    let mut best = (Circle { x: 0.0, y: 0.0, r: f64::INFINITY }, Vec::new());
    let mut offer = |centre: (f64, f64), held: &[(f64, f64)]| {
        let (_, r) = farthest(points, centre);
        if r < best.0.r {
            best = (Circle { x: centre.0, y: centre.1, r }, held.to_vec());
        }
    };
    for (j, &b) in points.iter().enumerate() {
        for (i, &a) in points[..j].iter().enumerate() {
            offer(((a.0 + b.0) / 2.0, (a.1 + b.1) / 2.0), &[a, b]);
            for &c in &points[..i] {
                if let Some(centre) = circumcentre(a, b, c) {
                    offer(centre, &[a, b, c]);
                }
            }
        }
    }
    best
}

fn circumcentre(a: (f64, f64), b: (f64, f64), c: (f64, f64)) -> Option<(f64, f64)> {
    let (bx, by, cx, cy) = (b.0 - a.0, b.1 - a.1, c.0 - a.0, c.1 - a.1);
    let twice_cross = 2.0 * (bx * cy - by * cx);
    let (b2, c2) = (bx * bx + by * by, cx * cx + cy * cy);
    let centre = (a.0 + (cy * b2 - by * c2) / twice_cross, a.1 + (bx * c2 - cx * b2) / twice_cross);
    finite(centre).then_some(centre)
}

fn distance(a: (f64, f64), b: (f64, f64)) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn diameter(points: &[(f64, f64)]) -> f64 {
        enclosing_circle(points).unwrap().diameter()
    }

    /// Diameters by plane geometry: the diagonal, the longest side of a right or obtuse triangle, 2/sqrt 3 of
    /// an equilateral one's side.
    #[test]
    fn plain_shapes_have_their_textbook_circles() {
        let bar = [(0.0, 0.0), (50.0, 0.0), (50.0, 3.0), (0.0, 3.0)];
        assert!((diameter(&bar) - 2509.0_f64.sqrt()).abs() < 1e-12);
        assert!((diameter(&[(0.0, 0.0), (3.0, 0.0), (0.0, 4.0)]) - 5.0).abs() < 1e-14);
        assert!((diameter(&[(0.0, 0.0), (10.0, 0.0), (5.0, 1.0)]) - 10.0).abs() < 1e-14);
        let third = (0.5, 0.75_f64.sqrt());
        assert!((diameter(&[(0.0, 0.0), (1.0, 0.0), third]) - 2.0 / 3.0_f64.sqrt()).abs() < 1e-14);
        assert_eq!(diameter(&[(7.0, 7.0)]), 0.0);
        assert_eq!(diameter(&[(7.0, 7.0), (7.0, 7.0), (10.0, 11.0)]), 5.0);
    }

    #[test]
    fn no_points_or_broken_points_have_no_circle() {
        assert_eq!(enclosing_circle::<(f64, f64)>(&[]), None);
        assert_eq!(enclosing_circle(&[(0.0, 0.0), (f64::NAN, 1.0)]), None);
        assert_eq!(enclosing_circle(&[(0.0, f64::INFINITY)]), None);
    }

    /// Thousands of points that all support the circle, up to rounding: the worst case for this method.
    #[test]
    fn a_crowded_circle_ends_and_holds_every_point() {
        let points: Vec<(f64, f64)> = (0..20_000)
            .map(|i| f64::from(i) * 0.618)
            .map(|t| (800.0 + 62.5 * t.cos(), 300.0 + 62.5 * t.sin()))
            .collect();
        let circle = enclosing_circle(&points).unwrap();
        assert!((circle.r - 62.5).abs() < 1e-9, "{circle:?}");
        assert!(points.iter().all(|&p| circle.distance(p) < 1e-12));
    }
}
