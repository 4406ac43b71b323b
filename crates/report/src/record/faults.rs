//! What contradicts itself in a record, or cannot be: a verdict that is not that of its parts, numbers of no end face.

use super::read::whole;
use super::{FaceRecord, FeatureRecord, FindingRecord, PositionRecord, SourceInfo, Verdict};
use std::collections::BTreeSet;
use std::ops::RangeInclusive;

/// Micrometres per pixel of any camera that could show a fibre.
const SCALES: RangeInclusive<f64> = 1e-3..=1e3;
/// Longer than the largest ferrule is wide, um.
const LONGEST: f64 = 1e5;
/// Diameters of the glass of any fibre, um.
const CLADDINGS: RangeInclusive<f64> = 1.0..=2000.0;
/// Widths that a core can look, um.
const CORES: RangeInclusive<f64> = 0.0..=150.0;

/// The first fault, in words.
pub fn fault(record: &FaceRecord) -> Option<String> {
    let numbers: BTreeSet<u16> = record.positions.iter().map(|p| p.position).collect();
    if record.positions.is_empty() || numbers.len() < record.positions.len() {
        return Some("`positions` is empty or names a position twice".to_owned());
    }
    let seats: BTreeSet<(u16, u16)> = record.positions.iter().map(|p| (p.row, p.column)).collect();
    if seats.len() < record.positions.len() {
        return Some("two of its positions lie in one place".to_owned());
    }
    if record.poses.len() != record.sources.len() {
        return Some("`poses` and `sources` are not equally long".to_owned());
    }
    let flat = |m: &[[f64; 2]; 2]| (m[0][0] * m[1][1] - m[0][1] * m[1][0]).abs() < 1e-9;
    if record.poses.iter().filter_map(|pose| pose.px_per_um.as_ref()).any(flat) {
        return Some("`poses` holds a matrix that maps the face to a line".to_owned());
    }
    if !SCALES.contains(&record.scale.um_per_px) {
        return Some("`um_per_px` is the scale of no picture".to_owned());
    }
    if record.verdict != whole(record.positions.iter().map(|p| p.verdict)) {
        return Some(format!("its verdict `{}` is not that of its positions", record.verdict.word()));
    }
    record.positions.iter().find_map(|p| {
        fault_at(p, record).or_else(|| verdict_at(p)).map(|what| format!("position {} {what}", p.position))
    })
}

fn fault_at(position: &PositionRecord, record: &FaceRecord) -> Option<String> {
    let source = position.source.map(|s| record.sources.get(s));
    if source.is_some_and(|s| s.is_none()) {
        return Some("names a source that there is not".to_owned());
    }
    let ids: BTreeSet<u32> = position.features.iter().map(|f| f.id).collect();
    if ids.len() < position.features.len() {
        return Some("has two features of one id".to_owned());
    }
    if position.features.iter().any(|f| f.size_um.is_some_and(|s| s < 0.0)) {
        return Some("has a feature of negative size".to_owned());
    }
    if spreads(position).any(|spread| spread < 0.0) {
        return Some("holds an uncertainty, a blur or a length below 0".to_owned());
    }
    if probabilities(position).any(|p| !(0.0..=1.0).contains(&p)) {
        return Some("holds a probability that is none".to_owned());
    }
    if position.cladding_diameter_um.is_some_and(|d| !CLADDINGS.contains(&d)) {
        return Some("has a cladding of a diameter that no fibre has".to_owned());
    }
    if position.core_width_um.is_some_and(|w| !CORES.contains(&w)) {
        return Some("has a core of a width that no fibre has".to_owned());
    }
    let offset = position.offset_um.into_iter().flatten().chain(position.nominal_um);
    if offset.chain(position.features.iter().flat_map(lengths)).any(|length| length.abs() > LONGEST) {
        return Some("holds a length that no end face has".to_owned());
    }
    let outlines = position.features.iter().flat_map(|f| &f.outline_px);
    let outside = |at: &[f64; 2]| source.flatten().is_some_and(|picture| !about(picture, *at));
    if position.centre_px.iter().chain(outlines).any(outside) {
        return Some("lies far outside its picture".to_owned());
    }
    None
}

/// What is never below 0.
fn spreads(position: &PositionRecord) -> impl Iterator<Item = f64> {
    let own =
        [position.centre_u_um, position.blur_um, position.smallest_visible_um, position.faintest_visible];
    let lengths = position.features.iter().flat_map(|f| [f.u_um, f.length_um]);
    own.into_iter().chain(lengths).flatten()
}

fn probabilities(position: &PositionRecord) -> impl Iterator<Item = f64> {
    position.findings.iter().map(|f| f.conformity).chain([position.conformity]).flatten()
}

fn lengths(feature: &FeatureRecord) -> impl Iterator<Item = f64> {
    let one = [feature.size_um, feature.u_um, feature.length_um].into_iter().flatten();
    one.chain(feature.centre_um.into_iter().flatten()).chain(feature.reach_um.into_iter().flatten())
}

/// Whether a place lies in a picture or no farther beside it than the picture is large.
fn about(picture: &SourceInfo, [x, y]: [f64; 2]) -> bool {
    let within = |x: f64, size: u32| (-f64::from(size)..=2.0 * f64::from(size)).contains(&x);
    within(x, picture.width_px) && within(y, picture.height_px)
}

/// What in a position says another verdict than it has.
fn verdict_at(position: &PositionRecord) -> Option<String> {
    let known = |id: &u32| position.feature(*id).is_some();
    for finding in &position.findings {
        if finding.observed != finding.counted.len() || !finding.counted.iter().all(known) {
            return Some(format!("counts other {} than it holds", finding.subject.word()));
        }
        if !fits_limit(finding) {
            return Some(format!(
                "says {} of {} {} where {} allowed",
                finding.verdict.word(),
                finding.observed,
                finding.rule,
                match finding.limit.as_str() {
                    "not decided" => "it is not decided how many are".to_owned(),
                    limit => format!("{limit} are"),
                }
            ));
        }
    }
    let says = position.verdict;
    let told = whole(position.findings.iter().map(|f| f.verdict));
    let but =
        |of: &str, told: Verdict| Some(format!("says {} and its {of} say {}", says.word(), told.word()));
    match (says, told) {
        // A mark that no rule knows or that could not be measured leaves a position open that breaks no rule.
        (Verdict::Pass | Verdict::Fail, _) if says != told => but("findings", told),
        (Verdict::Ungraded, Verdict::Fail) => but("findings", told),
        _ if (says == Verdict::Pass) != position.reasons.is_empty() => Some(format!(
            "says {} and gives {}",
            says.word(),
            match position.reasons.len() {
                0 => "no reason",
                _ => "reasons against it",
            }
        )),
        _ => None,
    }
}

/// Whether a finding says what its limit makes of the number counted.
fn fits_limit(finding: &FindingRecord) -> bool {
    let says = finding.verdict;
    match finding.limit.as_str() {
        "any number" => says == Verdict::Pass,
        "not decided" if finding.observed == 0 => says == Verdict::Pass,
        "not decided" => says == Verdict::Ungraded,
        _ if finding.observed > finding.at_most() => says == Verdict::Fail,
        _ => says == Verdict::Pass,
    }
}
