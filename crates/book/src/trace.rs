//! What a failing face touched since it last passed, what those touched in turn, and how each was found. Own method:
//! one sweep over the events in order of time, so that dirt never travels backwards in time.

use crate::history::{Event, History};
use grade::Verdict;
use std::collections::BTreeMap;

/// How an exposed face was found after it was exposed, worst first. No source; common practice ranks by evidence.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Finding {
    /// It passed before and fails since.
    Spoilt,
    /// It fails, and no pass before says that it was clean.
    Fails,
    /// Nobody looked at it since.
    NotLookedAt,
    /// It was looked at and could not be graded.
    Ungraded,
    /// It passes since.
    Passes,
}

/// A face that was exposed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Exposure {
    /// The face.
    pub face: String,
    /// The face that it touched.
    pub by: String,
    /// The place in time of that mating.
    pub at: usize,
    /// 1 if it touched the failing face itself, 2 if it touched one of those, and so on.
    pub generation: u32,
    /// What it was found to be before.
    pub before: Option<Verdict>,
    /// What the next look found.
    pub after: Option<Verdict>,
}

impl Exposure {
    /// What before and after say together.
    pub fn finding(&self) -> Finding {
        match (self.before, self.after) {
            (Some(Verdict::Pass), Some(Verdict::Fail)) => Finding::Spoilt,
            (_, Some(Verdict::Fail)) => Finding::Fails,
            (_, None) => Finding::NotLookedAt,
            (_, Some(Verdict::Ungraded)) => Finding::Ungraded,
            (_, Some(Verdict::Pass)) => Finding::Passes,
        }
    }
}

/// What a failing face may have spoilt.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trace {
    /// The face that failed.
    pub source: String,
    /// The look at which it last passed before that; none if it never did.
    pub passed_at: Option<usize>,
    /// The look at which it failed.
    pub failed_at: usize,
    /// Every exposure, in order of time.
    pub exposures: Vec<Exposure>,
}

impl Trace {
    /// The exposures by risk: how the face was found, then how near it was to the source, then when.
    pub fn ranked(&self) -> Vec<&Exposure> {
        let mut ranked: Vec<&Exposure> = self.exposures.iter().collect();
        ranked.sort_by_key(|e| (e.finding(), e.generation, e.at));
        ranked
    }
}

/// Traces a face from its last failing look; none if it never failed.
pub fn trace(history: &History, source: &str) -> Option<Trace> {
    traces(history, source).pop()
}

/// Traces a face from every failing look, in order of time; of several without a pass between them, from the last.
///
/// A face carries from the mating that exposed it until it next passes; one that passed can be exposed again. A face
/// that carries already keeps its first exposure.
pub fn traces(history: &History, source: &str) -> Vec<Trace> {
    let mut failures: BTreeMap<Option<usize>, usize> = BTreeMap::new();
    let mut passed_at = None;
    for (at, verdict) in history.looks(source) {
        match verdict {
            Verdict::Pass => passed_at = Some(at),
            Verdict::Fail => drop(failures.insert(passed_at, at)),
            Verdict::Ungraded => {}
        }
    }
    failures.into_iter().map(|(passed_at, failed_at)| swept(history, source, passed_at, failed_at)).collect()
}

/// What a face carried since a pass that was followed by a failure.
fn swept(history: &History, source: &str, passed_at: Option<usize>, failed_at: usize) -> Trace {
    let mut carriers = BTreeMap::from([(source.to_owned(), 0)]);
    let mut exposures = Vec::new();
    for (at, event) in history.since(passed_at.map_or(0, |p| p + 1)) {
        match event {
            Event::Inspected { face, verdict: Verdict::Pass } => {
                carriers.remove(face);
            }
            Event::Mated { a, b } => exposures.extend(meet(history, &mut carriers, (a, b), at)),
            Event::Inspected { .. } | Event::Cleaned { .. } => {}
        }
    }
    Trace { source: source.to_owned(), passed_at, failed_at, exposures }
}

/// The exposure that a mating makes, if one of the two carries and the other does not.
fn meet(
    history: &History,
    carriers: &mut BTreeMap<String, u32>,
    (a, b): (&String, &String),
    at: usize,
) -> Option<Exposure> {
    let (by, face, carried) = match (carriers.get(a), carriers.get(b)) {
        (Some(&g), None) => (a, b, g),
        (None, Some(&g)) => (b, a, g),
        _ => return None,
    };
    let generation = carried + 1;
    carriers.insert(face.clone(), generation);
    let (before, after) = (history.before(face, at), history.after(face, at));
    Some(Exposure { face: face.clone(), by: by.clone(), at, generation, before, after })
}
