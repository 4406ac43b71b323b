//! Which marks that came are marks that went: loose dirt of one size, contrast and shape in another place.

use super::assign::best_pairs;
use super::likeness::alike;
use super::shape::thickness;
use terms::{Feature, FeatureId, Kind};

/// Share of new dirt that was on the face before, and of that the share that stays on its fibre; common
/// practice, no source.
const WAS_HERE: f64 = 0.3;
const ON_ITS_FIBRE: f64 = 0.5;
/// Dirt below this size, um, is too alike to be known again.
const SMALLEST: f64 = 2.0;

/// A mark is said to have moved when it is this likely.
const CONVINCING: f64 = 0.7;

/// A mark that went, in another place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moved {
    /// Where it was.
    pub from: (u16, FeatureId),
    /// Where it is.
    pub to: (u16, FeatureId),
    /// How likely it is that it is the same, 0 to 1.
    pub likelihood: f64,
}

/// Pairs marks that went with marks that came; each with its position.
pub fn moved(gone: &[(u16, &Feature)], come: &[(u16, &Feature)]) -> Vec<Moved> {
    let gone: Vec<_> = gone.iter().filter(|(_, f)| is_loose(f)).collect();
    let come: Vec<_> = come.iter().filter(|(_, f)| is_loose(f)).collect();
    let likelihood = |i: usize, j: usize| {
        let (from, to) = (gone[i], come[j]);
        let same_fibre = from.0 == to.0;
        let candidates = gone.iter().filter(|g| (g.0 == to.0) == same_fibre).count();
        let share = if same_fibre { ON_ITS_FIBRE } else { 1.0 - ON_ITS_FIBRE };
        let odds = WAS_HERE * share / (1.0 - WAS_HERE) * same_dirt(from.1, to.1).exp() / candidates as f64;
        odds / (1.0 + odds)
    };
    let pairs = best_pairs(gone.len(), come.len(), |i, j| likelihood(i, j) - CONVINCING);
    pairs
        .into_iter()
        .map(|(i, j)| Moved {
            from: (gone[i].0, gone[i].1.id),
            to: (come[j].0, come[j].1.id),
            likelihood: likelihood(i, j),
        })
        .collect()
}

fn is_loose(feature: &Feature) -> bool {
    let loose = matches!(feature.kind, Kind::Particle | Kind::Pit | Kind::Chip);
    loose && feature.size.0 >= SMALLEST
}

/// Logarithm of the odds that two marks are one by size, contrast and how drawn out they are.
fn same_dirt(from: &Feature, to: &Feature) -> f64 {
    let drawn_out = |f: &Feature| (f.length.0.max(0.1) / thickness(f).max(0.1)).ln();
    let shape = -((drawn_out(from) - drawn_out(to)) / 0.25).powi(2) / 2.0;
    alike(from, to) + shape
}
