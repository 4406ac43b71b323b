//! Areas, extents and distances of polygons and point sets.

use super::Xy;
use std::f64::consts::PI;

/// Area of the closed polygon through `points` (the last joins the first), never negative; 0 below three
/// points. For a polygon that does not cross itself.
pub fn polygon_area<P: Xy>(points: &[P]) -> f64 {
    let Some((x0, y0)) = points.first().map(|p| p.xy()) else { return 0.0 };
    // Relative to the first point: far from the origin the products would cancel badly.
    let twice: f64 = sides(points).map(|(a, b)| (a.0 - x0) * (b.1 - y0) - (b.0 - x0) * (a.1 - y0)).sum();
    twice.abs() / 2.0
}

/// Diameter of the circle of the same area.
pub fn equivalent_diameter(area: f64) -> f64 {
    (4.0 * area / PI).sqrt()
}

/// Whether a point lies inside the closed polygon (even-odd rule). A point exactly on a side belongs to one
/// of the two areas that share it.
pub fn point_in_polygon<P: Xy>(point: P, polygon: &[P]) -> bool {
    sides(polygon).filter(|(a, b)| lies_left_of(point.xy(), *a, *b)).count() % 2 == 1
}

/// Whether a line from a point towards greater x crosses the side between `a` and `b`: an odd number of a polygon's sides
/// if the point lies inside.
pub fn lies_left_of<P: Xy>(point: P, a: P, b: P) -> bool {
    let ((x, y), (ax, ay), (bx, by)) = (point.xy(), a.xy(), b.xy());
    (ay > y) != (by > y) && x < ax + (y - ay) / (by - ay) * (bx - ax)
}

/// Distance of a point from the segment between `a` and `b`, which may coincide.
pub fn point_segment_distance<P: Xy>(point: P, a: P, b: P) -> f64 {
    point_segment_distance_squared(point, a, b).sqrt()
}

/// The square of [`point_segment_distance`], which costs no root.
pub fn point_segment_distance_squared<P: Xy>(point: P, a: P, b: P) -> f64 {
    let ((x, y), (ax, ay), (bx, by)) = (point.xy(), a.xy(), b.xy());
    let (dx, dy) = (bx - ax, by - ay);
    let length2 = dx * dx + dy * dy;
    let t = if length2 > 0.0 { (((x - ax) * dx + (y - ay) * dy) / length2).clamp(0.0, 1.0) } else { 0.0 };
    let (u, v) = (x - ax - t * dx, y - ay - t * dy);
    u * u + v * v
}

/// Corners of the convex hull, each once, from the leftmost (then lowest y) on, turning from x towards y.
/// Points on a side of the hull are left out, and so are points that are not finite. (Andrew 1979, "Another
/// efficient algorithm for convex hulls in two dimensions".)
pub fn convex_hull<P: Xy>(points: &[P]) -> Vec<P> {
    let mut sorted: Vec<P> = points.iter().copied().filter(|p| finite(*p)).collect();
    sorted.sort_by(|a, b| {
        let ((ax, ay), (bx, by)) = (a.xy(), b.xy());
        ax.total_cmp(&bx).then(ay.total_cmp(&by))
    });
    sorted.dedup_by(|a, b| a.xy() == b.xy());
    if sorted.len() < 3 {
        return sorted;
    }
    let mut hull = chain(sorted.iter().copied());
    hull.pop();
    hull.extend(chain(sorted.iter().rev().copied()));
    hull.pop();
    hull
}

/// One side of the hull of sorted points, both ends included.
fn chain<P: Xy>(points: impl Iterator<Item = P>) -> Vec<P> {
    let mut side: Vec<P> = Vec::new();
    for p in points {
        while let [.., a, b] = side[..] {
            if turn(a, b, p) > 0.0 {
                break;
            }
            side.pop();
        }
        side.push(p);
    }
    side
}

/// Twice the signed area of a triangle.
fn turn<P: Xy>(a: P, b: P, c: P) -> f64 {
    let ((ax, ay), (bx, by), (cx, cy)) = (a.xy(), b.xy(), c.xy());
    (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
}

/// Largest distance between any two of the points (the largest caliper); 0 below two points.
pub fn largest_extent<P: Xy>(points: &[P]) -> f64 {
    let hull: Vec<(f64, f64)> = convex_hull(points).into_iter().map(Xy::xy).collect();
    let mut most = 0.0_f64;
    for (i, a) in hull.iter().enumerate() {
        for b in &hull[..i] {
            let (x, y) = (a.0 - b.0, a.1 - b.1);
            most = most.max(x * x + y * y);
        }
    }
    most.sqrt()
}

pub(super) fn finite(p: impl Xy) -> bool {
    let (x, y) = p.xy();
    x.is_finite() && y.is_finite()
}

/// The sides of a closed polygon.
fn sides<P: Xy>(points: &[P]) -> impl Iterator<Item = ((f64, f64), (f64, f64))> {
    let next = points.iter().cycle().skip(1);
    points.iter().zip(next).map(|(a, b)| (a.xy(), b.xy()))
}

#[cfg(test)]
mod tests {
    use super::*;

    const SQUARE: [(f64, f64); 4] = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)];

    #[test]
    fn areas_do_not_depend_on_place_or_direction() {
        let moved: Vec<(f64, f64)> = SQUARE.iter().rev().map(|p| (p.0 + 1e6, p.1 - 1e6)).collect();
        assert_eq!(polygon_area(&SQUARE), 100.0);
        assert_eq!(polygon_area(&moved), 100.0);
        assert_eq!(polygon_area(&SQUARE[..2]), 0.0);
        assert_eq!(polygon_area::<(f64, f64)>(&[]), 0.0);
        assert!((equivalent_diameter(100.0) - 11.283_792).abs() < 1e-6);
    }

    #[test]
    fn a_notch_is_outside() {
        let notched = [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (2.0, 1.0), (0.0, 4.0)];
        assert!(point_in_polygon((1.0, 1.0), &notched));
        assert!(!point_in_polygon((2.0, 2.0), &notched));
        assert!(!point_in_polygon((5.0, 1.0), &notched));
        assert!(!point_in_polygon((1.0, 1.0), &[]));
    }

    #[test]
    fn distance_to_a_segment_is_to_its_end_beyond_it() {
        assert_eq!(point_segment_distance((3.0, 2.0), (0.0, 0.0), (6.0, 0.0)), 2.0);
        assert_eq!(point_segment_distance((9.0, 4.0), (0.0, 0.0), (6.0, 0.0)), 5.0);
        assert_eq!(point_segment_distance((3.0, 4.0), (0.0, 0.0), (0.0, 0.0)), 5.0);
    }

    #[test]
    fn a_hull_has_corners_only() {
        let mut points = SQUARE.to_vec();
        points.extend([(5.0, 0.0), (5.0, 5.0), (10.0, 5.0), (0.0, 0.0), (f64::NAN, 3.0)]);
        assert_eq!(convex_hull(&points), SQUARE);
        assert_eq!(convex_hull(&[(1.0, 1.0), (3.0, 3.0), (2.0, 2.0)]), [(1.0, 1.0), (3.0, 3.0)]);
        assert_eq!(convex_hull(&[(1.0, 1.0), (1.0, 1.0)]), [(1.0, 1.0)]);
        assert!((largest_extent(&points) - 200.0_f64.sqrt()).abs() < 1e-12);
        assert_eq!(largest_extent(&[(1.0, 1.0)]), 0.0);
    }
}
