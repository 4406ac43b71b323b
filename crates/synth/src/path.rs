//! Lines that marks follow: polylines in micrometres with their length, bends, and the part inside a circle.

use crate::shape::{Spot, distance};
use terms::geometry::point_segment_distance;

/// An open line of at least one segment.
#[derive(Clone, Debug, PartialEq)]
pub struct Path {
    points: Vec<Spot>,
}

impl Path {
    /// A line through the points; none with fewer than two, or of no length.
    pub fn new(points: Vec<Spot>) -> Option<Path> {
        let path = Path { points };
        (path.points.len() >= 2 && path.length() > 0.0).then_some(path)
    }

    /// A smooth line through the points: a Catmull-Rom curve (Catmull and Rom, 1974, "A class of local
    /// interpolating splines") cut into pieces of about `step` um.
    pub fn smooth(points: &[Spot], step: f64) -> Option<Path> {
        let rough = Path::new(points.to_vec())?;
        let at = |i: isize| points[i.clamp(0, points.len() as isize - 1) as usize];
        let mut out = vec![points[0]];
        for i in 0..points.len() - 1 {
            let k = i as isize;
            let knots = [at(k - 1), at(k), at(k + 1), at(k + 2)];
            let pieces = (distance(knots[1], knots[2]) / step).ceil().max(1.0) as usize;
            out.extend((1..=pieces).map(|p| catmull_rom(&knots, p as f64 / pieces as f64)));
        }
        Path::new(out).or(Some(rough))
    }

    /// A line from `from` to `to` that bends sideways by `bend` um in its middle, in pieces of about 2 um.
    pub fn bent(from: Spot, to: Spot, bend: f64) -> Option<Path> {
        let length = distance(from, to);
        let pieces = (length / 2.0).ceil().max(1.0) as usize;
        let (dx, dy) = ((to.0 - from.0) / length, (to.1 - from.1) / length);
        Path::new(
            (0..=pieces)
                .map(|i| {
                    let t = i as f64 / pieces as f64;
                    let side = bend * 4.0 * t * (1.0 - t);
                    (from.0 + dx * t * length - dy * side, from.1 + dy * t * length + dx * side)
                })
                .collect(),
        )
    }

    /// Its points in order.
    pub fn points(&self) -> &[Spot] {
        &self.points
    }

    /// Its segments in order.
    pub fn segments(&self) -> impl Iterator<Item = (Spot, Spot)> + '_ {
        self.points.windows(2).map(|w| (w[0], w[1]))
    }

    /// Its length, um.
    pub fn length(&self) -> f64 {
        self.segments().map(|(a, b)| distance(a, b)).sum()
    }

    /// The place at a length along it.
    pub fn at(&self, mut along: f64) -> Spot {
        for (a, b) in self.segments() {
            let d = distance(a, b);
            if along <= d && d > 0.0 {
                return lerp(a, b, along / d);
            }
            along -= d;
        }
        self.points[self.points.len() - 1]
    }

    /// The line with every point mapped.
    pub(crate) fn mapped(&self, f: impl Fn(Spot) -> Spot) -> Path {
        Path { points: self.points.iter().map(|&p| f(p)).collect() }
    }

    /// Smallest and largest distance from a place.
    pub(crate) fn reach(&self, from: Spot) -> (f64, f64) {
        let inner =
            self.segments().map(|(a, b)| point_segment_distance(from, a, b)).fold(f64::INFINITY, f64::min);
        (inner, self.points.iter().map(|p| distance(*p, from)).fold(0.0, f64::max))
    }

    /// The parts of it inside a circle, longest first.
    pub(crate) fn inside(&self, centre: Spot, radius: f64) -> Vec<Path> {
        let mut parts: Vec<Vec<Spot>> = Vec::new();
        let mut open = false;
        for (a, b) in self.segments() {
            let Some((t0, t1)) = chord(a, b, centre, radius) else {
                open = false;
                continue;
            };
            let (p, q) = (lerp(a, b, t0), lerp(a, b, t1));
            match parts.last_mut() {
                Some(part) if open && t0 == 0.0 => part.push(q),
                _ => parts.push(vec![p, q]),
            }
            open = t1 == 1.0;
        }
        let mut parts: Vec<Path> = parts.into_iter().filter_map(Path::new).collect();
        parts.sort_by(|a, b| b.length().total_cmp(&a.length()));
        parts
    }
}

fn lerp(a: Spot, b: Spot, t: f64) -> Spot {
    (a.0 + (b.0 - a.0) * t, a.1 + (b.1 - a.1) * t)
}

fn catmull_rom(k: &[Spot; 4], t: f64) -> Spot {
    let one = |a: f64, b: f64, c: f64, d: f64| {
        0.5 * (2.0 * b
            + (c - a) * t
            + (2.0 * a - 5.0 * b + 4.0 * c - d) * t * t
            + (3.0 * b - a - 3.0 * c + d) * t * t * t)
    };
    (one(k[0].0, k[1].0, k[2].0, k[3].0), one(k[0].1, k[1].1, k[2].1, k[3].1))
}

/// The part of a segment inside a circle, as shares of its length.
fn chord(a: Spot, b: Spot, centre: Spot, radius: f64) -> Option<(f64, f64)> {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let (ex, ey) = (a.0 - centre.0, a.1 - centre.1);
    let (aa, bb, cc) = (dx * dx + dy * dy, ex * dx + ey * dy, ex * ex + ey * ey - radius * radius);
    let root = bb * bb - aa * cc;
    if aa == 0.0 || root <= 0.0 {
        return None;
    }
    let (t0, t1) = ((-bb - root.sqrt()) / aa, (-bb + root.sqrt()) / aa);
    (t1 > 0.0 && t0 < 1.0).then(|| (t0.max(0.0), t1.min(1.0)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_chord_through_the_middle_is_the_diameter() {
        let path = Path::bent((-100.0, 3.0), (100.0, 3.0), 0.0).unwrap();
        let parts = path.inside((0.0, 0.0), 5.0);
        assert_eq!(parts.len(), 1);
        assert!((parts[0].length() - 8.0).abs() < 1e-9);
        assert!((parts[0].at(4.0).0).abs() < 1e-9);
    }

    #[test]
    fn a_line_can_cross_a_circle_twice() {
        let path =
            Path::new(vec![(-20.0, 20.0), (-5.0, 0.0), (0.0, 30.0), (5.0, 0.0), (20.0, 20.0)]).unwrap();
        assert_eq!(path.inside((0.0, 0.0), 8.0).len(), 2);
        assert_eq!(path.inside((0.0, -40.0), 8.0).len(), 0);
    }

    #[test]
    fn a_smooth_line_passes_through_its_points() {
        let knots = [(0.0, 0.0), (10.0, 5.0), (20.0, 0.0), (30.0, -8.0)];
        let path = Path::smooth(&knots, 1.0).unwrap();
        for k in knots {
            assert!(path.reach(k).0 < 1e-9);
        }
        assert!(path.points().len() > 30);
    }
}
