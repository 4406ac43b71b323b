//! Parts of one scratch: a scratch that fades out and comes back leaves lines and short marks in a row. What
//! lies on a line's continuation, of its sign, about as wide and as strong, belongs to it.

use crate::blobs::Blob;
use crate::lines::Line;
use crate::marks::thickness;
use crate::sizes::bar;
use terms::geometry::largest_extent;

/// Longest gap between two parts, um.
const GAP: f64 = 11.0;

/// Widths and contrasts of parts agree within this factor.
const ALIKE: f64 = 2.5;

/// Takes the parts of each line out of `found` and the other lines and lengthens the line over them. A long
/// mark that is continued by others is a line too.
pub fn gather(lines: &mut Vec<Line>, found: &mut Vec<Blob>, px_per_um: f64) {
    let mut k = 0;
    while k < found.len() {
        match as_line(&found[k], px_per_um) {
            Some(line) if continued(&line, k, found, px_per_um) => {
                found.remove(k);
                lines.push(line);
                extend(lines, found, px_per_um, lines.len() - 1);
            }
            _ => k += 1,
        }
    }
    extend(lines, found, px_per_um, 0);
}

/// A mark at least twice as long as wide, as a line along its length.
fn as_line(blob: &Blob, px_per_um: f64) -> Option<Line> {
    let width = thickness(blob);
    let long = largest_extent(&blob.outline);
    if long < 2.0 * width || long < 4.5 * px_per_um || long > 40.0 * px_per_um {
        return None;
    }
    let apart = |a: &(f64, f64), b: &(f64, f64)| (a.0 - b.0).hypot(a.1 - b.1);
    let from = blob.outline[0];
    let a = blob.outline.iter().copied().max_by(|p, q| apart(p, &from).total_cmp(&apart(q, &from)))?;
    let b = blob.outline.iter().copied().max_by(|p, q| apart(p, &a).total_cmp(&apart(q, &a)))?;
    let steps = (long / 1.5).ceil().max(2.0) as usize;
    let at = |s: usize| s as f64 / steps as f64;
    let path = (0..=steps).map(|s| (a.0 + at(s) * (b.0 - a.0), a.1 + at(s) * (b.1 - a.1))).collect();
    let true_width = bar(width, blob.blur).max(0.2 * blob.blur);
    Some(Line {
        path,
        width: true_width,
        width_u: 0.3 * blob.blur,
        contrast: blob.height,
        seen: blob.height,
        strength: blob.strength,
    })
}

/// Whether another long mark lies on the continuation of the one numbered `own`.
fn continued(line: &Line, own: usize, found: &[Blob], px_per_um: f64) -> bool {
    let others: Vec<Blob> =
        found.iter().enumerate().filter(|(k, _)| *k != own).map(|(_, b)| b.clone()).collect();
    nearest_blob(line, &others, px_per_um).is_some_and(|(k, _)| as_line(&others[k], px_per_um).is_some())
}

fn extend(lines: &mut Vec<Line>, found: &mut Vec<Blob>, px_per_um: f64, first: usize) {
    let mut i = first;
    while i < lines.len() {
        let (next, end) = (nearest_line(lines, i, px_per_um), nearest_blob(&lines[i], found, px_per_um));
        match (next, end) {
            (Some(j), _) => {
                let other = lines.remove(j);
                let i = i - usize::from(j < i);
                let far = if distance(lines[i].path[0], &other.path) < distance(last(&lines[i]), &other.path)
                {
                    lines[i].path.reverse();
                    other.path
                } else {
                    other.path
                };
                append(&mut lines[i], far);
            }
            (None, Some((k, at_start))) => {
                let blob = found.remove(k);
                if at_start {
                    lines[i].path.reverse();
                }
                let tip = tip(&lines[i], &blob);
                append(&mut lines[i], vec![tip]);
            }
            (None, None) => i += 1,
        }
    }
}

fn last(line: &Line) -> (f64, f64) {
    line.path[line.path.len() - 1]
}

fn distance(p: (f64, f64), path: &[(f64, f64)]) -> f64 {
    path.iter().map(|q| (p.0 - q.0).hypot(p.1 - q.1)).fold(f64::MAX, f64::min)
}

/// Adds points to the end of a line, nearest first, with steps between.
fn append(line: &mut Line, mut points: Vec<(f64, f64)>) {
    let end = last(line);
    let far = |p: &(f64, f64)| (p.0 - end.0).hypot(p.1 - end.1);
    if far(&points[0]) > far(&points[points.len() - 1]) {
        points.reverse();
    }
    let (start, gap) = (points[0], far(&points[0]));
    let steps = (gap / 1.5) as usize;
    for s in 1..steps {
        let t = s as f64 / steps as f64;
        line.path.push((end.0 + t * (start.0 - end.0), end.1 + t * (start.1 - end.1)));
    }
    line.path.extend(points);
}

/// End of a path and its outward direction, from its last stretch.
fn outward(path: &[(f64, f64)], at_start: bool, px_per_um: f64) -> ((f64, f64), (f64, f64)) {
    let n = path.len();
    let back = ((12.0 * px_per_um / 1.5) as usize).clamp(1, n - 1);
    let (end, from) = if at_start { (path[0], path[back]) } else { (path[n - 1], path[n - 1 - back]) };
    let (dx, dy) = (end.0 - from.0, end.1 - from.1);
    let l = dx.hypot(dy).max(1e-9);
    (end, (dx / l, dy / l))
}

/// Along and across distance of a point from an end.
fn ahead(p: (f64, f64), end: (f64, f64), way: (f64, f64)) -> (f64, f64) {
    let (dx, dy) = (p.0 - end.0, p.1 - end.1);
    (dx * way.0 + dy * way.1, (dx * way.1 - dy * way.0).abs())
}

fn alike(a: f64, b: f64) -> bool {
    a.signum() == b.signum() && a.abs() < ALIKE * b.abs() && b.abs() < ALIKE * a.abs()
}

fn on_course(along: f64, across: f64, px_per_um: f64) -> bool {
    along > -3.0 * px_per_um && along < GAP * px_per_um && across < 0.8 * px_per_um + 0.07 * along.max(0.0)
}

fn nearest_line(lines: &[Line], i: usize, px_per_um: f64) -> Option<usize> {
    let line = &lines[i];
    (0..lines.len()).filter(|&j| j != i && alike(line.seen, lines[j].seen)).find(|&j| {
        let other = &lines[j];
        [false, true].into_iter().any(|a| {
            let (end, way) = outward(&line.path, a, px_per_um);
            [false, true].into_iter().any(|b| {
                let (start, back) = outward(&other.path, b, px_per_um);
                let (along, across) = ahead(start, end, way);
                way.0 * back.0 + way.1 * back.1 < -0.97 && on_course(along, across, px_per_um)
            })
        })
    })
}

/// The nearest blob on the continuation of a line, and whether it lies at the line's start.
fn nearest_blob(line: &Line, found: &[Blob], px_per_um: f64) -> Option<(usize, bool)> {
    let fits = |blob: &Blob| {
        let width = thickness(blob);
        let shown = line.width.hypot(2.3548 * blob.blur);
        alike(line.seen, blob.height)
            && width < 1.8 * shown
            && largest_extent(&blob.outline) < 25.0 * px_per_um
    };
    let mut best: Option<(f64, usize, bool)> = None;
    for (k, blob) in found.iter().enumerate().filter(|(_, b)| fits(b)) {
        for at_start in [false, true] {
            let (end, way) = outward(&line.path, at_start, px_per_um);
            let (x, y) = (blob.peak.0 as f64, blob.peak.1 as f64);
            let (along, across) = ahead((x, y), end, way);
            if on_course(along, across, px_per_um)
                && lies_along(blob, way)
                && best.is_none_or(|b| along < b.0)
            {
                best = Some((along, k, at_start));
            }
        }
    }
    best.map(|(_, k, at_start)| (k, at_start))
}

/// Whether a blob is no wider across the way than along it.
fn lies_along(blob: &Blob, way: (f64, f64)) -> bool {
    let span = |x: f64, y: f64| {
        let at: Vec<f64> = blob.outline.iter().map(|p| p.0 * x + p.1 * y).collect();
        at.iter().fold(f64::MIN, |a, b| a.max(*b)) - at.iter().fold(f64::MAX, |a, b| a.min(*b))
    };
    span(way.0, way.1) > 1.25 * span(-way.1, way.0)
}

/// The far end of a blob as seen from a line's end.
fn tip(line: &Line, blob: &Blob) -> (f64, f64) {
    let end = last(line);
    let far = |p: &(f64, f64)| (p.0 - end.0).hypot(p.1 - end.1);
    blob.outline.iter().copied().max_by(|a, b| far(a).total_cmp(&far(b))).unwrap_or(end)
}
