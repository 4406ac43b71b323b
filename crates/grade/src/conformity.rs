//! How sure a verdict is: probabilities that true sizes and counts hold the limits, given the measured sizes and
//! their uncertainties; and limits drawn in by a guard band.
//!
//! A true size is taken to be normal about the measured one (JCGM 106:2012, 7: no other knowledge of it). The
//! errors of different marks are taken to be independent. What is common to all of them, an error of the scale or
//! of the blur, would move all sizes together; the scale is known to some 1e-4, and the blur's error is small
//! against the errors of single marks.

use crate::count::Tally;
use crate::criteria::{Allowed, Band, Criteria, Subject};
use crate::zones::held_to;
use std::collections::BTreeMap;
use terms::normal::{cdf, quantile};
use terms::{Feature, Um};

/// How measured sizes are held to the limits.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Acceptance {
    /// As they were measured.
    #[default]
    Simple,
    /// With every limit drawn in, so that a mark exactly at a limit is accepted with this risk.
    Guarded(Risk),
}

/// A risk of accepting what lies exactly at a limit: above 0 and no more than one half.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Risk(f64);

impl Risk {
    /// None unless 0 < `risk` <= 0.5.
    pub fn new(risk: f64) -> Option<Risk> {
        (risk > 0.0 && risk <= 0.5).then_some(Risk(risk))
    }

    /// As a share.
    pub const fn get(self) -> f64 {
        self.0
    }
}

impl Acceptance {
    /// By how much the limits are drawn in for a size of standard uncertainty `u` (JCGM 106:2012, 8.3.2).
    pub fn guard_band(self, u: Um) -> Um {
        match self {
            Acceptance::Simple => Um(0.0),
            // A risk lies inside (0, 1), so that there is a quantile; at one half it is 0.
            Acceptance::Guarded(Risk(risk)) => Um(quantile(1.0 - risk).unwrap_or(0.0).max(0.0) * u.0),
        }
    }
}

/// Probability that a value measured as `y` with standard uncertainty `u` truly lies from `low` to `high`; without
/// uncertainty 1 or 0, both ends inside.
///
/// Source: JCGM 106:2012, Evaluation of measurement data: The role of measurement uncertainty in conformity
/// assessment, 7.3 and 7.4.
pub fn probability_within(y: f64, u: f64, low: f64, high: f64) -> f64 {
    if u > 0.0 {
        (cdf((high - y) / u) - cdf((low - y) / u)).max(0.0)
    } else {
        f64::from(u8::from(low <= y && y <= high))
    }
}

/// Probabilities that the limits are held.
pub(crate) struct Chances {
    /// Of each tally, in order.
    pub bands: Vec<f64>,
    /// Of all of them at once.
    pub all: f64,
}

/// One possible true range of a feature's size: how probable, and the tallies that it then counts in; none where
/// it lies in no band that the criteria decide.
struct Cell {
    probability: f64,
    counts_in: Option<Vec<usize>>,
}

/// What is less probable than this is left out.
const NEGLIGIBLE: f64 = 1e-12;

/// The chances of features whose sizes and uncertainties are numbers.
pub(crate) fn chances(features: &[&Feature], criteria: &Criteria, tallies: &[Tally]) -> Chances {
    let cells: Vec<Vec<Cell>> = features.iter().map(|f| cells(f, criteria, tallies)).collect();
    let bands = (0..tallies.len())
        .map(|k| {
            let inside = |cell: &&Cell| cell.counts_in.as_ref().is_some_and(|c| c.contains(&k));
            let p = cells.iter().map(|of| of.iter().filter(inside).map(|c| c.probability).sum::<f64>());
            most(tallies[k].band).map_or(1.0, |most| at_most(p, most))
        })
        .collect();
    Chances { bands, all: all_held(&cells, tallies) }
}

/// How many features of a band leave its limit held: none where it is not decided; no limit where any number is.
fn most(band: &Band) -> Option<usize> {
    match band.allowed {
        Allowed::Any => None,
        Allowed::AtMost(limit) => Some(limit as usize),
        Allowed::Undecided => Some(0),
    }
}

/// Probability that at most `most` of independent events come true (the Poisson binomial distribution, summed
/// event by event).
pub fn at_most(events: impl Iterator<Item = f64>, most: usize) -> f64 {
    let mut so_many = vec![0.0; most + 1];
    so_many[0] = 1.0;
    for p in events {
        for k in (0..=most).rev() {
            let before = if k > 0 { so_many[k - 1] } else { 0.0 };
            so_many[k] = so_many[k] * (1.0 - p) + before * p;
        }
    }
    so_many.iter().sum()
}

/// Probability that all limits are held at once: a feature is in one band of a rule only, so that the counts of
/// its bands hang together; followed feature by feature over all counts that still hold.
fn all_held(cells: &[Vec<Cell>], tallies: &[Tally]) -> f64 {
    let limited: Vec<(usize, usize)> =
        (0..tallies.len()).filter_map(|k| Some((k, most(tallies[k].band)?))).collect();
    let mut counts: BTreeMap<Vec<usize>, f64> = BTreeMap::from([(vec![0; limited.len()], 1.0)]);
    for of in cells {
        let mut next: BTreeMap<Vec<usize>, f64> = BTreeMap::new();
        for (count, probability) in &counts {
            for cell in of {
                let Some(held) = cell.added(count, &limited) else { continue };
                *next.entry(held).or_insert(0.0) += probability * cell.probability;
            }
        }
        next.retain(|_, probability| *probability > NEGLIGIBLE);
        counts = next;
    }
    counts.values().sum()
}

impl Cell {
    /// The counts with one feature more in this cell's bands; none if a limit is then broken or nothing decided.
    fn added(&self, count: &[usize], limited: &[(usize, usize)]) -> Option<Vec<usize>> {
        let counts_in = self.counts_in.as_ref()?;
        let mut held = count.to_vec();
        for (n, (k, most)) in held.iter_mut().zip(limited) {
            *n += usize::from(counts_in.contains(k));
            if *n > *most {
                return None;
            }
        }
        Some(held)
    }
}

/// The ranges of true size between the limits that concern a feature, each with its probability.
fn cells(feature: &Feature, criteria: &Criteria, tallies: &[Tally]) -> Vec<Cell> {
    let zones: Vec<&str> = held_to(feature, criteria).iter().map(|zone| zone.name.as_str()).collect();
    let subject = Subject::of(feature.kind);
    let rules: Vec<(usize, &Tally)> = tallies
        .iter()
        .enumerate()
        .filter(|(_, t)| t.rule.subject == subject && zones.contains(&t.rule.zone.as_str()))
        .collect();
    let smallest = criteria.counting.smallest_counted;
    let bands_of = |size: Um| -> Option<Vec<usize>> {
        if size < smallest {
            return Some(Vec::new());
        }
        let held: Vec<usize> = rules.iter().filter(|(_, t)| t.band.holds(size)).map(|(k, _)| *k).collect();
        (held.len() == zones.len()).then_some(held)
    };
    let (y, u) = (feature.size.0, feature.u.0);
    if u <= 0.0 {
        return vec![Cell { probability: 1.0, counts_in: bands_of(feature.size) }];
    }
    let mut edges: Vec<f64> = rules
        .iter()
        .flat_map(|(_, t)| [Some(t.band.low.0), t.band.high.map(|h| h.0)])
        .flatten()
        .chain([smallest.0])
        .filter(|edge| *edge > 0.0)
        .collect();
    edges.sort_by(f64::total_cmp);
    edges.dedup();
    let from = std::iter::once(f64::NEG_INFINITY).chain(edges.iter().copied());
    let to = edges.iter().copied().chain([f64::INFINITY]);
    let within = from.zip(to).map(|(low, high)| Cell {
        probability: probability_within(y, u, low, high),
        counts_in: bands_of(Um(between(low, high))),
    });
    within.filter(|cell| cell.probability > NEGLIGIBLE).collect()
}

/// A size inside a range; no size is below 0.
fn between(low: f64, high: f64) -> f64 {
    let low = low.max(0.0);
    if high.is_finite() { 0.5 * (low + high) } else { 2.0 * low + 1.0 }
}
