//! Two records and what was found of them as one: copies features by their ids. Decides nothing.

use super::record::*;
use crate::record::number::{RATIO, UM, rounded};
use crate::record::{AdviceRecord, Care, FaceRecord, FeatureRecord, PositionRecord, Tool, spot};
use grade::CableMap;
use grade::advice::{Found, History, Matter};
use grade::compare::{self, Change, Changes, Comparison, Flip, Moved, Side, Size};
use terms::{FeatureId, Um};

/// What the record of a comparison is made from.
#[derive(Clone, Copy, Debug)]
pub struct CompareInputs<'a> {
    /// The face before.
    pub before: &'a FaceRecord,
    /// The face after; turned as the comparison found it.
    pub after: &'a FaceRecord,
    /// What became of the marks.
    pub comparison: &'a Comparison,
    /// Version of the program.
    pub tool_version: &'a str,
    /// The cable behind the face, if one was stated.
    pub cable: Option<&'a CableMap>,
    /// What advice rests on; without it none is given.
    pub care: Option<Care<'a>>,
}

impl CompareRecord {
    /// The record of a comparison.
    pub fn new(inputs: CompareInputs<'_>) -> CompareRecord {
        let CompareInputs { before, after, comparison, tool_version, .. } = inputs;
        let positions: Vec<ChangesRecord> =
            before.positions.iter().map(|position| at(position, &inputs)).collect();
        CompareRecord {
            schema: COMPARE_FORMAT.to_owned(),
            tool: Tool { name: "pitchline".to_owned(), version: tool_version.to_owned() },
            layout: before.layout.clone(),
            criteria: after.criteria.clone(),
            same_face: comparison.sameness.certain,
            verdict_before: before.verdict,
            verdict_after: after.verdict,
            evidence: evidence(comparison),
            totals: totals(&positions),
            advice: inputs.care.map(|care| advice(&positions, after, care)).unwrap_or_default(),
            positions,
            series: Vec::new(),
            before: side(before),
            after: side(after),
        }
    }
}

/// What to do about the marks that break a limit after, and of what to warn where a mark is new, whatever the limits: a
/// new scratch says that something hard is on the cleaner.
fn advice(positions: &[ChangesRecord], after: &FaceRecord, care: Care) -> AdviceRecord {
    let innermost = after.criteria.zones.first().map(|zone| zone.name.as_str());
    let (stayed, cleaned) = (care.counsel.of_what_stayed(care.cleaned), care.counsel.after(care.cleaned));
    let mut found = Vec::new();
    for at in positions {
        let mark = |feature: &FeatureRecord, history| Found {
            position: Some(at.position),
            id: feature.id,
            matter: Matter::Mark(feature.kind.into()),
            size: Um(feature.size_um.unwrap_or(0.0)),
            spot: spot(feature.zone.as_deref(), innermost),
            history,
            within: false,
        };
        let new = at.new.iter().filter(|f| !f.part);
        let new = new.map(|f| Found { within: !f.breaks_limit, ..mark(&f.feature, History::New) });
        let unsure = at.unsure.iter().filter(|f| f.breaks_limit && f.seen == Seen::After);
        // What became smaller was not fixed: another clean may take the rest.
        let kept = at.remaining.iter().filter(|f| f.breaks_limit);
        found.extend(kept.map(|f| mark(&f.feature, if f.shrunk { cleaned } else { stayed })));
        found.extend(new);
        found.extend(unsure.map(|f| mark(&f.feature, cleaned)));
    }
    AdviceRecord::new(care.counsel, &found, &after.positions)
}

fn side(face: &FaceRecord) -> SideRecord {
    SideRecord { sources: face.sources.clone(), view: face.view }
}

fn evidence(comparison: &Comparison) -> EvidenceRecord {
    let sameness = &comparison.sameness;
    EvidenceRecord {
        log10_odds: rounded(sameness.log_odds / std::f64::consts::LN_10, 1),
        fibres: sameness.fingerprint.fibres,
        apart_um: rounded(sameness.fingerprint.apart, UM),
        eccentricity_um: rounded(sameness.fingerprint.scatter, UM),
        marks: sameness.marks,
        pictures: comparison.pictures,
        turned: match sameness.flip {
            Flip::None => Turned::AsStated,
            Flip::HalfTurn => Turned::HalfTurn,
            Flip::Mirror => Turned::Mirrored,
            Flip::MirrorAndHalfTurn => Turned::MirroredHalfTurn,
        },
    }
}

fn totals(positions: &[ChangesRecord]) -> TotalsRecord {
    let sum = |count: fn(&ChangesRecord) -> usize| positions.iter().map(count).sum();
    TotalsRecord {
        removed: sum(|p| p.removed.len()),
        remaining: sum(|p| p.remaining.len()),
        grown: sum(|p| p.remaining.iter().filter(|f| f.grown).count()),
        new: sum(|p| p.new.len()),
        moved: sum(|p| p.moved.len()),
        unsure: sum(|p| p.unsure.len()),
    }
}

fn at(was: &PositionRecord, inputs: &CompareInputs) -> ChangesRecord {
    let number = was.position;
    let is = inputs.after.positions.iter().find(|p| p.position == number).unwrap_or(was);
    let nothing = Changes::default();
    let found = inputs.comparison.positions.iter().find(|(position, _)| *position == number);
    let changes = found.map_or(&nothing, |(_, changes)| changes);
    let moved = inputs.comparison.moved.iter().filter(|m| m.from.0 == number);
    ChangesRecord {
        position: number,
        verdict_before: was.verdict,
        verdict_after: is.verdict,
        removed: changes.removed.iter().filter_map(|change| changed(change, was, inputs.before)).collect(),
        remaining: changes.remaining.iter().filter_map(|kept| kept_feature(kept, was, is)).collect(),
        moved: moved.filter_map(|m| moved_feature(m, was, inputs.after)).collect(),
        new: changes.new.iter().filter_map(|change| changed(change, is, inputs.after)).collect(),
        unsure: changes.unsure.iter().filter_map(|unsure| unsure_feature(unsure, was, is)).collect(),
        reasons: is.reasons.clone(),
        conformity_after: is.conformity,
        row: was.row,
        column: was.column,
        far: inputs.cable.and_then(|cable| cable.far(number)),
    }
}

fn named(position: &PositionRecord, id: FeatureId) -> Option<FeatureRecord> {
    position.feature(id.0).cloned()
}

fn changed(change: &Change, position: &PositionRecord, face: &FaceRecord) -> Option<ChangedFeature> {
    let whole = named(position, change.id)?;
    let breaks_limit = change.part.is_none() && position.breaks(whole.id);
    let feature = match &change.part {
        Some(part) => face.part(part, position)?,
        None => whole,
    };
    let likelihood = rounded(change.likelihood, RATIO)?;
    Some(ChangedFeature { feature, likelihood, breaks_limit, part: change.part.is_some() })
}

fn kept_feature(kept: &compare::Kept, was: &PositionRecord, is: &PositionRecord) -> Option<KeptFeature> {
    let first = kept.before.first().and_then(|id| was.feature(id.0));
    Some(KeptFeature {
        feature: named(is, kept.after)?,
        before_ids: kept.before.iter().map(|id| id.0).collect(),
        size_before_um: first.and_then(|f| f.size_um),
        grown: kept.size == Size::Grown,
        shrunk: kept.size == Size::Shrunk,
        breaks_limit: is.breaks(kept.after.0),
    })
}

fn moved_feature(moved: &Moved, was: &PositionRecord, after: &FaceRecord) -> Option<MovedFeature> {
    let there = after.positions.iter().find(|p| p.position == moved.to.0)?;
    Some(MovedFeature {
        from: named(was, moved.from.1)?,
        to: named(there, moved.to.1)?,
        to_position: moved.to.0,
        likelihood: rounded(moved.likelihood, RATIO)?,
    })
}

fn unsure_feature(
    unsure: &compare::Unsure,
    was: &PositionRecord,
    is: &PositionRecord,
) -> Option<UnsureFeature> {
    let (position, seen) = match unsure.side {
        Side::Before => (was, Seen::Before),
        Side::After => (is, Seen::After),
    };
    let doubt = match unsure.doubt {
        compare::Doubt::Faint => Doubt::Faint,
        compare::Doubt::Covered => Doubt::Covered,
        compare::Doubt::Film => Doubt::Film,
        compare::Doubt::NotShown => Doubt::NotShown,
    };
    let breaks_limit = position.breaks(unsure.id.0);
    Some(UnsureFeature { feature: named(position, unsure.id)?, seen, doubt, breaks_limit })
}
