//! What of the other picture a mark lies on or under, or is a part of: there it need not be seen as a mark of its own.
//! Factors and shares are from made-up faces, no source.

use super::shape::{area, covers, points_of, share_covered, thickness};
use terms::{Feature, Kind, Point};

/// Share of a mark that must lie on another for it to be a part of that, or to be hidden by it.
const COVERED: f64 = 0.7;
/// How far about a mark others lie on it, um.
const REACH: f64 = 0.6;
/// What is between so many times as strong as a scratch may be a piece of it that was seen as a mark: its outline is
/// drawn that much wider, um, than the scratch is.
const PIECES_OF_LINE: (f64, f64) = (0.5, 1.5);
const WIDER: f64 = 1.0;
/// Share of a mark under one that is stronger by this factor, from which the rest need not be told beside that.
const PARTLY: f64 = 0.2;
const DROWNED: f64 = 4.0;
/// How far the soft edge of a mark reaches, standard deviations of the blur: what lies there is not seen beside it.
const SKIRT: f64 = 3.0;
/// A mark stronger than a film by this factor shows through it or on it; so does one on a scratch.
const THROUGH: f64 = 2.0;
const ON_SCRATCH: f64 = 1.5;
/// Marks wider than this, um, lie so wide that others may lie on them, whatever they were called.
const WIDE: f64 = 25.0;
/// What shows no stronger than this share of a scratch that it lies on may be a piece of it.
const PIECE: f64 = 0.6;

/// Contrasts of a scratch and of an outline about it agree within this factor, and the scratch runs along that share of
/// it: parts of a scratch that is seen as an outline are often not told in the other picture.
const ABOUT: f64 = 1.5;
const ALONG: f64 = 0.4;

/// Larger and weaker particles may be pieces of a film, um and contrast; how far about a film its pieces lie, um, and
/// what share of a piece must lie there for it to be the film's.
const PIECES: (f64, f64) = (8.0, 0.25);
const ABOUT_FILM: f64 = 3.0;
const OF_FILM: f64 = 0.5;

/// Radius of a part that would be a mark of its own, um, and how finely it is looked for.
const PART: f64 = 1.5;
const STEP: f64 = 0.5;

/// A mark is said to have gone if less than this share of it is left, and if it is smaller by so many standard
/// uncertainties.
const LEFT: f64 = 0.5;
const CLEARLY: f64 = 3.0;

/// The feature of the other picture that a mark lies on or under, or is a part of.
pub fn cover<'a>(mark: &Feature, others: &'a [Feature]) -> Option<&'a Feature> {
    if let Some(film) = of_one_film(mark, others) {
        return Some(film);
    }
    if let Some(line) = others.iter().find(|other| is_drawn_about(mark, other)) {
        return Some(line);
    }
    let share = |other: &Feature| share_covered(mark, other, reach_on(other, mark));
    let covering = others.iter().filter(|other| hides(other, mark)).map(|other| (share(other), other));
    covering.filter(|(share, _)| *share >= COVERED).max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, other)| other)
}

/// How far about the other feature a mark still lies on it, um.
fn reach_on(other: &Feature, mark: &Feature) -> f64 {
    let (least, most) = PIECES_OF_LINE;
    let alike = (least..most).contains(&(mark.contrast / other.contrast));
    if other.kind == Kind::Scratch && alike { REACH + WIDER } else { REACH }
}

/// Whether a mark may lie hidden in the soft edge of something else in the other picture, whose blur is wider by
/// `blurred`, um.
pub fn in_soft_edge(mark: &Feature, others: &[Feature], blurred: f64) -> bool {
    let reach = REACH + SKIRT * blurred.max(0.0);
    others.iter().any(|other| hides(other, mark) && share_covered(mark, other, reach) >= COVERED)
}

/// Whether a lump that went, one of these, lay over a part of a mark of the second picture and was much stronger:
/// what it left in its place says nothing of the mark, which will mostly have lain beneath it, as few marks come
/// with a cleaning.
pub fn lay_under(mark: &Feature, gone: &[&Feature]) -> bool {
    let stronger = |lump: &Feature| lump.contrast.abs() > DROWNED * mark.contrast.abs();
    gone.iter().any(|lump| is_lump(lump) && stronger(lump) && share_covered(mark, lump, REACH) >= PARTLY)
}

/// Whether a mark that lies where the other picture has this feature was there, too: as a part of it or beneath it. So
/// few marks come with a cleaning that hardly one comes to lie where a lump lay; a film is too wide for that.
pub fn was_part(feature: &Feature) -> bool {
    feature.kind == Kind::Scratch || is_lump(feature)
}

/// Whether a mark is no line and narrow.
fn is_lump(feature: &Feature) -> bool {
    matches!(feature.kind, Kind::Particle | Kind::Pit | Kind::Chip) && feature.size.0 < WIDE
}

/// Whether less than half of a mark is left, or a part is gone that would be a mark of its own: what is there in its
/// place is that much smaller.
pub fn went_mostly(was: &Feature, is: &Feature) -> bool {
    let less = was.size.0 - is.size.0;
    let halved = || area(is) < LEFT * area(was) && share_covered(was, is, REACH) < LEFT;
    is_lump(was) && less > CLEARLY * was.u.0.hypot(is.u.0) && (halved() || part_went(was, is))
}

/// Whether a part of a mark is gone that a disc of that radius lies in.
fn part_went(was: &Feature, is: &Feature) -> bool {
    let (c, half) = (was.centre, 0.5 * was.size.0);
    let steps = (half / STEP).ceil() as i32;
    let grid = || -steps..=steps;
    let bare = |x: f64, y: f64| {
        let p = Point::new(x, y);
        covers(was, p, 0.0) && !covers(is, p, REACH)
    };
    let disc = |x: f64, y: f64| {
        (0..12)
            .map(|k| f64::from(k) * std::f64::consts::TAU / 12.0)
            .all(|a| bare(x + PART * a.cos(), y + PART * a.sin()))
    };
    grid().any(|j| {
        grid().any(|i| {
            let (x, y) = (c.x + STEP * f64::from(i), c.y + STEP * f64::from(j));
            bare(x, y) && disc(x, y)
        })
    })
}

/// Whether a wide mark is an outline about a scratch of the other picture and what lies beside it.
fn is_drawn_about(mark: &Feature, line: &Feature) -> bool {
    let ratio = line.contrast / mark.contrast;
    line.kind == Kind::Scratch
        && mark.kind != Kind::Scratch
        && mark.kind != Kind::Film
        && mark.size.0 > WIDE
        && (1.0 / ABOUT..ABOUT).contains(&ratio)
        && line.length.0 > ALONG * mark.size.0
        && share_covered(line, mark, REACH) >= COVERED
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
