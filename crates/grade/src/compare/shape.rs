//! Shapes of features as matching needs them: the line of a scratch, what an outline covers, how drawn out it
//! is. Fibre frame, um.

use terms::geometry::{point_in_polygon, point_segment_distance, polygon_area};
use terms::{Feature, FibreFrame, Kind, Point};

/// Length over thickness from which a mark is a line.
const DRAWN_OUT: f64 = 3.5;

/// The line of a scratch, from end to end: midway between the two sides of its outline, which runs along one
/// side and back along the other. Its centre alone if it has no outline.
pub fn line(feature: &Feature) -> Vec<Point<FibreFrame>> {
    let outline = &feature.outline;
    let half = outline.len() / 2;
    if half < 2 {
        return vec![feature.centre];
    }
    let middle = |i: usize| {
        let (a, b) = (outline[i], outline[outline.len() - 1 - i]);
        Point::new(0.5 * (a.x + b.x), 0.5 * (a.y + b.y))
    };
    (0..half).map(middle).collect()
}

/// Points along a line, evenly spread, about a micrometre apart and at most 64.
pub fn samples(line: &[Point<FibreFrame>]) -> Vec<Point<FibreFrame>> {
    let lengths: Vec<f64> = line.windows(2).map(|w| w[0].distance(w[1])).collect();
    let total: f64 = lengths.iter().sum();
    let count = (total.ceil() as usize).clamp(2, 64);
    if total <= 0.0 {
        return line.first().copied().into_iter().collect();
    }
    let mut points = Vec::with_capacity(count);
    let (mut segment, mut before) = (0, 0.0);
    for k in 0..count {
        let at = total * (k as f64 + 0.5) / count as f64;
        while segment + 1 < lengths.len() && before + lengths[segment] < at {
            before += lengths[segment];
            segment += 1;
        }
        let t = ((at - before) / lengths[segment].max(1e-12)).clamp(0.0, 1.0);
        let (a, b) = (line[segment], line[segment + 1]);
        points.push(Point::new(a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)));
    }
    points
}

/// Distance of a point from a line.
pub fn distance(point: Point<FibreFrame>, line: &[Point<FibreFrame>]) -> f64 {
    match line {
        [only] => point.distance(*only),
        _ => line.windows(2).map(|w| point_segment_distance(point, w[0], w[1])).fold(f64::INFINITY, f64::min),
    }
}

/// Share of the points that lie within `reach` of a line.
pub fn share_along(points: &[Point<FibreFrame>], line: &[Point<FibreFrame>], reach: f64) -> f64 {
    let near = points.iter().filter(|p| distance(**p, line) <= reach).count();
    near as f64 / points.len().max(1) as f64
}

/// What the outline encloses, um2.
pub fn area(feature: &Feature) -> f64 {
    polygon_area(&feature.outline).abs()
}

/// Mean thickness: that of an ellipse of the outline's area and length.
pub fn thickness(feature: &Feature) -> f64 {
    if feature.kind == Kind::Scratch {
        return feature.size.0;
    }
    let area = area(feature);
    let length = feature.length.0.max(1e-9);
    match area > 0.0 {
        true => 4.0 * area / (std::f64::consts::PI * length),
        false => feature.size.0,
    }
}

/// Whether a mark is a line, whatever it was called.
pub fn is_line(feature: &Feature) -> bool {
    feature.kind == Kind::Scratch || feature.length.0 > DRAWN_OUT * thickness(feature)
}

/// Points spread over a mark: along a scratch, else its corners and its centre.
pub fn points_of(feature: &Feature) -> Vec<Point<FibreFrame>> {
    if feature.kind == Kind::Scratch {
        return samples(&line(feature));
    }
    let step = (feature.outline.len() / 32).max(1);
    let corners = feature.outline.iter().step_by(step).copied();
    std::iter::once(feature.centre).chain(corners).collect()
}

/// Whether a point lies on a mark or within `reach` of it.
pub fn covers(feature: &Feature, point: Point<FibreFrame>, reach: f64) -> bool {
    if feature.kind == Kind::Scratch {
        return distance(point, &line(feature)) <= 0.5 * feature.size.0 + reach;
    }
    if feature.outline.len() < 3 {
        return point.distance(feature.centre) <= 0.5 * feature.size.0 + reach;
    }
    let mut closed = feature.outline.clone();
    closed.push(feature.outline[0]);
    point_in_polygon(point, &feature.outline) || distance(point, &closed) <= reach
}

/// Share of a mark that lies on another one or within `reach` of it.
pub fn share_covered(mark: &Feature, by: &Feature, reach: f64) -> f64 {
    let points = points_of(mark);
    points.iter().filter(|p| covers(by, **p, reach)).count() as f64 / points.len() as f64
}
