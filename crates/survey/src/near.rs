//! What lies in an outline or close about it.

use terms::geometry::{lies_left_of, point_segment_distance};

type Point = (f64, f64);
type Side = (Point, Point);

/// Pixels whose middles lie in an outline or so near to it, row by row; none for no outline.
pub(crate) fn pixels_near(outline: &[Point], reach: f64) -> Vec<(isize, isize)> {
    let bounds = |f: fn(&Point) -> f64| {
        let all = outline.iter().map(f);
        let low = all.clone().fold(f64::INFINITY, f64::min) - reach;
        low.floor() as isize..=(all.fold(f64::NEG_INFINITY, f64::max) + reach).ceil() as isize
    };
    if outline.is_empty() {
        return Vec::new();
    }
    let (columns, rows) = (bounds(|p| p.0), bounds(|p| p.1));
    let in_row = |y: isize| {
        // Most sides lie far off the row: its pixels ask the others alone.
        let sides: Vec<Side> = sides(outline).filter(|(a, b)| !off(y as f64, a.1, b.1, reach)).collect();
        let near = move |x: &isize| near_to(sides.iter().copied(), (*x as f64, y as f64), reach);
        columns.clone().filter(near).map(move |x| (x, y))
    };
    rows.flat_map(in_row).collect()
}

/// Whether a place lies in a polygon or so near to it.
pub(crate) fn near(outline: &[Point], at: Point, reach: f64) -> bool {
    near_to(sides(outline), at, reach)
}

fn sides(outline: &[Point]) -> impl Iterator<Item = Side> + Clone {
    outline.iter().copied().zip(outline.iter().copied().cycle().skip(1))
}

fn near_to(mut sides: impl Iterator<Item = Side> + Clone, at: Point, reach: f64) -> bool {
    // Most sides are farther off along x or along y already.
    let touches = |(a, b): Side| {
        !off(at.0, a.0, b.0, reach)
            && !off(at.1, a.1, b.1, reach)
            && point_segment_distance(at, a, b) <= reach
    };
    let crossed = sides.clone().filter(|(a, b)| lies_left_of(at, *a, *b));
    sides.any(touches) || crossed.count() % 2 == 1
}

/// Whether a place lies farther than `reach` off a side along one axis; a little is added for what rounding does.
fn off(v: f64, a: f64, b: f64, reach: f64) -> bool {
    let far = reach + 1e-6;
    v < a.min(b) - far || v > a.max(b) + far
}
