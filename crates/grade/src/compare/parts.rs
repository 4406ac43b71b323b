//! Parts of marks that came or went: what one picture alone shows where both tell a mark, because it touches another or
//! lies on it.

use super::changes::{Change, Changes};
use super::seen::Glass;
use super::shape::{share_covered, thickness};
use terms::{Feature, Held, Kind, Reach, Spot, Um};

/// Share of a spot that must lie on a mark for it to be a part of that, and how far about a mark it still does, um.
const COVERED: f64 = 0.6;
const REACH: f64 = 0.8;

/// Share of it on a mark that is told as changed, from which it is that change.
const TOLD: f64 = 0.3;

/// Spots smaller than this, um, or fainter are no marks that a picture must show.
const LEAST_UM: f64 = 1.5;
const LEAST_CONTRAST: f64 = 0.07;

/// Thickness over size from which a spot is compact. Slivers along the edge of what stayed are that edge in another focus.
const COMPACT: f64 = 0.6;

/// Standard uncertainty of a part's size, um, where nothing else is known, and how likely it is that it truly came or went;
/// from made-up faces, no source.
const UNCERTAIN_UM: f64 = 0.4;
const LIKELY: f64 = 0.95;

/// Adds what the pictures held against each other show of the marks that they tell, where no mark by itself tells it.
pub fn add(before: &Glass, after: &Glass, held: &Held, changes: &mut Changes) {
    // A mark of which some is left is told by the part that went, where that is known.
    let stays = |change: &Change| changes.remaining.iter().any(|kept| kept.before.contains(&change.id));
    let (smaller, whole): (Vec<Change>, Vec<Change>) = changes.removed.drain(..).partition(stays);
    let gone = parts(&held.gone, before, after, &whole);
    let come = parts(&held.come, after, before, &changes.new);
    let unknown = smaller.into_iter().filter(|change| gone.iter().all(|part| part.id != change.id));
    changes.removed = whole.into_iter().chain(unknown).collect();
    changes.removed.extend(gone);
    changes.new.extend(come);
}

/// Those of the spots that are parts of marks not told as changed.
fn parts(spots: &[Spot], glass: &Glass, other: &Glass, changed: &[Change]) -> Vec<Change> {
    let features = glass.features.iter();
    let wholly = |f: &Feature| changed.iter().any(|change| change.id == f.id);
    let shapes = spots.iter().filter(|s| s.size.0 >= LEAST_UM && s.contrast.abs() >= LEAST_CONTRAST);
    let part = |spot: &Spot| {
        let shape = shape(spot);
        if thickness(&shape) < COMPACT * spot.size.0 {
            return None;
        }
        let share = |f: &Feature| share_covered(&shape, f, REACH);
        let on = features.clone().map(|f| (share(f), f)).filter(|(share, _)| *share >= COVERED);
        let (_, whole) = on.max_by(|a, b| a.0.total_cmp(&b.0))?;
        let alone = !glass.features.iter().any(|f| wholly(f) && share(f) > TOLD);
        // Where a lump lay it still lies, in whatever light.
        let lump = |f: &Feature| !matches!(f.kind, Kind::Scratch | Kind::Film);
        let bare = !other.features.iter().any(|f| lump(f) && share_covered(&shape, f, 0.0) >= COVERED);
        (alone && bare).then_some(Change {
            id: whole.id,
            likelihood: LIKELY,
            part: Some(Feature { id: whole.id, ..shape }),
        })
    };
    shapes.filter_map(part).collect()
}

/// A spot as a feature, its number to be told.
fn shape(spot: &Spot) -> Feature {
    Feature {
        id: terms::FeatureId(0),
        kind: Kind::Particle,
        size: spot.size,
        u: Um(UNCERTAIN_UM),
        length: spot.size,
        centre: spot.centre,
        contrast: spot.contrast,
        reach: Reach::of(&spot.outline),
        outline: spot.outline.clone(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::fibre::on_fibre;
    use super::*;
    use terms::{FeatureId, FibreFrame, Lacks, Point};

    fn round(at: (f64, f64), size: f64) -> Vec<Point<FibreFrame>> {
        let angle = |k: i32| f64::from(k) * std::f64::consts::TAU / 24.0;
        (0..24)
            .map(|k| Point::new(at.0 + 0.5 * size * angle(k).cos(), at.1 + 0.5 * size * angle(k).sin()))
            .collect()
    }

    fn spot(at: (f64, f64), size: f64) -> Spot {
        Spot { size: Um(size), centre: Point::new(at.0, at.1), contrast: -0.4, outline: round(at, size) }
    }

    fn mark(id: u32, kind: Kind, at: (f64, f64), size: f64) -> Feature {
        Feature { id: FeatureId(id), kind, u: Um(0.3), ..shape(&spot(at, size)) }
    }

    fn gone(spots: Vec<Spot>, before: Vec<Feature>, after: Vec<Feature>) -> Changes {
        let held = Held {
            before: vec![Lacks::Untold; before.len()],
            after: vec![Lacks::Untold; after.len()],
            gone: spots,
            come: vec![],
        };
        on_fibre(&Glass::sample(before), &Glass::sample(after), &held)
    }

    /// A mark of 14 um is 12 um large afterwards: too little to say that it went, but a part did.
    #[test]
    fn a_part_that_went_is_told_beside_what_stayed() {
        let (before, after) =
            (mark(1, Kind::Particle, (0.0, 0.0), 14.0), mark(1, Kind::Particle, (-1.0, 0.0), 12.0));
        let changes = gone(vec![spot((5.5, 0.0), 2.5)], vec![before], vec![after]);
        assert_eq!(changes.remaining.len(), 1);
        let [Change { id: FeatureId(1), part: Some(part), .. }] = changes.removed.as_slice() else {
            panic!("{changes:?}")
        };
        assert_eq!((part.size, part.centre), (Um(2.5), Point::new(5.5, 0.0)));
    }

    /// What the other picture tells in the same place is no part that went, but another light on it; on a film it is one.
    #[test]
    fn where_a_lump_lies_nothing_went() {
        for (kind, parts) in [(Kind::Particle, 0), (Kind::Film, 1)] {
            let whole = || vec![mark(1, kind, (0.0, 0.0), 14.0)];
            let changes = gone(vec![spot((2.0, 0.0), 4.0)], whole(), whole());
            assert_eq!((changes.removed.len(), changes.remaining.len()), (parts, 1), "{kind:?}");
        }
    }

    /// The edge of a mark in another focus or a little elsewhere is a sliver.
    #[test]
    fn a_sliver_is_no_part() {
        let whole = || vec![mark(1, Kind::Film, (0.0, 0.0), 14.0)];
        let flat = |p: &Point<FibreFrame>| Point::new(4.0 + 0.35 * p.x, p.y);
        let outline: Vec<_> = round((0.0, 0.0), 5.0).iter().map(flat).collect();
        let sliver = Spot { outline, ..spot((4.0, 0.0), 5.0) };
        assert_eq!(gone(vec![sliver], whole(), whole()).removed, vec![]);
    }

    /// A mark that went as a whole is told once, and what no mark tells is not told at all.
    #[test]
    fn a_whole_mark_that_went_has_no_parts() {
        let far = spot((40.0, 0.0), 3.0);
        let changes =
            gone(vec![spot((0.0, 0.0), 5.0), far], vec![mark(1, Kind::Particle, (0.0, 0.0), 6.0)], vec![]);
        let [Change { id: FeatureId(1), part: None, .. }] = changes.removed.as_slice() else {
            panic!("{changes:?}")
        };
    }
}
