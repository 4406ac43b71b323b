//! What to do next, in plain words: what to clean, what cleaning cannot mend, how to take the picture again.
//! The order dry, then wet and dry, is common practice; see the cleaning advice of IEC TR 62627-01.

use super::{kinds, numbers};
use crate::record::{FaceRecord, Kind, PositionRecord, Verdict};
use std::collections::BTreeSet;

/// Sentences, the most urgent first; never empty.
pub fn advice(record: &FaceRecord) -> Vec<String> {
    let mut sentences: Vec<String> =
        [clean(record), damaged(record), face_marks(record)].into_iter().flatten().collect();
    sentences.extend(retake(record));
    if sentences.is_empty() {
        sentences.push("Connect it now, or put its cap back on.".to_owned());
    }
    sentences
}

/// Features that break a rule, with their positions, of the kinds that are asked for.
fn at_fault(record: &FaceRecord, wanted: impl Fn(Kind) -> bool) -> (Vec<Kind>, BTreeSet<u16>) {
    let mut found: Vec<Kind> = Vec::new();
    let mut positions = BTreeSet::new();
    for position in record.with_verdict(Verdict::Fail) {
        for feature in position.features.iter().filter(|f| wanted(f.kind) && position.breaks(f.id)) {
            positions.insert(position.position);
            if !found.contains(&feature.kind) {
                found.push(feature.kind);
            }
        }
    }
    (found, positions)
}

fn clean(record: &FaceRecord) -> Option<String> {
    let (found, positions) = at_fault(record, Kind::can_be_cleaned);
    let at = numbers(positions);
    (!at.is_empty()).then(|| {
        format!("Clean {at} ({}): dry first, then wet and dry; look again after each.", kinds(&found))
    })
}

fn damaged(record: &FaceRecord) -> Option<String> {
    let (found, positions) = at_fault(record, |kind| !kind.can_be_cleaned());
    let at = numbers(positions);
    (!at.is_empty()).then(|| {
        let what = kinds(&found);
        format!("Damage at {at} ({what}) cannot be cleaned away: polish again or replace.")
    })
}

fn face_marks(record: &FaceRecord) -> Option<String> {
    let largest = record.face_marks.first()?;
    let size = largest.size_um.map_or_else(|| "of unknown size".to_owned(), |s| format!("{s:.0} um"));
    let what = match record.face_marks.len() {
        1 => format!("1 mark lies on the ferrule ({size})"),
        n => format!("{n} marks lie on the ferrule (largest {size})"),
    };
    let guide = if record.face_marks.iter().any(|m| m.at_guide) { ", also at a guide hole" } else { "" };
    Some(format!("{what}{guide}: clean before mating."))
}

/// How to take the picture again, one sentence for each remedy.
fn retake(record: &FaceRecord) -> Vec<String> {
    let mut remedies: Vec<(&str, Vec<u16>)> = Vec::new();
    for position in record.with_verdict(Verdict::Ungraded) {
        let remedy = remedy(position);
        match remedies.iter_mut().find(|(known, _)| *known == remedy) {
            Some((_, positions)) => positions.push(position.position),
            None => remedies.push((remedy, vec![position.position])),
        }
    }
    let all = record.positions.len();
    remedies
        .into_iter()
        .map(|(remedy, positions)| match positions.len() {
            n if n == all => format!("Nothing could be graded: {remedy}."),
            _ => format!("For {}: {remedy}.", numbers(positions)),
        })
        .collect()
}

/// What mends the first reason of an ungraded position.
fn remedy(position: &PositionRecord) -> &'static str {
    match position.reasons.first().map_or("", |reason| reason.code.as_str()) {
        "not-in-view" | "cut-by-border" => "take a picture that shows the whole row",
        "not-found" => "clean, check the layout and take the picture again",
        "hidden" => "clean and take the picture again",
        "saturated" => "lower the light and take the picture again",
        "too-dark" => "raise the light and take the picture again",
        "smeared" => "hold the camera still and take the picture again",
        "too-coarse" => "use a higher magnification and take the picture again",
        "blurred" | "not-sharp-enough" => "focus and take the picture again",
        "wrong-diameter" | "ambiguous-position" => "check the layout that was named",
        "undecided-by-criteria" => "choose criteria that decide this case",
        _ => "see the reason given and take the picture again",
    }
}
