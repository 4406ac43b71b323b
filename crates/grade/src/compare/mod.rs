//! Two pictures of one face, before and after it was cleaned or handled: whether they can be of one face, and
//! what became of each mark. Works on what was seen; knows no picture and no limit.

mod assign;
mod changes;
mod cover;
mod fibre;
mod fingerprint;
mod likely;
mod likeness;
mod lobes;
mod moved;
mod parts;
mod same_face;
mod seen;
mod settle;
mod shape;
mod visible;

pub(crate) use assign::best_pairs;
pub use changes::{Change, Changes, Doubt, Kept, Side, Size, Unsure};
pub use fingerprint::Fingerprint;
pub(crate) use fingerprint::{normal, round_normal};
pub use moved::Moved;
pub use same_face::{Another, Sameness, judge};
pub use seen::{FaceSeen, FibreSeen, Flip, Glass};

use terms::{Feature, Held};

/// What became of a face.
#[derive(Clone, Debug, PartialEq)]
pub struct Comparison {
    /// What speaks for one face.
    pub sameness: Sameness,
    /// One for every position, in order.
    pub positions: Vec<(u16, Changes)>,
    /// Fibres whose pictures were held against each other.
    pub pictures: usize,
    /// Marks that went and came elsewhere; each is among the removed and among the new ones too.
    pub moved: Vec<Moved>,
}

/// Compares two pictures of a face by their marks alone. Where the second shows it turned or mirrored against what was
/// stated, the positions and features of the result are those of the second face `flipped` by `sameness.flip`.
///
/// # Errors
/// [`Another`] if the pictures cannot be of one face.
pub fn compare(before: &FaceSeen, after: &FaceSeen) -> Result<Comparison, Another> {
    let sameness = judge(before, after)?;
    let turned = after.flipped(sameness.flip);
    Ok(changes(before, turned.as_ref().unwrap_or(after), sameness, &[]))
}

/// What became of the marks of one face, the second picture looked at as the first; by position what the pictures say
/// held against each other, where they were.
pub fn changes(before: &FaceSeen, after: &FaceSeen, sameness: Sameness, held: &[(u16, Held)]) -> Comparison {
    let unheld = Held::default();
    let of = |position: u16| held.iter().find(|h| h.0 == position).map_or(&unheld, |h| &h.1);
    let at = |b: &FibreSeen| (b.position, at_position(b, after.at(b.position), of(b.position)));
    let positions: Vec<(u16, Changes)> = before.fibres.iter().map(at).collect();
    let moved = moved::moved(&gone(before, &positions), &come(after, &positions));
    Comparison { sameness, positions, pictures: held.len(), moved }
}

fn at_position(before: &FibreSeen, after: Option<&FibreSeen>, held: &Held) -> Changes {
    match (&before.glass, after.and_then(|a| a.glass.as_ref())) {
        (Some(b), Some(a)) => fibre::on_fibre(b, a, held),
        (Some(b), None) => fibre::not_shown(Side::Before, b),
        (None, Some(a)) => fibre::not_shown(Side::After, a),
        (None, None) => Changes::default(),
    }
}

fn gone<'a>(face: &'a FaceSeen, positions: &[(u16, Changes)]) -> Vec<(u16, &'a Feature)> {
    named(face, positions, |changes| &changes.removed)
}

fn come<'a>(face: &'a FaceSeen, positions: &[(u16, Changes)]) -> Vec<(u16, &'a Feature)> {
    named(face, positions, |changes| &changes.new)
}

/// The features that a list of each position names.
fn named<'a>(
    face: &'a FaceSeen,
    positions: &[(u16, Changes)],
    list: impl Fn(&Changes) -> &Vec<Change>,
) -> Vec<(u16, &'a Feature)> {
    let mut found = Vec::new();
    for (position, changes) in positions {
        let Some(glass) = face.at(*position).and_then(|f| f.glass.as_ref()) else { continue };
        let is_named =
            |f: &&Feature| list(changes).iter().any(|change| change.id == f.id && change.part.is_none());
        found.extend(glass.features.iter().filter(is_named).map(|f| (*position, f)));
    }
    found
}
