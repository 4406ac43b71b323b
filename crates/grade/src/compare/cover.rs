//! What of the other picture a mark lies on or under, or is a part of: there it need not be seen as a mark of its own.
//! Factors and shares are from made-up faces, no source.

use super::shape::{covers, points_of, share_covered, thickness};
use terms::{Feature, Kind};

/// Share of a mark that must lie on another for it to be a part of that, or to be hidden by it.
const COVERED: f64 = 0.7;
/// A mark stronger than a film by this factor shows through it or on it; so does one on a scratch.
const THROUGH: f64 = 2.0;
const ON_SCRATCH: f64 = 1.5;
/// Marks wider than this, um, lie so wide that others may lie on them, whatever they were called.
const WIDE: f64 = 25.0;
/// What shows no stronger than this share of a scratch that it lies on may be a piece of it.
const PIECE: f64 = 0.6;

/// Larger and weaker particles may be pieces of a film, um and contrast; how far about a film its pieces lie, um, and
/// what share of a piece must lie there for it to be the film's.
const PIECES: (f64, f64) = (8.0, 0.25);
const ABOUT_FILM: f64 = 3.0;
const OF_FILM: f64 = 0.5;

/// The feature of the other picture that a mark lies on or under, or is a part of.
pub fn cover<'a>(mark: &Feature, others: &'a [Feature]) -> Option<&'a Feature> {
    if let Some(film) = of_one_film(mark, others) {
        return Some(film);
    }
    let share = |other: &Feature| share_covered(mark, other, 0.6);
    let covering = others.iter().filter(|other| hides(other, mark)).map(|other| (share(other), other));
    covering.filter(|(share, _)| *share >= COVERED).max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, other)| other)
}

/// Whether a mark is wide and weak: a film, or a piece that it was seen in.
fn is_film(mark: &Feature) -> bool {
    mark.kind == Kind::Film
        || mark.kind == Kind::Particle && mark.size.0 > PIECES.0 && mark.contrast.abs() < PIECES.1
}

/// The piece of a film in the other picture that a piece in this one shares most with, if the pieces there hold
/// enough of it together: a film falls into other pieces in every light.
fn of_one_film<'a>(mark: &Feature, others: &'a [Feature]) -> Option<&'a Feature> {
    if !is_film(mark) {
        return None;
    }
    let one = |other: &&Feature| is_film(other) && mark.contrast * other.contrast > 0.0;
    let pieces: Vec<&Feature> = others.iter().filter(one).collect();
    let points = points_of(mark);
    let on = |piece: &Feature| points.iter().filter(|p| covers(piece, **p, ABOUT_FILM)).count();
    let together =
        points.iter().filter(|p| pieces.iter().any(|piece| covers(piece, **p, ABOUT_FILM))).count();
    let enough = together as f64 >= OF_FILM * points.len() as f64;
    pieces.into_iter().filter(|_| enough).max_by_key(|piece| on(piece))
}

/// Whether a mark would not be seen where the other feature lies: much stronger ones show through or on top.
fn hides(other: &Feature, mark: &Feature) -> bool {
    let stands_out = mark.contrast.abs() / other.contrast.abs().max(1e-3);
    match other.kind {
        Kind::Scratch => {
            // Weaker and wider than the scratch by as much: a piece of it that was seen blurred.
            let piece = mark.contrast * other.contrast > 0.0 && stands_out < PIECE;
            let room = if piece { 2.5 } else { 1.0 };
            thickness(mark) < 2.0 * other.size.0 + room && stands_out < ON_SCRATCH
        }
        Kind::Film => stands_out < THROUGH,
        Kind::Particle | Kind::Pit | Kind::Chip => stands_out < THROUGH || other.size.0 < WIDE,
    }
}
