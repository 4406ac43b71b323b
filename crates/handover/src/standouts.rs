//! What stands out in a job beyond chance: the share of connectors that passed at first sight, positions that fail
//! more often than their connectors explain, cords whose connectors fail more often than the others'.

use crate::job::Job;
use report::record::Verdict;
use std::collections::{BTreeMap, BTreeSet};
use study::binomial::Share;
use study::standout::{at_least, fisher_greater, holm};

/// A culprit is named where chance would do as much less often than this, all looks of its kind counted.
pub const LEVEL: f64 = 0.05;

/// One thing that was counted.
#[derive(Clone, Debug, PartialEq)]
pub struct Counted {
    /// Position or cord.
    pub name: String,
    /// How many failed, of how many.
    pub failed: Share,
    /// How many would have, if it were like the others.
    pub expected: f64,
    /// Probability of as many or more by chance.
    pub p: f64,
    /// The same, corrected for all looks of its kind (Holm).
    pub corrected: f64,
}

impl Counted {
    /// Whether chance is no good explanation.
    pub fn stands_out(&self) -> bool {
        self.corrected < LEVEL
    }
}

/// The statistics of a job.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Standouts {
    /// Connectors that passed at first sight, of those looked at.
    pub first_pass: Share,
    /// Positions by number.
    pub positions: Vec<Counted>,
    /// Cords by name.
    pub cords: Vec<Counted>,
}

/// Counts a job.
pub fn standouts(job: &Job) -> Standouts {
    let firsts = job.connectors().filter_map(|(_, c)| c.first_verdict());
    Standouts {
        first_pass: Share::of(firsts.map(|v| v == Verdict::Pass)),
        positions: positions(job),
        cords: cords(job),
    }
}

/// First sights only: what was cleaned and looked at again says nothing of how it came. Each connector's number of
/// failing positions is taken as it is, so that one dirty face is not taken for twelve bad positions; under chance each
/// of its graded positions is as likely to be among them. Positions of different layouts are different positions.
fn positions(job: &Job) -> Vec<Counted> {
    let mut seen: BTreeMap<(&str, u16), (Share, Vec<f64>)> = BTreeMap::new();
    for look in job.connectors().filter_map(|(_, c)| c.inspections.first()) {
        let graded: Vec<(u16, bool)> = look
            .face
            .positions
            .iter()
            .filter(|p| p.verdict != Verdict::Ungraded)
            .map(|p| (p.position, p.verdict == Verdict::Fail))
            .collect();
        let rate = Share::of(graded.iter().map(|g| g.1)).value().unwrap_or(0.0);
        for (position, failed) in graded {
            let (share, chances) = seen.entry((&look.face.layout, position)).or_default();
            *share = share.and(failed);
            chances.push(rate);
        }
    }
    let layouts: BTreeSet<&str> = seen.keys().map(|(layout, _)| *layout).collect();
    let name = |layout: &str, position: u16| match layouts.len() {
        1 => position.to_string(),
        _ => format!("{position} of {layout}"),
    };
    let one = |((layout, position), (failed, chances)): ((&str, u16), (Share, Vec<f64>))| Counted {
        name: name(layout, position),
        failed,
        expected: chances.iter().sum(),
        p: at_least(failed.count, &chances),
        corrected: 1.0,
    };
    corrected(seen.into_iter().map(one).collect())
}

/// Connectors that met a cord against all that did not; a connector counts once for each cord it met. One that was not
/// graded tells nothing of any cord.
fn cords(job: &Job) -> Vec<Counted> {
    let mut met: BTreeMap<&str, BTreeSet<(usize, usize)>> = BTreeMap::new();
    for mating in &job.matings {
        met.entry(&mating.cord).or_default().insert(mating.connector);
    }
    let mut failed: BTreeMap<(usize, usize), bool> = BTreeMap::new();
    for (cable, c) in job.cables.iter().enumerate() {
        let graded = c.connectors.iter().enumerate().filter_map(|(k, c)| Some((k, c.verdict()?)));
        let graded = graded.filter(|(_, verdict)| *verdict != Verdict::Ungraded);
        failed.extend(graded.map(|(k, verdict)| ((cable, k), verdict == Verdict::Fail)));
    }
    let one = |(cord, with): (&str, &BTreeSet<(usize, usize)>)| {
        let of = |side: bool| {
            failed.iter().filter(move |(at, _)| with.contains(at) == side).map(|(_, failed)| *failed)
        };
        let (share, others) = (Share::of(of(true)), Share::of(of(false)));
        let whole = (share.count + others.count) as f64 / failed.len().max(1) as f64;
        Counted {
            name: cord.to_owned(),
            failed: share,
            expected: whole * share.of as f64,
            p: fisher_greater(share, others),
            corrected: 1.0,
        }
    };
    corrected(met.iter().map(|(cord, with)| one((cord, with))).collect())
}

fn corrected(mut all: Vec<Counted>) -> Vec<Counted> {
    let each: Vec<f64> = all.iter().map(|c| c.p).collect();
    all.iter_mut().zip(holm(&each)).for_each(|(c, p)| c.corrected = p);
    all
}
