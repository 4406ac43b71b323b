//! Which mark that was seen is which mark that is there: by place whether it may be, by place, size and kind which of
//! several it is; and which marks of several looks are one.

use crate::seen::SeenMark;
use crate::truth::TrueMark;

/// Who is whose.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Pairs {
    /// For each true mark the seen one that is nearest to it, one to one.
    pub of_true: Vec<Option<usize>>,
    /// For each seen mark whether some true mark lies there, its own or not.
    pub explained: Vec<bool>,
}

/// Pairs marks one to one, the most alike first. A scratch or lint is met within 3 um of its line (or its width, or a
/// twentieth of its length), anything else within 2.5 um of its centre (or half its size and 1 um). Of several that lie
/// so near to one another, as a particle on a film, marks that are both scratches or both not go before others, then
/// those whose places differ by the least share of that distance and whose sizes by the least factor.
pub fn pair(truth: &[TrueMark], seen: &[SeenMark]) -> Pairs {
    let mut near: Vec<(f64, usize, usize)> = Vec::new();
    for (i, mark) in truth.iter().enumerate() {
        let apart = seen.iter().enumerate().map(|(j, s)| (away(mark, s.centre), i, j));
        near.extend(apart.filter(|(d, ..)| *d <= 1.0).map(|(d, i, j)| (d + unlike(mark, &seen[j]), i, j)));
    }
    near.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut pairs = Pairs { of_true: vec![None; truth.len()], explained: vec![false; seen.len()] };
    let mut taken = vec![false; seen.len()];
    for (_, i, j) in near {
        pairs.explained[j] = true;
        if pairs.of_true[i].is_none() && !taken[j] {
            pairs.of_true[i] = Some(j);
            taken[j] = true;
        }
    }
    pairs
}

/// How far a place lies from a mark, 1 being the farthest that still meets it.
fn away(mark: &TrueMark, at: (f64, f64)) -> f64 {
    match mark.path.len() {
        0 | 1 => apart(mark.centre, at) / (0.5 * mark.size + 1.0).max(2.5),
        _ => {
            let pieces = mark.path.windows(2).map(|p| from_piece(at, p[0], p[1]));
            pieces.fold(f64::INFINITY, f64::min) / mark.size.max(0.05 * mark.length).max(3.0)
        }
    }
}

/// What a difference of kind and of size adds to that of place.
fn unlike(mark: &TrueMark, seen: &SeenMark) -> f64 {
    let line = |kind| kind == terms::Kind::Scratch;
    let kinds = if line(mark.kind) == line(seen.kind) { 0.0 } else { 2.0 };
    kinds + 0.5 * (seen.size.max(0.1) / mark.size.max(0.1)).ln().abs()
}

fn apart(a: (f64, f64), b: (f64, f64)) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

/// Distance of a point from a piece of a line.
pub(crate) fn from_piece(at: (f64, f64), a: (f64, f64), b: (f64, f64)) -> f64 {
    let (vx, vy) = (b.0 - a.0, b.1 - a.1);
    let along = ((at.0 - a.0) * vx + (at.1 - a.1) * vy) / (vx * vx + vy * vy).max(1e-12);
    let t = along.clamp(0.0, 1.0);
    apart(at, (a.0 + t * vx, a.1 + t * vy))
}

/// One mark as it shows in several looks at its fibre: by look, none where it was not seen.
pub type Sightings = Vec<Option<SeenMark>>;

/// Gathers the marks of several looks at one fibre: each look's marks join the marks known so far, one to one and
/// the nearest first, if they lie within 3 um (a scratch within 6 um, its middle being less certain) or a third of
/// their size, and are both scratches or both not; what joins none is a mark of its own.
pub fn gather(looks: &[Vec<SeenMark>]) -> Vec<Sightings> {
    let mut known: Vec<(SeenMark, Sightings)> = Vec::new();
    for (k, look) in looks.iter().enumerate() {
        let mut near: Vec<(f64, usize, usize)> = Vec::new();
        for (i, (first, _)) in known.iter().enumerate() {
            let apart = look.iter().enumerate().map(|(j, s)| (off(first, s), i, j));
            near.extend(apart.filter(|(d, ..)| *d <= 1.0));
        }
        near.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut joined = vec![false; look.len()];
        for (_, i, j) in near {
            if known[i].1[k].is_none() && !joined[j] {
                known[i].1[k] = Some(look[j]);
                joined[j] = true;
            }
        }
        for (mark, _) in look.iter().zip(&joined).filter(|(_, joined)| !**joined) {
            let mut sightings = vec![None; looks.len()];
            sightings[k] = Some(*mark);
            known.push((*mark, sightings));
        }
    }
    known.into_iter().map(|(_, sightings)| sightings).collect()
}

fn off(a: &SeenMark, b: &SeenMark) -> f64 {
    let line = |m: &SeenMark| m.kind == terms::Kind::Scratch;
    if line(a) != line(b) {
        return f64::INFINITY;
    }
    apart(a.centre, b.centre) / if line(a) { 6.0 } else { (a.size.max(b.size) / 3.0).max(3.0) }
}
