//! What must be looked at before a job may be handed over, connector by connector.

use crate::history::{Event, History};
use crate::trace::trace;
use grade::Verdict;

/// Why a connector is owed a look.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Debt {
    /// It was never looked at.
    NeverInspected,
    /// Its last look fails.
    Failing,
    /// Its last look could not be graded.
    Ungraded,
    /// It touched something after its last pass: these, in order.
    MatedSince(Vec<String>),
    /// It was exposed, directly or through others, to a face that failed, and nobody looked since.
    Exposed {
        /// The face that failed.
        source: String,
    },
}

/// A connector and all that it is owed for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Owed {
    /// The connector.
    pub face: String,
    /// At least one reason.
    pub debts: Vec<Debt>,
}

/// What is owed for the connectors of a job, in the order given. `sources` are the faces, cords among them, whose last
/// failure is traced. The job may be called done only if nothing comes back.
pub fn owed(history: &History, connectors: &[String], sources: &[String]) -> Vec<Owed> {
    let traces: Vec<_> = sources.iter().filter_map(|s| trace(history, s)).collect();
    let one = |face: &String| {
        let exposed =
            traces.iter().filter(|t| t.exposures.iter().any(|e| e.face == *face && e.after.is_none()));
        let exposed = exposed.map(|t| Debt::Exposed { source: t.source.clone() });
        let debts: Vec<Debt> = by_last_look(history, face).into_iter().chain(exposed).collect();
        (!debts.is_empty()).then(|| Owed { face: face.clone(), debts })
    };
    connectors.iter().filter_map(one).collect()
}

fn by_last_look(history: &History, face: &str) -> Option<Debt> {
    match history.looks(face).next_back() {
        None => Some(Debt::NeverInspected),
        Some((_, Verdict::Fail)) => Some(Debt::Failing),
        Some((_, Verdict::Ungraded)) => Some(Debt::Ungraded),
        Some((at, Verdict::Pass)) => {
            let met: Vec<String> = history.since(at).filter_map(|(_, e)| partner(e, face)).collect();
            (!met.is_empty()).then_some(Debt::MatedSince(met))
        }
    }
}

fn partner(event: &Event, face: &str) -> Option<String> {
    match event {
        Event::Mated { a, b } if a == face => Some(b.clone()),
        Event::Mated { a, b } if b == face => Some(a.clone()),
        _ => None,
    }
}
