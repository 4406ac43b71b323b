//! Which marks of two faces are one dirt: paired first by the adapter's map alone, then once more with the
//! shift and turn that the surest pairs tell.

use super::adapter::Adapter;
use super::chance::{density, leaves, odds, sd};
use super::meeting::{Meeting, Miss, Seat};
use crate::compare::{FaceSeen, Glass, best_pairs};
use terms::FeatureId;

/// A transfer is told when it is this likely.
const CONVINCING: f64 = 0.7;
/// Chance below which a pair tells nothing of the faces' shift.
const TELLS: f64 = 0.5;

/// A mark of the first face and one of the second that are likely one dirt.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Transfer {
    /// Position and feature on the first face.
    pub a: (u16, FeatureId),
    /// Position and feature on the second.
    pub b: (u16, FeatureId),
    /// How far the second lies from where the first is pressed to, um.
    pub apart: f64,
    /// How likely it is that they are one, 0 to 1.
    pub likelihood: f64,
}

/// Two fibres that face each other and were both found.
struct Met<'a> {
    at: (u16, u16),
    glass: (&'a Glass, &'a Glass),
    seats: (Seat, Seat),
    density: f64,
}

/// How the faces lie, and the marks that went over.
pub fn found(
    a: &FaceSeen,
    b: &FaceSeen,
    adapter: Adapter,
    facing: &[(u16, u16)],
) -> (Meeting, Vec<Transfer>) {
    let met = met(a, b, facing);
    let mut meeting = Meeting::unknown(adapter);
    for _ in 0..2 {
        let misses: Vec<Miss> = met
            .iter()
            .flat_map(|m| pairs(m, &meeting).into_iter().filter_map(|t| miss(m, adapter, &t)))
            .collect();
        meeting = Meeting::of(adapter, &misses);
    }
    let all = met.iter().flat_map(|m| pairs(m, &meeting));
    (meeting, all.filter(|t| t.likelihood >= CONVINCING).collect())
}

fn met<'a>(a: &'a FaceSeen, b: &'a FaceSeen, facing: &[(u16, u16)]) -> Vec<Met<'a>> {
    let means = (mean(a), mean(b));
    let one = |&(p, q): &(u16, u16)| {
        let (fibre_a, fibre_b) = (a.at(p)?, b.at(q)?);
        let glass = (fibre_a.glass.as_ref()?, fibre_b.glass.as_ref()?);
        Some(Met {
            at: (p, q),
            glass,
            seats: (Seat::of(fibre_a.nominal, glass.0), Seat::of(fibre_b.nominal, glass.1)),
            density: (density(glass.0, means.0) * density(glass.1, means.1)).sqrt(),
        })
    };
    facing.iter().filter_map(one).collect()
}

/// Marks to a fibre of a face.
fn mean(face: &FaceSeen) -> f64 {
    let glasses: Vec<&Glass> = face.fibres.iter().filter_map(|f| f.glass.as_ref()).collect();
    let marks = glasses.iter().flat_map(|g| &g.features).filter(|f| leaves(f.kind) > 0.0).count();
    marks as f64 / glasses.len().max(1) as f64
}

/// The likeliest pairs of one fibre, each likelier than not to be told apart from chance.
fn pairs(met: &Met, meeting: &Meeting) -> Vec<Transfer> {
    let (a, b) = (&met.glass.0.features, &met.glass.1.features);
    let apart =
        |i: usize, j: usize| meeting.about(a[i].centre, &met.seats.0, &met.seats.1).distance(b[j].centre);
    let chance = |i: usize, j: usize| odds(&a[i], &b[j], apart(i, j), meeting.u, met.density);
    best_pairs(a.len(), b.len(), |i, j| chance(i, j).max(1e-30).ln())
        .into_iter()
        .map(|(i, j)| Transfer {
            a: (met.at.0, a[i].id),
            b: (met.at.1, b[j].id),
            apart: apart(i, j),
            likelihood: chance(i, j) / (1.0 + chance(i, j)),
        })
        .collect()
}

/// What a pair tells of how the faces lie.
fn miss(met: &Met, adapter: Adapter, pair: &Transfer) -> Option<Miss> {
    let a = met.glass.0.features.iter().find(|f| f.id == pair.a.1)?;
    let b = met.glass.1.features.iter().find(|f| f.id == pair.b.1)?;
    let (seat_a, seat_b) = (met.seats.0.centre, met.seats.1.centre);
    (pair.likelihood >= TELLS).then(|| Miss {
        from: adapter.across(seat_a.moved(a.centre.x, a.centre.y)),
        to: seat_b.moved(b.centre.x, b.centre.y),
        sd: sd(a, b),
        weight: pair.likelihood,
    })
}
