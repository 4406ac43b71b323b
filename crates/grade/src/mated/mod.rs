//! Two faces that were mated, or are to be: which marks of one lie on marks of the other more often than chance
//! has it, and what the dirt of each predicts for the other. Works on what was seen; knows no picture.

mod adapter;
mod chance;
mod meeting;
mod risk;
mod transfer;

pub use adapter::Adapter;
pub use meeting::Meeting;
pub use risk::{AtRisk, FaceDirt, NearMark, Risk};
pub use transfer::Transfer;

use crate::compare::{self, FaceSeen};
use crate::conformity::Acceptance;
use crate::criteria::Criteria;

/// One of the two faces.
#[derive(Clone, Debug, PartialEq)]
pub struct MatedFace {
    /// What was seen on its fibres.
    pub seen: FaceSeen,
    /// Dirt on its ferrule, off the fibres.
    pub dirt: Vec<FaceDirt>,
}

/// Which of the two faces.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Which {
    /// The first.
    A,
    /// The second.
    B,
}

/// What two faces tell of each other.
#[derive(Clone, Debug, PartialEq)]
pub struct Mated {
    /// How the second face lies against the first, beyond what the adapter says.
    pub meeting: Meeting,
    /// Marks of one face that lie on marks of the other, in order of the first face's positions.
    pub transfers: Vec<Transfer>,
    /// Positions that the other face's dirt endangers: those of the first face first.
    pub at_risk: Vec<AtRisk>,
    /// Pairs (position on the first face, position on the second) that face each other.
    pub facing: Vec<(u16, u16)>,
    /// Whether both faces are angled and their keys aligned: two like angles then leave a wedge.
    pub wedge: bool,
    /// The adapter that the marks tell of, where it is not this one, and how many lie on both faces by it.
    pub otherwise: Option<(Adapter, usize)>,
}

/// Why two faces cannot be mated as stated.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MatedError {
    /// A position that would face no fibre.
    #[error(
        "position {0} would face no fibre of the other face; name the other adapter, or check the layout"
    )]
    FacesNothing(u16),
}

/// Matches the marks of two faces that meet through an adapter, and says what the dirt of each would do to the
/// other by these criteria, sizes held to the limits by `acceptance`.
///
/// # Errors
/// [`MatedError`] if the adapter puts a fibre against none.
pub fn mate(
    a: &MatedFace,
    b: &MatedFace,
    adapter: Adapter,
    criteria: &Criteria,
    acceptance: Acceptance,
) -> Result<Mated, MatedError> {
    let facing = adapter.facing(&a.seen, &b.seen)?;
    let (meeting, transfers) = transfer::found(&a.seen, &b.seen, adapter, &facing);
    let back = meeting.inverse(adapter);
    let mut at_risk = risk::on(Which::A, a, b, &back, (criteria, acceptance));
    at_risk.extend(risk::on(Which::B, b, a, &meeting, (criteria, acceptance)));
    let wedge = criteria.class.angled && adapter == Adapter::Aligned;
    let by_marks = adapter_by_marks(a, b).filter(|told| *told != adapter);
    let otherwise = by_marks.map(|told| (told, shared(a, b, told).len()));
    Ok(Mated { meeting, transfers, at_risk, facing, wedge, otherwise })
}

/// Natural logarithm of the odds from which the marks tell how two faces met: a thousand to one.
const CERTAIN: f64 = 6.9;

/// How two faces met, if the marks that lie on both tell.
pub fn adapter_by_marks(a: &MatedFace, b: &MatedFace) -> Option<Adapter> {
    let weight = |adapter: Adapter| -> f64 {
        let transfers = shared(a, b, adapter);
        transfers.iter().map(|t| (t.likelihood / (1.0 - t.likelihood).max(1e-9)).ln()).sum()
    };
    let (opposed, aligned) = (weight(Adapter::Opposed), weight(Adapter::Aligned));
    match opposed - aligned {
        more if more > CERTAIN => Some(Adapter::Opposed),
        more if more < -CERTAIN => Some(Adapter::Aligned),
        _ => None,
    }
}

/// The marks on both faces by an adapter; none if it puts a fibre against none.
fn shared(a: &MatedFace, b: &MatedFace, adapter: Adapter) -> Vec<Transfer> {
    let facing = adapter.facing(&a.seen, &b.seen).unwrap_or_default();
    transfer::found(&a.seen, &b.seen, adapter, &facing).1
}

/// Whether the two are certainly one ferrule, by how its fibres lie in their holes; faces that met may share marks.
pub fn one_ferrule(a: &MatedFace, b: &MatedFace) -> bool {
    let found = compare::compare(&a.seen, &b.seen);
    found.is_ok_and(|c| c.sameness.certain && c.sameness.fingerprint.log_odds >= CERTAIN)
}
