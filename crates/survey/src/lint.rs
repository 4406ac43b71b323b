//! Lint: a fibre of cloth is dark, wide and bent, and is found in parts, some as lines and some as long particles. What
//! is bent more than a tool can scratch is lint; so is what continues it. Such parts are one particle.

use crate::marks::Mark;
use crate::touching::{about, apart};
use terms::Kind;
use terms::geometry::polygon_area;

/// Lint hides the light beneath it: it is darker than this. Common practice, no source.
const DARK: f64 = -0.22;

/// Thinner lines, um, are taken for scratches: thread of cloth is 5 um thick or more, optics leave it 2 um wider or
/// thinner.
pub const THICK: f64 = 2.5;

/// A line that bows so far from its chord, share of its length, was not scratched: a tool runs straight or in a wide
/// arc. Common practice, no source.
const BOW: f64 = 0.15;

/// Nor was one that bows less and is as wide, um, and as dark as scratches hardly are, or darker still.
const WIDE: (f64, f64, f64) = (0.04, 4.5, -0.3);
const DARKER: f64 = -0.4;

/// Particles that are at least so many times longer than wide, and so long, um, may be parts of lint.
const SLENDER: (f64, f64) = (4.0, 25.0);

/// Parts are so near to one another, um, and alike within this factor.
const GAP: f64 = 5.0;
const ALIKE: f64 = 2.0;

/// The marks with those that are one piece of lint as one; lengths in pixels.
pub fn gathered(marks: Vec<Mark>, px_per_um: f64) -> Vec<Mark> {
    let (mut parts, mut others): (Vec<Mark>, Vec<Mark>) =
        marks.into_iter().partition(|m| may_be_part(m, px_per_um));
    while let Some(seed) = parts.iter().position(|m| is_bent(m, px_per_um) || is_slender(m, px_per_um)) {
        let mut piece = vec![parts.remove(seed)];
        while let Some(k) = parts.iter().position(|m| piece.iter().any(|p| joins(p, m, px_per_um))) {
            piece.push(parts.remove(k));
        }
        // It is joined and not dropped: a mark that was seen counts with what it lies on.
        let (clinging, rest): (Vec<Mark>, Vec<Mark>) =
            others.into_iter().partition(|m| piece.iter().any(|p| clings(m, p, px_per_um)));
        others = rest;
        others.extend(whole(piece, &clinging));
    }
    others.extend(parts);
    others
}

fn may_be_part(mark: &Mark, px_per_um: f64) -> bool {
    mark.contrast < DARK
        && match mark.kind {
            Kind::Scratch => mark.size > THICK * px_per_um,
            Kind::Particle | Kind::Film => is_slender(mark, px_per_um),
            Kind::Chip | Kind::Pit => false,
        }
}

/// Mean width of the mark's outline.
fn width(mark: &Mark) -> f64 {
    polygon_area(&mark.outline).abs() / mark.length.max(1.0)
}

fn is_slender(mark: &Mark, px_per_um: f64) -> bool {
    mark.kind != Kind::Scratch
        && mark.length > SLENDER.1 * px_per_um
        && mark.length > SLENDER.0 * width(mark)
        && mark.contrast < DARK
}

/// Whether a line bows from its chord. Its outline runs along one side and back along the other.
fn is_bent(mark: &Mark, px_per_um: f64) -> bool {
    if mark.kind != Kind::Scratch {
        return false;
    }
    let side = &mark.outline[..mark.outline.len() / 2];
    let (Some(a), Some(b)) = (side.first(), side.last()) else { return false };
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let chord = dx.hypot(dy).max(1e-9);
    let bow = |p: &(f64, f64)| ((p.0 - a.0) * dy - (p.1 - a.1) * dx) / chord;
    let most = side.iter().map(bow).fold(f64::MIN, f64::max);
    let least = side.iter().map(bow).fold(f64::MAX, f64::min);
    let wide = mark.size > WIDE.1 * px_per_um && mark.contrast < WIDE.2;
    let unlike = wide || mark.contrast < DARKER;
    most - least > if unlike { WIDE.0 } else { BOW } * mark.length
}

/// Whether two parts are alike and touch.
fn joins(a: &Mark, b: &Mark, px_per_um: f64) -> bool {
    a.contrast < b.contrast / ALIKE && b.contrast < a.contrast / ALIKE && apart(a, b) < GAP * px_per_um
}

/// Whether a weaker mark is what the search left beside a part.
fn clings(mark: &Mark, part: &Mark, px_per_um: f64) -> bool {
    let reach = GAP * px_per_um;
    let distance = |p: &(f64, f64), q: &(f64, f64)| (p.0 - q.0).hypot(p.1 - q.1);
    let near = |p: &(f64, f64)| part.outline.iter().any(|q| distance(p, q) < reach);
    mark.kind != Kind::Chip
        && mark.contrast.abs() < 0.6 * part.contrast.abs()
        && mark.length < part.length
        && mark.outline.iter().all(near)
}

/// One particle as dark as its darkest part.
fn whole(parts: Vec<Mark>, clinging: &[Mark]) -> Option<Mark> {
    let points = parts.iter().chain(clinging).flat_map(|m| &m.outline).copied().collect();
    let most = |of: fn(&Mark) -> f64| parts.iter().map(of).fold(0.0, f64::max);
    let (u, strength, contrast) = (most(|m| m.u), most(|m| m.strength), -most(|m| -m.contrast));
    let seed = parts.into_iter().next()?;
    Some(Mark { kind: Kind::Particle, u, contrast, strength, ..about(points, seed) })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A band of that width, um at 1 pixel per um, along an arc that bows so far over its length.
    fn band(kind: Kind, from: (f64, f64), length: f64, bow: f64, width: f64, contrast: f64) -> Mark {
        let path = |side: f64| {
            (0..=20).map(move |k| {
                let t = f64::from(k) / 20.0;
                (from.0 + t * length, from.1 + 4.0 * bow * length * t * (1.0 - t) + side * width / 2.0)
            })
        };
        let outline: Vec<(f64, f64)> =
            path(1.0).chain(path(-1.0).collect::<Vec<_>>().into_iter().rev()).collect();
        let size = if kind == Kind::Scratch { width } else { length };
        Mark { kind, size, u: 0.1, length, centre: outline[10], contrast, outline, strength: 20.0 }
    }

    fn kinds(marks: Vec<Mark>) -> Vec<Kind> {
        gathered(marks, 1.0).iter().map(|m| m.kind).collect()
    }

    #[test]
    fn what_bends_as_no_tool_does_is_lint() {
        let line = |bow, width, contrast| vec![band(Kind::Scratch, (0.0, 0.0), 60.0, bow, width, contrast)];
        assert_eq!(kinds(line(0.0, 5.0, -0.5)), [Kind::Scratch], "straight");
        assert_eq!(kinds(line(0.08, 5.0, -0.5)), [Kind::Particle], "wide, dark and bent");
        assert_eq!(kinds(line(0.08, 3.0, -0.3)), [Kind::Scratch], "an arc");
        assert_eq!(kinds(line(0.08, 5.0, -0.25)), [Kind::Scratch], "a wide arc that hides little light");
        assert_eq!(kinds(line(0.2, 3.0, -0.3)), [Kind::Particle], "no arc of a tool");
        assert_eq!(kinds(line(0.2, 1.0, -0.3)), [Kind::Scratch], "thin");
        assert_eq!(kinds(line(0.2, 5.0, 0.3)), [Kind::Scratch], "bright");
    }

    #[test]
    fn the_parts_of_one_piece_are_one_particle() {
        let bent = band(Kind::Scratch, (0.0, 0.0), 40.0, 0.1, 5.0, -0.5);
        let on = band(Kind::Scratch, (43.0, 0.0), 30.0, 0.0, 4.0, -0.4);
        let lump = band(Kind::Particle, (76.0, 0.0), 30.0, 0.0, 5.0, -0.45);
        let ghost = band(Kind::Scratch, (10.0, 8.0), 8.0, 0.0, 1.0, 0.1);
        let far = band(Kind::Scratch, (0.0, 40.0), 40.0, 0.0, 3.0, -0.4);
        let left = gathered(vec![bent, on, lump, ghost, far], 1.0);
        assert_eq!(left.len(), 2, "{left:?}");
        let lint = left.iter().find(|m| m.kind == Kind::Particle).unwrap();
        assert!((105.0..108.0).contains(&lint.size), "{}", lint.size);
    }
}
