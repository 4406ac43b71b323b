//! Outlines of marks in micrometres: discs, rounded and angular lumps, made so that their smallest enclosing
//! circle is exactly what was asked for; and measures of an outline about a fibre's centre.

use crate::random::Stream;
use std::f64::consts::TAU;
use terms::geometry::{enclosing_circle, point_in_polygon, point_segment_distance};

/// A place in micrometres, in a frame that the holder states.
pub type Spot = (f64, f64);

/// How the outline of a lump looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// A true circle.
    Disc,
    /// Smooth and irregular.
    Rounded,
    /// A few straight sides.
    Angular,
}

/// A closed outline; the last point joins the first.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline(pub Vec<Spot>);

impl Outline {
    /// An outline of the given form whose smallest enclosing circle has its centre at `at` and the diameter `size`.
    pub(crate) fn lump(form: Form, at: Spot, size: f64, chance: &mut Stream) -> Outline {
        let raw = match form {
            Form::Disc => return Outline::disc(at, size),
            Form::Rounded => rounded(chance, 1.0),
            Form::Angular => angular(chance),
        };
        Outline(raw).fitted(at, size)
    }

    /// A circle, as a polygon of 180 sides with its corners on it.
    pub(crate) fn disc(at: Spot, diameter: f64) -> Outline {
        Outline((0..180).map(|i| on_circle(at, 0.5 * diameter, TAU * f64::from(i) / 180.0)).collect())
    }

    /// The outline moved and scaled so that its smallest enclosing circle is the one stated.
    pub(crate) fn fitted(self, at: Spot, size: f64) -> Outline {
        let Some(circle) = enclosing_circle(&self.0) else { return self };
        let scale = 0.5 * size / circle.r;
        self.mapped(|(x, y)| (at.0 + (x - circle.x) * scale, at.1 + (y - circle.y) * scale))
    }

    /// The outline with every point mapped.
    pub(crate) fn mapped(&self, f: impl Fn(Spot) -> Spot) -> Outline {
        Outline(self.0.iter().map(|&p| f(p)).collect())
    }

    /// The outline shrunk by the factor about its centre of area.
    pub(crate) fn shrunk(&self, factor: f64) -> Outline {
        let (cx, cy) = self.centroid();
        self.mapped(|(x, y)| (cx + (x - cx) * factor, cy + (y - cy) * factor))
    }

    /// Centre of area (shoelace formula).
    pub fn centroid(&self) -> Spot {
        let (mut area, mut mx, mut my) = (0.0, 0.0, 0.0);
        let origin = self.0.first().copied().unwrap_or_default();
        for (a, b) in self.sides() {
            let (ax, ay, bx, by) = (a.0 - origin.0, a.1 - origin.1, b.0 - origin.0, b.1 - origin.1);
            let cross = ax * by - bx * ay;
            area += cross;
            mx += (ax + bx) * cross;
            my += (ay + by) * cross;
        }
        if area == 0.0 {
            return origin;
        }
        (origin.0 + mx / (3.0 * area), origin.1 + my / (3.0 * area))
    }

    /// Area, um^2.
    pub fn area(&self) -> f64 {
        terms::geometry::polygon_area(&self.0).abs()
    }

    fn sides(&self) -> impl Iterator<Item = (Spot, Spot)> + '_ {
        self.0.iter().copied().zip(self.0.iter().copied().cycle().skip(1))
    }

    /// Smallest and largest distance of the covered area from a place; the smallest is 0 if it is covered.
    pub(crate) fn reach(&self, from: Spot) -> (f64, f64) {
        let outer = self.0.iter().map(|p| distance(*p, from)).fold(0.0, f64::max);
        if point_in_polygon(from, &self.0) {
            return (0.0, outer);
        }
        let inner =
            self.sides().map(|(a, b)| point_segment_distance(from, a, b)).fold(f64::INFINITY, f64::min);
        (inner, outer)
    }
}

/// Distance between two places.
pub(crate) fn distance(a: Spot, b: Spot) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

/// The place at an angle (radians, from x towards y) on a circle.
pub(crate) fn on_circle(centre: Spot, radius: f64, angle: f64) -> Spot {
    (centre.0 + radius * angle.cos(), centre.1 + radius * angle.sin())
}

/// `count` places spread evenly over a disc: equal areas, golden angle (Vogel, 1979, "A better way to construct
/// the sunflower head").
pub(crate) fn spread_in_disc(centre: Spot, radius: f64, count: u32) -> impl Iterator<Item = Spot> {
    (0..count).map(move |k| {
        let r = radius * ((f64::from(k) + 0.5) / f64::from(count)).sqrt();
        on_circle(centre, r, 2.399_963_229_728_653 * f64::from(k))
    })
}

/// A smooth irregular closed line about (0, 0) of mean radius 1: a circle with a few waves along it, flattened
/// in one direction. `roughness` 1 is a usual lump, 0 an ellipse.
pub(crate) fn rounded(chance: &mut Stream, roughness: f64) -> Vec<Spot> {
    let waves: Vec<(f64, f64, f64)> = (2..8)
        .map(|k| {
            let k = f64::from(k);
            (k, roughness * 0.28 * chance.normal().clamp(-1.6, 1.6) / k.powf(1.3), chance.between(0.0, TAU))
        })
        .collect();
    let (flat, turn) = (chance.between(0.68, 1.0), chance.between(0.0, TAU));
    let (sin, cos) = turn.sin_cos();
    (0..96)
        .map(|i| {
            let angle = TAU * f64::from(i) / 96.0;
            let r: f64 = 1.0 + waves.iter().map(|(k, a, p)| a * (k * angle + p).cos()).sum::<f64>();
            let (x, y) = (r.max(0.2) * angle.cos(), r.max(0.2) * angle.sin() * flat);
            (x * cos - y * sin, x * sin + y * cos)
        })
        .collect()
}

/// A closed line of four to eight straight sides about (0, 0), now and then with a notch.
fn angular(chance: &mut Stream) -> Vec<Spot> {
    let corners = 4 + chance.below(5);
    let (flat, turn) = (chance.between(0.5, 1.0), chance.between(0.0, TAU));
    let (sin, cos) = turn.sin_cos();
    (0..corners)
        .map(|i| {
            let angle = TAU * (i as f64 + chance.between(-0.42, 0.42)) / corners as f64;
            let (x, y) = on_circle((0.0, 0.0), chance.between(0.5, 1.0), angle);
            let y = y * flat;
            (x * cos - y * sin, x * sin + y * cos)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::Topic;

    /// By the definition: every corner within half the size of the centre, and no half plane through the
    /// centre free of corners that touch the circle.
    #[test]
    fn a_lump_has_exactly_the_enclosing_circle_asked_for() {
        for seed in 0..60 {
            let form = if seed % 2 == 0 { Form::Rounded } else { Form::Angular };
            let outline = Outline::lump(form, (3.0, -7.0), 4.0, &mut Stream::new(seed, Topic::Shape, 0, 0));
            let far = outline.0.iter().map(|p| distance(*p, (3.0, -7.0))).fold(0.0, f64::max);
            assert!((far - 2.0).abs() < 1e-9, "seed {seed}: {far}");
            let mut touching: Vec<f64> = outline
                .0
                .iter()
                .filter(|p| distance(**p, (3.0, -7.0)) > 2.0 - 1e-6)
                .map(|p| (p.1 + 7.0).atan2(p.0 - 3.0))
                .collect();
            touching.sort_by(f64::total_cmp);
            let wrap = touching[0] + TAU - touching[touching.len() - 1];
            let gap = touching.windows(2).map(|w| w[1] - w[0]).fold(wrap, f64::max);
            assert!(gap < std::f64::consts::PI + 1e-3, "seed {seed}: a gap of {gap}");
        }
    }

    #[test]
    fn a_triangle_has_its_textbook_area_and_centre() {
        let t = Outline(vec![(0.0, 0.0), (6.0, 0.0), (0.0, 3.0)]);
        assert_eq!(t.area(), 9.0);
        let (x, y) = t.centroid();
        assert!((x - 2.0).abs() < 1e-12 && (y - 1.0).abs() < 1e-12);
        assert_eq!(t.reach((-3.0, 0.0)), (3.0, 9.0));
        assert_eq!(t.reach((1.0, 1.0)).0, 0.0);
    }
}
