//! Courses of lines and outlines: where a line's end points to, whether something lies on its continuation, and how a mark
//! lies by its outline.

/// Longest gap between two parts, um.
const GAP: f64 = 11.0;

/// A scratch bears off its course over a gap by no more than this, rad.
pub(super) const BENDS: f64 = 0.2;

/// End of a path and its outward direction, from its last stretch.
pub(super) fn outward(path: &[(f64, f64)], at_start: bool, px_per_um: f64) -> ((f64, f64), (f64, f64)) {
    let n = path.len();
    let back = ((12.0 * px_per_um / 1.5) as usize).clamp(1, n - 1);
    let (end, from) = if at_start { (path[0], path[back]) } else { (path[n - 1], path[n - 1 - back]) };
    let (dx, dy) = (end.0 - from.0, end.1 - from.1);
    let l = dx.hypot(dy).max(1e-9);
    (end, (dx / l, dy / l))
}

/// Along and across distance of a point from an end.
pub(super) fn ahead(p: (f64, f64), end: (f64, f64), way: (f64, f64)) -> (f64, f64) {
    let (dx, dy) = (p.0 - end.0, p.1 - end.1);
    (dx * way.0 + dy * way.1, (dx * way.1 - dy * way.0).abs())
}

pub(super) fn on_course(along: f64, across: f64, px_per_um: f64) -> bool {
    along > -3.0 * px_per_um && along < GAP * px_per_um && across < 0.8 * px_per_um + 0.07 * along.max(0.0)
}

/// Whether a mark that lies `ahead` of an end and `aside` of its course, and whose length turns from it by `turn`, rad,
/// continues it to `bends`, rad, on a circle (Parent and Zucker, 1989, "Trace inference, curvature consistency, and curve
/// detection"): a scratch may bend, and then turns twice as far as it bears.
pub(super) fn on_circle(ahead: f64, aside: f64, turn: f64, bends: f64, px_per_um: f64) -> bool {
    let doubt = (1.2 * px_per_um / ahead.hypot(aside).max(px_per_um)).min(0.3);
    let bears = aside.atan2(ahead);
    bears.abs() < bends + doubt && (turn - 2.0 * bears).abs() < bends + 2.0 * doubt
}

/// How far an outline reaches in a direction.
pub(super) fn span(outline: &[(f64, f64)], way: (f64, f64)) -> f64 {
    let at = outline.iter().map(|p| p.0 * way.0 + p.1 * way.1);
    at.clone().fold(f64::MIN, f64::max) - at.fold(f64::MAX, f64::min)
}

/// The ends of an outline on its longest axis: the corners that lie farthest from one another lie across from each other,
/// and of a short mark point elsewhere.
pub(super) fn ends(outline: &[(f64, f64)]) -> Option<((f64, f64), (f64, f64))> {
    let ((x, y), turn) = axis(outline)?;
    let way = (turn.cos(), turn.sin());
    let along = outline.iter().map(|p| (p.0 - x) * way.0 + (p.1 - y) * way.1);
    let (low, high) = along.fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v), h.max(v)));
    let at = |t: f64| (x + t * way.0, y + t * way.1);
    Some((at(low), at(high)))
}

/// Middle of what an outline encloses and the direction of its longest axis, rad, by its moments (Green's theorem on
/// each side).
pub(super) fn axis(outline: &[(f64, f64)]) -> Option<((f64, f64), f64)> {
    let from = *outline.first()?;
    let side = |k: usize| {
        let (a, b) = (outline[k], outline[(k + 1) % outline.len()]);
        ((a.0 - from.0, a.1 - from.1), (b.0 - from.0, b.1 - from.1))
    };
    let mut sums = [0.0f64; 6];
    for ((ax, ay), (bx, by)) in (0..outline.len()).map(side) {
        let cross = ax * by - bx * ay;
        let parts = [
            cross / 2.0,
            cross * (ax + bx) / 6.0,
            cross * (ay + by) / 6.0,
            cross * (ax * ax + ax * bx + bx * bx) / 12.0,
            cross * (ay * ay + ay * by + by * by) / 12.0,
            cross * (ax * by + 2.0 * ax * ay + 2.0 * bx * by + bx * ay) / 24.0,
        ];
        sums.iter_mut().zip(parts).for_each(|(sum, part)| *sum += part);
    }
    let [area, x, y, xx, yy, xy] = sums;
    let (mx, my) = (x / area, y / area);
    let turn = 0.5 * (2.0 * (xy / area - mx * my)).atan2(xx / area - mx * mx - (yy / area - my * my));
    turn.is_finite().then_some(((from.0 + mx, from.1 + my), turn))
}
