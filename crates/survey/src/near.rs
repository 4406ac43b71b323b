//! What lies in an outline or close about it.

use terms::geometry::{point_in_polygon, point_segment_distance};

/// Pixels whose middles lie in an outline or so near to it, row by row; none for no outline.
pub(crate) fn pixels_near(outline: &[(f64, f64)], reach: f64) -> Vec<(isize, isize)> {
    let bounds = |f: fn(&(f64, f64)) -> f64| {
        let all = outline.iter().map(f);
        let low = all.clone().fold(f64::INFINITY, f64::min) - reach;
        low.floor() as isize..=(all.fold(f64::NEG_INFINITY, f64::max) + reach).ceil() as isize
    };
    if outline.is_empty() {
        return Vec::new();
    }
    let (columns, rows) = (bounds(|p| p.0), bounds(|p| p.1));
    let pixels = rows.flat_map(|y| columns.clone().map(move |x| (x, y)));
    pixels.filter(|&(x, y)| near(outline, (x as f64, y as f64), reach)).collect()
}

/// Whether a place lies in a polygon or so near to it.
pub(crate) fn near(outline: &[(f64, f64)], at: (f64, f64), reach: f64) -> bool {
    let mut sides = outline.iter().zip(outline.iter().cycle().skip(1));
    // Most sides are farther off along x or along y already; a little is added for what rounding does.
    let far = reach + 1e-6;
    let off = |v: f64, a: f64, b: f64| v < a.min(b) - far || v > a.max(b) + far;
    let touches = |(a, b): (&(f64, f64), &(f64, f64))| {
        !off(at.0, a.0, b.0) && !off(at.1, a.1, b.1) && point_segment_distance(at, *a, *b) <= reach
    };
    sides.any(touches) || point_in_polygon(at, outline)
}
