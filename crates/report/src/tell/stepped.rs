//! What the pictures of a stepped run say against one another: some that do not join the others, dirt on the camera's
//! optics, and marks that have moved.

use super::{clock, numbers, short_size};
use crate::record::{DisagreementRecord, FaceRecord, PositionRecord, StitchRecord};
use terms::words::listed;

/// Sentences, none where the pictures agree.
pub fn pictures(record: &FaceRecord) -> Vec<String> {
    let Some(stitch) = &record.stitch else { return Vec::new() };
    let mut out = Vec::from_iter(unplaced(stitch, record));
    if !stitch.optics.is_empty() {
        let place = |s: &crate::record::OpticsRecord| {
            let [x, y] = s.centre_px?;
            Some(format!("({x:.0}, {y:.0})"))
        };
        let places: Vec<String> = stitch.optics.iter().filter_map(place).collect();
        out.push(format!(
            "Dirt on the camera's optics: the same pixels of the pictures, at {}.",
            places.join(", ")
        ));
    }
    let told = || stitch.disagreements.iter();
    let mut aside: Vec<u16> = told().filter(|d| d.feature.is_none()).map(|d| d.position).collect();
    aside.dedup();
    if !aside.is_empty() {
        out.push(format!(
            "Left out at {} as dirt on the optics: another picture of the same fibre does not show it.",
            numbers(aside)
        ));
    }
    let moved = told().filter(|d| d.feature.is_some() && d.optics.is_none());
    out.extend(moved.filter_map(|d| has_moved(d, record)));
    out
}

/// Pictures that were not placed, where no gap names them already: one of another face may be among them.
fn unplaced(stitch: &StitchRecord, record: &FaceRecord) -> Option<String> {
    let in_gap = |p: &PositionRecord| {
        let gap = |code: &str| matches!(code, "not-in-view" | "cut-by-border");
        p.source.is_none() && p.reasons.iter().any(|r| gap(&r.code))
    };
    let placements = || record.sources.iter().zip(&stitch.placements);
    let names: Vec<String> = placements().filter(|(_, p)| !p.placed).map(|(s, _)| s.name()).collect();
    if names.len() == placements().count() || record.positions.iter().any(in_gap) {
        return None;
    }
    match &names[..] {
        [] => None,
        [name] => Some(format!(
            "{name} does not join the other pictures and is left out: it shows too little of what they show, or another face."
        )),
        _ => Some(format!(
            "{} do not join the other pictures and are left out: they show too little of what the others show, or another \
             face.",
            listed(names)
        )),
    }
}

fn has_moved(told: &DisagreementRecord, record: &FaceRecord) -> Option<String> {
    let name = |i: usize| record.sources.get(i).map(crate::SourceInfo::name);
    let (here, there) = (name(told.shown_in)?, name(told.absent_in?)?);
    let at = told.centre_um.map_or_else(String::new, |c| format!(" {}", clock(c)));
    Some(format!(
        "Position {}: {here} shows a {} of {} um{at}, {there} does not: it has moved or come off. It is counted.",
        told.position,
        told.kind.word(),
        short_size(told.size_um)
    ))
}

/// Marks left out of a position's features as dirt on the optics.
pub fn left_out(record: &FaceRecord, position: u16) -> impl Iterator<Item = &DisagreementRecord> {
    let told = record.stitch.iter().flat_map(|s| &s.disagreements);
    told.filter(move |d| d.position == position && d.feature.is_none())
}
