//! What must be looked at before a job may be handed over, connector by connector.

use crate::history::{Event, History};
use crate::trace::{Trace, traces};
use grade::Verdict;
use std::collections::BTreeMap;

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
    /// It was cleaned after its last pass; cleaning can leave a film.
    CleanedSince,
    /// Its last two looks do not show one ferrule, or not the same side up: why.
    LooksDiffer(String),
    /// It was exposed, directly or through others, to faces that failed, and nobody looked since.
    Exposed {
        /// The faces that failed.
        sources: Vec<String>,
        /// The face that it touched.
        by: String,
        /// The place in time of that mating.
        at: usize,
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

/// What is owed for the connectors of a job, in the order given. `sources` are the faces, cords among them, whose
/// failures are traced. The job may be called done only if nothing comes back.
pub fn owed(history: &History, connectors: &[String], sources: &[String]) -> Vec<Owed> {
    let traces: Vec<_> = sources.iter().flat_map(|s| traces(history, s)).collect();
    let one = |face: &String| {
        let debts: Vec<Debt> =
            by_last_look(history, face).into_iter().chain(exposed(&traces, face)).collect();
        (!debts.is_empty()).then(|| Owed { face: face.clone(), debts })
    };
    connectors.iter().filter_map(one).collect()
}

/// What it was exposed to and nobody looked at since, one for each mating.
pub fn exposed(traces: &[Trace], face: &str) -> Vec<Debt> {
    let mut by_mating: BTreeMap<usize, (String, Vec<String>)> = BTreeMap::new();
    for trace in traces {
        for exposure in trace.exposures.iter().filter(|e| e.face == face && e.after.is_none()) {
            let (_, sources) = by_mating.entry(exposure.at).or_insert((exposure.by.clone(), Vec::new()));
            if !sources.contains(&trace.source) {
                sources.push(trace.source.clone());
            }
        }
    }
    by_mating.into_iter().map(|(at, (by, sources))| Debt::Exposed { sources, by, at }).collect()
}

fn by_last_look(history: &History, face: &str) -> Vec<Debt> {
    match history.looks(face).next_back() {
        None => vec![Debt::NeverInspected],
        Some((_, Verdict::Fail)) => vec![Debt::Failing],
        Some((_, Verdict::Ungraded)) => vec![Debt::Ungraded],
        Some((at, Verdict::Pass)) => {
            let met: Vec<String> = history.since(at).filter_map(|(_, e)| partner(e, face)).collect();
            let cleaned =
                history.since(at).any(|(_, e)| matches!(e, Event::Cleaned { face: f } if f == face));
            let met = (!met.is_empty()).then_some(Debt::MatedSince(met));
            met.into_iter().chain(cleaned.then_some(Debt::CleanedSince)).collect()
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
