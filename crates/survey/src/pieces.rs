//! Parts of one scratch: a scratch that fades out and comes back leaves lines and short marks in a row. What
//! lies on a line's continuation, of its sign, about as wide and as strong, belongs to it.

mod course;

use crate::blobs::{Blob, alike};
use crate::lines::Line;
use crate::marks::thickness;
use crate::sizes::bar;
use course::{BENDS, ahead, axis, ends, on_circle, on_course, outward, span};
use terms::geometry::largest_extent;

/// A mark that points along a line belongs to it beyond a gap as long as this, um, or as this share of the line: a compact
/// mark may lie on a line's course by chance, one that is so many times longer along it than across hardly does.
const LONG_GAP: (f64, f64) = (30.0, 0.6);
const POINTS: f64 = 1.6;

/// A mark nearer than that is at least so many times longer along the line than across.
const ALONG: f64 = 1.25;

/// A part shows at most so many times as wide across a line as the line: what is broader is dirt on its course.
const BROADER: f64 = 1.4;

/// The same of a part far off, and of what lies on a gap: there is less that speaks for it.
const NO_BROADER: f64 = 1.1;

/// How far noise draws an outline out, both sides together, in blurs over the mark's strength.
const UNEVEN: f64 = 2.5;

/// A part is shorter than this, um.
const PART: f64 = 25.0;

/// Contrasts of parts agree within this factor.
const ALIKE: f64 = 2.5;

/// Two marks in a row, no line between them, are parts of a scratch beyond a gap as long as this share of both together if
/// each is at least so many times longer than wide, their contrasts and widths agree within these factors, and they lie on
/// a circle to this, rad. By chance hardly one in a thousand pairs of long particles does.
const IN_ROW: InRow = InRow { gap: 0.75, long: 2.5, contrast: 1.6, width: 1.25, bends: 0.1 };

struct InRow {
    gap: f64,
    long: f64,
    contrast: f64,
    width: f64,
    bends: f64,
}

/// The glass on which parts are gathered.
#[derive(Clone, Copy)]
pub struct On {
    /// Middle and radius, pixels.
    pub disc: (f64, f64, f64),
    /// Pixels per micrometre.
    pub px_per_um: f64,
}

impl On {
    /// A mark's outline where the rim does not draw it wide; all of it if most lies at the rim.
    fn off_rim(&self, blob: &Blob) -> Vec<(f64, f64)> {
        let (x, y, radius) = self.disc;
        let clear = |p: &&(f64, f64)| (p.0 - x).hypot(p.1 - y) < radius - 2.0 * blob.blur - self.px_per_um;
        let off: Vec<(f64, f64)> = blob.outline.iter().filter(clear).copied().collect();
        if 2 * off.len() > blob.outline.len() { off } else { blob.outline.clone() }
    }
}

/// Takes the parts of each line out of `found` and the other lines and lengthens the line over them. A long
/// mark that is continued by others is a line too.
pub fn gather(lines: &mut Vec<Line>, found: &mut Vec<Blob>, on: On) {
    extend(lines, found, on, 0);
    let mut k = 0;
    while k < found.len() {
        match as_line(&found[k], on.px_per_um) {
            Some(line) if continued(&line, k, found, on) => {
                found.remove(k);
                lines.push(line);
                extend(lines, found, on, lines.len() - 1);
                k = 0;
            }
            _ => k += 1,
        }
    }
}

/// Whether a mark is so many times longer than wide, and long enough for its length to have a direction.
fn is_long(blob: &Blob, times: f64, px_per_um: f64) -> bool {
    let long = largest_extent(&blob.outline);
    long > times * thickness(blob) && long > 4.5 * px_per_um
}

/// A mark at least twice as long as wide, as a line along its length.
fn as_line(blob: &Blob, px_per_um: f64) -> Option<Line> {
    let long = largest_extent(&blob.outline);
    let width = across(blob.pixels.len() as f64, long);
    if !is_long(blob, 2.0, px_per_um) || long > 40.0 * px_per_um {
        return None;
    }
    let (a, b) = ends(&blob.outline)?;
    let steps = (long / 1.5).ceil().max(2.0) as usize;
    let at = |s: usize| s as f64 / steps as f64;
    let path = (0..=steps).map(|s| (a.0 + at(s) * (b.0 - a.0), a.1 + at(s) * (b.1 - a.1))).collect();
    let true_width = bar(width, blob.blur).max(0.2 * blob.blur);
    Some(Line {
        path,
        width: true_width,
        width_u: (0.4 * blob.blur).hypot(0.12 * width),
        contrast: blob.height,
        seen: blob.height,
        strength: blob.strength,
    })
}

/// Width of a bar with round ends of that area and length.
fn across(area: f64, length: f64) -> f64 {
    let straight = area / length;
    let corners = 1.0 - std::f64::consts::FRAC_PI_4;
    straight * (1.0 + corners * straight / length)
}

/// Whether another long mark lies on the continuation of the one numbered `own`: closely, or in a row with it that two
/// long particles hardly make.
fn continued(line: &Line, own: usize, found: &[Blob], on: On) -> bool {
    let others: Vec<Blob> =
        found.iter().enumerate().filter(|(k, _)| *k != own).map(|(_, b)| b.clone()).collect();
    nearest_blob(line, &others, on, false).is_some_and(|(k, _)| is_long(&others[k], 2.0, on.px_per_um))
        || others.iter().any(|other| in_row(&found[own], other, on.px_per_um))
}

/// Whether two marks are so long, so alike and so well on one circle that one scratch made them.
fn in_row(a: &Blob, b: &Blob, px_per_um: f64) -> bool {
    let is_slim = |blob: &Blob, bar: &Bar| {
        is_long(blob, 2.0, px_per_um)
            && bar.length < PART * px_per_um
            && freed_aspect(blob, bar.way) > IN_ROW.long
    };
    let (Some(from), Some(to)) = (Bar::of(a), Bar::of(b)) else { return false };
    let lengths = from.length + to.length;
    let longest = (IN_ROW.gap * lengths).min(LONG_GAP.0 * px_per_um);
    let way = from.way_towards(to.middle);
    is_slim(a, &from)
        && is_slim(b, &to)
        && alike(a.height, b.height, IN_ROW.contrast)
        && alike(thickness(a), thickness(b), IN_ROW.width)
        && to
            .after(from.middle, way, IN_ROW.bends, px_per_um)
            .is_some_and(|gap| gap - 0.5 * from.length < longest)
}

/// A mark by its ends: the middle between them and the direction from one to the other.
struct Bar {
    middle: (f64, f64),
    way: (f64, f64),
    length: f64,
}

impl Bar {
    fn of(blob: &Blob) -> Option<Bar> {
        let ((ax, ay), (bx, by)) = ends(&blob.outline)?;
        let length = (bx - ax).hypot(by - ay);
        let way = ((bx - ax) / length, (by - ay) / length);
        Some(Bar { middle: (0.5 * (ax + bx), 0.5 * (ay + by)), way, length })
    }

    /// The direction of its length that points more to a place than away.
    fn way_towards(&self, there: (f64, f64)) -> (f64, f64) {
        let (dx, dy) = (there.0 - self.middle.0, there.1 - self.middle.1);
        let sign = if self.way.0 * dx + self.way.1 * dy < 0.0 { -1.0 } else { 1.0 };
        (sign * self.way.0, sign * self.way.1)
    }

    /// How far from a place its nearer end lies, if it lies ahead and continues the way there on a circle to `bends`, rad.
    fn after(&self, from: (f64, f64), way: (f64, f64), bends: f64, px_per_um: f64) -> Option<f64> {
        let to = (self.middle.0 - from.0, self.middle.1 - from.1);
        let (ahead, aside) = (to.0 * way.0 + to.1 * way.1, to.1 * way.0 - to.0 * way.1);
        let along = (self.way.0 * way.0 + self.way.1 * way.1, self.way.1 * way.0 - self.way.0 * way.1);
        let along = if along.0 < 0.0 { (-along.0, -along.1) } else { along };
        let continues = ahead > 0.0 && on_circle(ahead, aside, along.1.atan2(along.0), bends, px_per_um);
        continues.then(|| ahead.hypot(aside) - 0.5 * self.length)
    }
}

fn extend(lines: &mut Vec<Line>, found: &mut Vec<Blob>, on: On, first: usize) {
    let mut i = first;
    while i < lines.len() {
        let (next, end) = (nearest_line(lines, i, on.px_per_um), nearest_blob(&lines[i], found, on, true));
        match (next, end) {
            (Some(j), _) => {
                let other = lines.remove(j);
                i -= usize::from(j < i);
                if distance(lines[i].path[0], &other.path) < distance(last(&lines[i]), &other.path) {
                    lines[i].path.reverse();
                }
                measured_by(&mut lines[i], &other);
                bridge(&mut lines[i], other.path, found, on);
            }
            (None, Some((k, at_start))) => {
                let blob = found.remove(k);
                if at_start {
                    lines[i].path.reverse();
                }
                let tip = tip(&lines[i], &blob);
                bridge(&mut lines[i], vec![tip], found, on);
            }
            (None, None) => i += 1,
        }
    }
}

/// Gives a line the width of its other part where that is known better, or is wider beyond doubt.
fn measured_by(line: &mut Line, other: &Line) {
    let (better, worse) = if other.width_u < line.width_u { (other, &*line) } else { (&*line, other) };
    let wider = worse.width - better.width > 3.0 * better.width_u.hypot(worse.width_u);
    let of = if wider { worse.clone() } else { better.clone() };
    *line = Line { path: std::mem::take(&mut line.path), ..of };
}

/// Lengthens a line over a gap and takes the marks that lie on the gap's way and could be its parts.
fn bridge(line: &mut Line, points: Vec<(f64, f64)>, found: &mut Vec<Blob>, on: On) {
    let before = line.path.len() - 1;
    let gap = before..append(line, points);
    let ((ax, ay), (bx, by)) = (line.path[gap.start], line.path[gap.end]);
    let long = (bx - ax).hypot(by - ay).max(1e-9);
    let way = ((bx - ax) / long, (by - ay) / long);
    let on_way =
        |b: &Blob| distance((b.peak.0 as f64, b.peak.1 as f64), &line.path[gap.clone()]) < on.px_per_um;
    found.retain(|b| {
        !(could_be_part(line, b, on.px_per_um) && is_narrow(line, b, way, NO_BROADER, on) && on_way(b))
    });
}

/// Whether a mark is as strong as a line and no longer than a part, whatever its place.
fn could_be_part(line: &Line, blob: &Blob, px_per_um: f64) -> bool {
    alike(line.seen, blob.height, ALIKE) && largest_extent(&blob.outline) < PART * px_per_um
}

/// Whether a mark shows less than so many times as wide across the way as a line does, or may as far as the line's width is
/// known; noise makes the mark's outline uneven on both sides.
fn is_narrow(line: &Line, blob: &Blob, way: (f64, f64), times: f64, on: On) -> bool {
    let uneven = UNEVEN * blob.blur / blob.strength;
    let width = line.width + 2.0 * line.width_u;
    span(&on.off_rim(blob), (-way.1, way.0)) < times * width.hypot(2.3548 * blob.blur) + uneven
}

fn last(line: &Line) -> (f64, f64) {
    line.path[line.path.len() - 1]
}

fn distance(p: (f64, f64), path: &[(f64, f64)]) -> f64 {
    path.iter().map(|q| (p.0 - q.0).hypot(p.1 - q.1)).fold(f64::MAX, f64::min)
}

/// Adds points to the end of a line, nearest first, with steps between. Returns where the first of them lies in the path.
fn append(line: &mut Line, mut points: Vec<(f64, f64)>) -> usize {
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
    let first = line.path.len();
    line.path.extend(points);
    first
}

fn nearest_line(lines: &[Line], i: usize, px_per_um: f64) -> Option<usize> {
    let line = &lines[i];
    (0..lines.len()).filter(|&j| j != i && alike(line.seen, lines[j].seen, ALIKE)).find(|&j| {
        let other = &lines[j];
        let as_wide = (line.width - other.width).abs() < 3.0 * line.width_u.hypot(other.width_u);
        let far = if as_wide { reach_of(line, px_per_um).max(reach_of(other, px_per_um)) } else { 0.0 };
        [false, true].into_iter().any(|a| {
            let (end, way) = outward(&line.path, a, px_per_um);
            [false, true].into_iter().any(|b| {
                let (start, back) = outward(&other.path, b, px_per_um);
                let (along, across) = ahead(start, end, way);
                let on = (-back.0, -back.1);
                let straight = way.0 * on.0 + way.1 * on.1;
                let turn = (on.1 * way.0 - on.0 * way.1).atan2(straight);
                let aside = (start.1 - end.1) * way.0 - (start.0 - end.0) * way.1;
                straight > 0.97 && on_course(along, across, px_per_um)
                    || along > 0.0
                        && along.hypot(across) < far
                        && on_circle(along, aside, turn, BENDS, px_per_um)
            })
        })
    })
}

/// Beyond how long a gap a part belongs to a line, pixels.
fn reach_of(line: &Line, px_per_um: f64) -> f64 {
    (LONG_GAP.0 * px_per_um).max(LONG_GAP.1 * line.length())
}

/// The nearest blob on the continuation of a line, and whether it lies at the line's start; `far` lets long ones lie
/// beyond a long gap.
fn nearest_blob(line: &Line, found: &[Blob], on: On, far: bool) -> Option<(usize, bool)> {
    let mut best: Option<(f64, usize, bool)> = None;
    for (k, blob) in found.iter().enumerate().filter(|(_, b)| could_be_part(line, b, on.px_per_um)) {
        for at_start in [false, true] {
            let (end, way) = outward(&line.path, at_start, on.px_per_um);
            let (x, y) = (blob.peak.0 as f64, blob.peak.1 as f64);
            let (along, across) = ahead((x, y), end, way);
            let near = aspect_along(blob, way) > ALONG
                && is_narrow(line, blob, way, BROADER, on)
                && on_course(along, across, on.px_per_um);
            let fits = near || far && points_on(line, blob, end, way, on);
            if fits && best.is_none_or(|b| along < b.0) {
                best = Some((along, k, at_start));
            }
        }
    }
    best.map(|(_, k, at_start)| (k, at_start))
}

/// How many times longer a blob is along the way than across it.
fn aspect_along(blob: &Blob, way: (f64, f64)) -> f64 {
    span(&blob.outline, way) / span(&blob.outline, (-way.1, way.0)).max(1e-9)
}

/// The same once the blur is taken off, but for half of it across: what is as narrow as the blur shows no width.
fn freed_aspect(blob: &Blob, way: (f64, f64)) -> f64 {
    let blur = 2.3548 * blob.blur;
    let freed = |way| (span(&blob.outline, way).powi(2) - blur * blur).max(0.0).sqrt();
    freed(way) / freed((-way.1, way.0)).max(0.5 * blur)
}

/// Whether a long mark continues an end's course.
fn points_on(line: &Line, blob: &Blob, end: (f64, f64), way: (f64, f64), on: On) -> bool {
    let Some(bar) = Bar::of(blob) else { return false };
    freed_aspect(blob, bar.way) > POINTS
        && is_narrow(line, blob, bar.way, NO_BROADER, on)
        && bar.after(end, way, BENDS, on.px_per_um).is_some_and(|gap| gap < reach_of(line, on.px_per_um))
}

/// The far end of a blob as seen from a line's end: on the way through its middle, for a corner would turn the line's
/// course.
fn tip(line: &Line, blob: &Blob) -> (f64, f64) {
    let end = last(line);
    let ((x, y), _) = axis(&blob.outline).unwrap_or((end, 0.0));
    let far = (x - end.0).hypot(y - end.1).max(1e-9);
    let way = ((x - end.0) / far, (y - end.1) / far);
    let along = blob.outline.iter().map(|p| (p.0 - end.0) * way.0 + (p.1 - end.1) * way.1);
    let most = along.fold(0.0, f64::max);
    (end.0 + most * way.0, end.1 + most * way.1)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A straight dark line along x from 0 to `to`, 2 px wide, blur 1 px.
    fn line(to: f64) -> Line {
        let path = (0..).map(|k| (1.5 * f64::from(k), 0.0)).take_while(|p| p.0 <= to).collect();
        Line { path, width: 2.0, width_u: 0.1, contrast: -0.2, seen: -0.16, strength: 20.0 }
    }

    /// A dark ellipse of that length and width about `at`, its length turned by `turn` from the x axis.
    fn mark(at: (f64, f64), length: f64, width: f64, turn: f64) -> Blob {
        let turned =
            |a: f64, b: f64| (at.0 + a * turn.cos() - b * turn.sin(), at.1 + a * turn.sin() + b * turn.cos());
        let outline: Vec<(f64, f64)> = (0..48)
            .map(|k| f64::from(k) * std::f64::consts::TAU / 48.0)
            .map(|t| turned(0.5 * length * t.cos(), 0.5 * width * t.sin()))
            .collect();
        let area = (std::f64::consts::PI * length * width / 4.0).round() as usize;
        Blob {
            peak: (at.0.round() as usize, at.1.round() as usize),
            height: -0.15,
            base: 0.0,
            strength: 12.0,
            blur: 1.0,
            pixels: vec![(0, 0); area],
            outline,
            dip: 0.0,
            across: false,
            rim: None,
        }
    }

    fn gathered(lines: Vec<Line>, found: Vec<Blob>) -> (Vec<Line>, Vec<Blob>) {
        let (mut lines, mut found) = (lines, found);
        gather(&mut lines, &mut found, On { disc: (0.0, 0.0, 125.0), px_per_um: 1.0 });
        (lines, found)
    }

    /// On a circle that leaves the line's end along x a mark 20 px ahead and 3 px aside is turned by 0.3 rad.
    #[test]
    fn a_part_far_off_belongs_to_a_line_if_it_points_along_it() {
        let bent = (40.0 + 20.0, 3.0);
        let (lines, found) = gathered(vec![line(40.0)], vec![mark(bent, 8.0, 3.0, 0.3)]);
        assert_eq!((lines.len(), found.len()), (1, 0));
        assert!(last(&lines[0]).0 > 63.0);
        for (what, other) in [
            ("it is round", mark(bent, 4.0, 3.5, 0.3)),
            ("it lies across", mark(bent, 8.0, 3.0, 1.5)),
            ("it lies beside", mark((60.0, 12.0), 8.0, 3.0, 0.3)),
            ("it is too far", mark((80.0, 3.0), 8.0, 3.0, 0.15)),
            ("it is broad", mark(bent, 18.0, 7.0, 0.3)),
            ("it is somewhat broader", mark(bent, 12.0, 3.8, 0.3)),
            ("it is bright", Blob { height: 0.15, ..mark(bent, 8.0, 3.0, 0.3) }),
            ("it is much darker", Blob { height: -0.6, ..mark(bent, 8.0, 3.0, 0.3) }),
        ] {
            let (_, found) = gathered(vec![line(40.0)], vec![other]);
            assert_eq!(found.len(), 1, "{what}");
        }
    }

    /// Light and glass behind the rim draw a part wide there, as dirt there would be.
    #[test]
    fn a_part_that_runs_into_the_rim_is_as_wide_as_it_is_off_it() {
        let at_rim = |flares: bool| {
            let mut part = mark((116.0, 0.0), 16.0, 3.0, 0.0);
            for p in part.outline.iter_mut().filter(|p| flares == (p.0 > 122.0)) {
                p.1 *= 2.0;
            }
            let (lines, _) = gathered(vec![line(90.0)], vec![part]);
            last(&lines[0]).0 > 120.0
        };
        assert_eq!([at_rim(true), at_rim(false)], [true, false]);
    }

    /// Two lines on one circle are one scratch across a gap as long as the longer of them vouches for.
    #[test]
    fn lines_far_apart_on_one_circle_are_one() {
        let (radius, long) = (200.0, 24.0);
        let on_circle = |from: f64, off: f64, length: f64| {
            let steps = (length / 1.5) as usize;
            let at = |k: usize| (from + 1.5 * k as f64) / radius;
            let point = |k: usize| ((radius + off) * at(k).sin(), radius - (radius + off) * at(k).cos());
            Line { path: (0..=steps).map(point).collect(), ..line(3.0) }
        };
        let first = || on_circle(0.0, 0.0, long);
        for (what, other, joined) in [
            ("26 apart", on_circle(50.0, 0.0, long), true),
            ("45 apart", on_circle(69.0, 0.0, long), false),
            ("45 apart, but long", on_circle(69.0, 0.0, 90.0), true),
            ("beside", on_circle(50.0, 14.0, long), false),
            ("wider", Line { width: 3.0, ..on_circle(50.0, 0.0, long) }, false),
            ("much darker", Line { seen: -0.5, ..on_circle(50.0, 0.0, long) }, false),
        ] {
            let (lines, _) = gathered(vec![first(), other], Vec::new());
            assert_eq!(lines.len() == 1, joined, "{what}");
        }
    }

    /// A faint scratch's width is not known well, and its parts are as uneven as they are weak.
    #[test]
    fn what_may_be_as_narrow_as_a_line_is_a_part_of_it() {
        let part = |strength| Blob { strength, ..mark((62.0, 0.0), 12.0, 3.9, 0.0) };
        let of = |width_u| Line { width_u, ..line(40.0) };
        for (line, part, joined) in
            [(of(0.1), part(30.0), false), (of(0.6), part(30.0), true), (of(0.1), part(5.0), true)]
        {
            assert_eq!(gathered(vec![line], vec![part]).0[0].path.len() > 40, joined);
        }
    }

    /// What two marks close in a row have shown to be a scratch goes on beyond a long gap.
    #[test]
    fn a_scratch_of_marks_vouches_for_parts_far_off() {
        let part = |x: f64, length: f64| mark((x, 20.0), length, 2.4, 0.0);
        let (lines, found) = gathered(Vec::new(), vec![part(20.0, 9.0), part(31.0, 7.0), part(60.0, 9.0)]);
        assert_eq!((lines.len(), found.len()), (1, 0));
    }

    /// The farthest corner of a rectangle lies half its width off its axis.
    #[test]
    fn a_part_ends_on_its_axis() {
        let turn = 0.4f64;
        let at =
            |a: f64, b: f64| (70.0 + a * turn.cos() - b * turn.sin(), 10.0 + a * turn.sin() + b * turn.cos());
        let outline = vec![at(0.0, -1.5), at(8.0, -1.5), at(8.0, 1.5), at(0.0, 1.5)];
        let (a, b) = ends(&outline).unwrap();
        let (near, far) = if a.0 < b.0 { (a, b) } else { (b, a) };
        for (found, due) in [(near, at(0.0, 0.0)), (far, at(8.0, 0.0))] {
            assert!((found.0 - due.0).hypot(found.1 - due.1) < 1e-9, "{found:?} {due:?}");
        }
        let path = vec![at(-20.0, 0.0), at(-1.0, 0.0)];
        let tip = tip(&Line { path, ..line(3.0) }, &Blob { outline, ..mark((0.0, 0.0), 1.0, 1.0, 0.0) });
        assert!((tip.0 - far.0).hypot(tip.1 - far.1) < 1e-9, "{tip:?}");
    }

    /// What lies on the way to a part that was joined is a part, too, however short.
    #[test]
    fn what_lies_on_a_gap_that_was_bridged_belongs_to_the_line() {
        let round = |x: f64, y: f64| mark((x, y), 3.0, 2.9, 0.0);
        let (lines, found) = gathered(
            vec![line(40.0)],
            vec![round(52.0, 0.0), mark((62.0, 0.0), 8.0, 3.0, 0.0), round(52.0, 6.0)],
        );
        assert_eq!((lines.len(), found.len()), (1, 1));
        assert!(found[0].peak.1 == 6, "the one beside the way stays");
    }

    /// The width of a scratch is that of its best measured part, or of one that is wider beyond doubt.
    #[test]
    fn a_line_of_parts_is_as_wide_as_its_best_measured_part() {
        let moved = |l: Line| Line { path: l.path.iter().map(|p| (p.0 + 46.0, p.1)).collect(), ..l };
        let width = |other: Line| {
            let (lines, _) = gathered(vec![line(40.0), moved(other)], Vec::new());
            assert_eq!(lines.len(), 1);
            lines[0].width
        };
        assert_eq!(width(Line { width: 2.8, width_u: 0.5, ..line(20.0) }), 2.0);
        assert_eq!(width(Line { width: 1.9, width_u: 0.05, ..line(20.0) }), 1.9);
        assert_eq!(width(Line { width: 4.0, width_u: 0.5, ..line(20.0) }), 4.0);
    }

    /// A disc on the gap that shows broader than the line is dirt.
    #[test]
    fn what_is_broader_than_a_line_stays_on_its_gap() {
        let far = mark((62.0, 0.0), 8.0, 3.0, 0.0);
        let (lines, found) = gathered(vec![line(40.0)], vec![mark((52.0, 0.0), 4.2, 4.1, 0.0), far]);
        assert_eq!((lines.len(), found.len()), (1, 1));
        assert_eq!(found[0].peak.0, 52);
    }

    /// Marks so long, alike and well in a row are a scratch, be the gap nearly as long as both.
    #[test]
    fn long_slim_marks_in_a_row_are_a_scratch() {
        let part = |x: f64, y: f64, turn: f64| mark((x, y), 14.0, 3.2, turn);
        let first = || part(20.0, 20.0, 0.0);
        for (what, other, joined) in [
            ("on one circle", part(46.0, 21.5, 0.12), true),
            ("it lies beside", part(46.0, 26.0, 0.12), false),
            ("it points elsewhere", part(46.0, 21.5, -0.3), false),
            ("it is too far", part(64.0, 20.0, 0.0), false),
            ("it is short", mark((43.0, 20.0), 5.5, 3.2, 0.0), false),
            ("it is wider", mark((46.0, 21.5), 22.0, 4.3, 0.12), false),
            ("it is much darker", Blob { height: -0.3, ..part(46.0, 21.5, 0.12) }, false),
        ] {
            let (lines, _) = gathered(Vec::new(), vec![first(), other]);
            assert_eq!(lines.len() == 1, joined, "{what}");
        }
        let broad = |x: f64, turn: f64| mark((x, 20.0), 17.0, 8.0, turn);
        let (lines, _) = gathered(Vec::new(), vec![broad(20.0, 0.0), broad(50.0, 0.02)]);
        assert!(lines.is_empty(), "they are broad");
    }

    /// A bar with round ends, 14 long and 3 wide.
    #[test]
    fn a_bar_is_as_wide_as_its_area_and_length_say() {
        let area = 11.0 * 3.0 + std::f64::consts::PI * 9.0 / 4.0;
        assert!((across(area, 14.0) - 3.0).abs() < 0.03);
    }

    /// Two long marks that follow one another closely are one scratch; two that lie in a row far apart may be two
    /// particles, as one alone is.
    #[test]
    fn long_marks_close_in_a_row_are_a_scratch_and_far_ones_are_not() {
        let row = |x: f64| vec![mark((20.0, 20.0), 9.0, 2.4, 0.0), mark((x, 20.0), 6.0, 2.6, 0.05)];
        for (found, expected) in
            [(row(31.0), (1, 0)), (row(42.0), (0, 2)), (vec![mark((20.0, 20.0), 9.0, 2.4, 0.0)], (0, 1))]
        {
            let (lines, found) = gathered(Vec::new(), found);
            assert_eq!((lines.len(), found.len()), expected);
        }
    }
}
