//! The row of fibres in the picture: first by its light on coarse planes, then on a finer one, and where
//! glass and ferrule are equally bright by the ferrule's roughness.

use super::error::LocateError;
use super::grid::{Grid, grid};
use super::pyramid::Level;
use super::rim::{Circle, Grain, Polarity, Profiles};
use super::row;
use super::vote::{self, Candidate};
use terms::Layout;

/// Chains of candidates that are followed to their edges at most.
const CHAINS: usize = 6;

/// Circumferences seen in a row that leave no doubt, so that no other chain is followed.
const CERTAIN: f64 = 2.5;

/// Smooth discs that make a row of fibres: droplets and lumps of resin are smooth too.
const LEAST_SMOOTH: usize = 5;

/// Share of a lone circle's circumference that must show for it to be spoken of.
const LONE_SHARE: f64 = 0.85;

/// How far a cladding's radius may be from the one known, over that: a lattice tells it much better, and dirt seldom has
/// it.
const RADIUS_PLAY: f64 = 0.05;

/// A row and the plane that it shows on.
pub(crate) struct Found {
    pub plane: Level,
    pub grid: Grid,
}

/// Finds the row.
///
/// # Errors
/// `NoRow` or `OneCircle`.
pub(crate) fn find(base: Level, layout: &Layout) -> Result<Found, LocateError> {
    let law = layout.pitch.0 / (layout.cladding.0 / 2.0);
    let (by_light, candidates) = search(&base, law);
    if let Some(grid) = by_light {
        return Ok(Found { plane: base, grid });
    }
    let rough = base.roughness();
    if let (Some(grid), _) = search(&rough, law)
        && grid.places.len() >= LEAST_SMOOTH
    {
        return Ok(Found { plane: rough, grid });
    }
    Err(if lone_circle(&base, &candidates) { LocateError::OneCircle } else { LocateError::NoRow })
}

/// Finds the row among circles that were found elsewhere, pixels of the plane, or else in the plane itself, if its
/// claddings have about the `radius` known: fibres that each picture cuts are whole in the plane put together from
/// them.
///
/// # Errors
/// `NoRow`.
pub(crate) fn find_among(
    plane: Level,
    candidates: &[Candidate],
    radius: f64,
    layout: &Layout,
) -> Result<Found, LocateError> {
    let law = layout.pitch.0 / (layout.cladding.0 / 2.0);
    let as_large = |g: &Grid| (g.radius / radius - 1.0).abs() < RADIUS_PLAY;
    match best_grid(&plane, candidates, law).or_else(|| search(&plane, law).0.filter(as_large)) {
        Some(grid) => Ok(Found { plane, grid }),
        None => Err(LocateError::NoRow),
    }
}

/// Searches the coarser planes first and the base plane, for the smallest circles, only if they hold no
/// certain row. Gives the candidates too.
pub(crate) fn search(base: &Level, law: f64) -> (Option<Grid>, Vec<Candidate>) {
    let mut candidates = vote::candidates(&base.below(), base);
    let coarse = best_grid(base, &candidates, law);
    if coarse.as_ref().is_some_and(|g| g.total() >= CERTAIN) {
        return (coarse, candidates);
    }
    candidates.extend(vote::candidates(std::slice::from_ref(base), base));
    candidates.sort_by(|a, b| b.score.total_cmp(&a.score));
    let fine = best_grid(base, &candidates, law);
    (fine.or(coarse), candidates)
}

fn best_grid(base: &Level, candidates: &[Candidate], law: f64) -> Option<Grid> {
    let mut best: Option<Grid> = None;
    for chain in row::chains(candidates, law).iter().take(CHAINS) {
        let grid = grid(&base.plane, chain, law);
        best = match (best, grid) {
            (Some(a), Some(b)) => Some(if b.total() > a.total() { b } else { a }),
            (a, b) => a.or(b),
        };
        if best.as_ref().is_some_and(|g| g.total() >= CERTAIN) {
            break;
        }
    }
    best
}

/// Whether the picture shows one clear circle and no second one beside it.
fn lone_circle(base: &Level, candidates: &[Candidate]) -> bool {
    let grain = Grain { step: 0.02, mean_step: 0.02 };
    let clear = |c: &Candidate| {
        let profiles = Profiles::new(&base.plane, Circle { x: c.x, y: c.y, radius: c.radius });
        let best = [Polarity::Bright, Polarity::Dark].map(|p| profiles.rim(p, grain).share);
        profiles.in_view() > 0.9 && best[0].max(best[1]) >= LONE_SHARE
    };
    let circles: Vec<&Candidate> = candidates.iter().take(40).filter(|c| clear(c)).collect();
    circles.first().is_some_and(|first| {
        circles.iter().all(|c| (c.x - first.x).hypot(c.y - first.y) < c.radius.max(first.radius))
    })
}
