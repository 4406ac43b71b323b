//! Counting the features of one fibre, band by band, and which of their sizes lie too near to a limit to be
//! sure of the verdict.

use crate::conformity::Acceptance;
use crate::criteria::{Allowed, Band, Criteria, Rule, Subject};
use crate::verdict::{Finding, Verdict};
use crate::zones::held_to;
use terms::{Feature, FeatureId, Um};

/// Sizes as measured, or all of them moved by their standard uncertainty at once.
#[derive(Clone, Copy)]
enum Sizes {
    Measured,
    Smaller,
    Larger,
}

impl Sizes {
    fn of(self, feature: &Feature) -> Um {
        match self {
            Sizes::Measured => feature.size,
            Sizes::Smaller => Um((feature.size - feature.u).0.max(0.0)),
            Sizes::Larger => feature.size + feature.u,
        }
    }
}

/// One band of one rule, with the features of a fibre that count in it.
pub(crate) struct Tally<'a> {
    pub rule: &'a Rule,
    pub band: &'a Band,
    pub features: Vec<&'a Feature>,
}

impl Tally<'_> {
    pub fn verdict(&self) -> Verdict {
        match self.band.allowed {
            Allowed::Any => Verdict::Pass,
            Allowed::AtMost(limit) if self.features.len() <= limit as usize => Verdict::Pass,
            Allowed::AtMost(_) => Verdict::Fail,
            Allowed::Undecided if self.features.is_empty() => Verdict::Pass,
            Allowed::Undecided => Verdict::Ungraded,
        }
    }

    pub fn finding(&self, conformity: f64) -> Finding {
        Finding {
            zone: self.rule.zone.clone(),
            subject: self.rule.subject,
            rule: self.band.words(self.rule.subject),
            low: self.band.low,
            limit: self.band.allowed,
            counted: self.features.iter().map(|feature| feature.id).collect(),
            verdict: self.verdict(),
            conformity,
            source: self.band.source.clone(),
        }
    }

    fn has(&self, feature: &Feature) -> bool {
        self.features.iter().any(|counted| counted.id == feature.id)
    }
}

/// The features of one fibre counted by one set of criteria.
pub(crate) struct Count<'a> {
    /// Every band of every rule, in the order of the criteria.
    pub tallies: Vec<Tally<'a>>,
    /// Features held to a zone and of a countable size that no band holds: the criteria have a gap there.
    pub in_no_band: Vec<&'a Feature>,
}

impl<'a> Count<'a> {
    /// Counts the features by their measured sizes.
    pub fn of(features: &[&'a Feature], criteria: &'a Criteria) -> Count<'a> {
        Count::by(Sizes::Measured, features, criteria)
    }

    fn by(sizes: Sizes, features: &[&'a Feature], criteria: &'a Criteria) -> Count<'a> {
        let mut tallies: Vec<Tally> = criteria
            .rules
            .iter()
            .flat_map(|rule| rule.bands.iter().map(move |band| Tally { rule, band, features: vec![] }))
            .collect();
        let mut in_no_band = vec![];
        for &feature in features {
            let size = sizes.of(feature);
            if size < criteria.counting.smallest_counted {
                continue;
            }
            for zone in held_to(feature, criteria) {
                let subject = Subject::of(feature.kind);
                let band = tallies.iter_mut().find(|tally| {
                    tally.rule.zone == zone.name && tally.rule.subject == subject && tally.band.holds(size)
                });
                match band {
                    Some(tally) => tally.features.push(feature),
                    None => in_no_band.push(feature),
                }
            }
        }
        Count { tallies, in_no_band }
    }

    /// Counts the features with every limit drawn in by the guard band of their size: a feature counts in each band
    /// with a limit that its size would reach if it were changed by the guard band, and in a band without one by
    /// its measured size. For simple acceptance this is [`Count::of`].
    pub fn guarded(features: &[&'a Feature], criteria: &'a Criteria, acceptance: Acceptance) -> Count<'a> {
        let mut count = Count::of(features, criteria);
        for &feature in features {
            let (w, smallest) = (acceptance.guard_band(feature.u), criteria.counting.smallest_counted);
            let (low, high) = (Um((feature.size - w).0.max(0.0)), feature.size + w);
            let zones = held_to(feature, criteria);
            let near = |tally: &Tally| {
                tally.rule.subject == Subject::of(feature.kind)
                    && tally.band.allowed != Allowed::Any
                    && zones.iter().any(|zone| zone.name == tally.rule.zone)
                    && tally.band.meets(Um(low.0.max(smallest.0)), high)
            };
            if w > Um(0.0) && high >= smallest {
                let more = count.tallies.iter_mut().filter(|t| near(t) && !t.has(feature));
                more.for_each(|tally| tally.features.push(feature));
            }
        }
        count
    }

    /// Fails if a band does; else ungraded if a band is, if a feature is in no band, or if there is no band.
    pub fn verdict(&self) -> Verdict {
        let gap = (!self.in_no_band.is_empty()).then_some(Verdict::Ungraded);
        Verdict::of_parts(self.tallies.iter().map(Tally::verdict).chain(gap))
    }
}

/// The features, in order of id, whose sizes lie within their standard uncertainty of a limit that decides
/// the verdict. All sizes are moved down by their uncertainty at once, then up; where that gives the fibre
/// another verdict, the features that entered or left a band whose own verdict changed are the ones meant.
/// The verdict itself is by simple acceptance (JCGM 106:2012, The role of measurement uncertainty in
/// conformity assessment, guard band of zero): the measured size decides.
pub(crate) fn near_limit(features: &[&Feature], criteria: &Criteria, count: &Count) -> Vec<FeatureId> {
    let mut near = vec![];
    for sizes in [Sizes::Smaller, Sizes::Larger] {
        let moved = Count::by(sizes, features, criteria);
        if moved.verdict() == count.verdict() {
            continue;
        }
        let changed = count.tallies.iter().zip(&moved.tallies).filter(|(a, b)| a.verdict() != b.verdict());
        for (now, then) in changed {
            near.extend(features.iter().filter(|f| now.has(f) != then.has(f)).map(|f| f.id));
        }
    }
    near.sort();
    near.dedup();
    near
}
