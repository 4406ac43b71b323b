//! What became of the marks of one fibre from one picture to the next, as values.

use terms::{Feature, FeatureId};

/// Which of the two pictures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Side {
    /// The first.
    Before,
    /// The second.
    After,
}

/// A mark that is there in one picture only, and would have been seen in the other.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// Its number on its own face.
    pub id: FeatureId,
    /// How likely it is that it truly came or went, 0 to 1.
    pub likelihood: f64,
    /// What of it came or went, where that is a part of the mark; its number is that of the whole. Beside a whole that
    /// came or went, a lobe of it.
    pub part: Option<Feature>,
}

/// A mark that stayed.
#[derive(Clone, Debug, PartialEq)]
pub struct Kept {
    /// Its numbers before: several where marks are seen as one afterwards, that of the whole where a part stayed, none
    /// where it was too faint to be told and shows in its place all the same.
    pub before: Vec<FeatureId>,
    /// Its number after; one mark before may be two afterwards.
    pub after: FeatureId,
    /// How large it is against what it was.
    pub size: Size,
}

/// How large a mark that stayed is against what it was.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Size {
    /// The same, as far as the pictures tell.
    Alike,
    /// Larger, beyond what the pictures leave open.
    Grown,
    /// A particle or film now, and smaller, likewise: what goes on going is not fixed.
    Shrunk,
}

impl Kept {
    /// A mark that is as large as it was, as far as is known.
    pub(super) fn alike(before: Vec<FeatureId>, after: FeatureId) -> Kept {
        Kept { before, after, size: Size::Alike }
    }
}

/// Why it cannot be told whether a mark came, went or stayed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doubt {
    /// It is so faint that the other picture need not show it.
    Faint,
    /// In the other picture something else lies over its place.
    Covered,
    /// A film on the same fibre is so much stronger that it may be that film's own shadow: what a film does to the
    /// light about it is told as a mark.
    Film,
    /// The other picture does not show this fibre.
    NotShown,
}

/// A mark of one picture of which nothing can be told in the other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unsure {
    /// The picture that shows it.
    pub side: Side,
    /// Its number on that face.
    pub id: FeatureId,
    /// Why.
    pub doubt: Doubt,
}

/// What changed at one position.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Changes {
    /// There before and not after, in order of id. A mark of which less than half is left is here, and what is left of
    /// it remains.
    pub removed: Vec<Change>,
    /// There both times, in order of id after.
    pub remaining: Vec<Kept>,
    /// There after and not before, in order of id.
    pub new: Vec<Change>,
    /// Not to be told: those of the first picture first.
    pub unsure: Vec<Unsure>,
}

impl Changes {
    /// Adds a mark of which nothing can be told.
    pub(super) fn doubt(&mut self, side: Side, id: FeatureId, doubt: Doubt) {
        self.unsure.push(Unsure { side, id, doubt });
    }
}
