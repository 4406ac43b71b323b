//! What to do next, in plain words: what the record advises, and how to take the picture again.

use super::numbers;
use crate::record::{FaceRecord, PositionRecord, Verdict};

/// Sentences, the most urgent first.
pub fn advice(record: &FaceRecord) -> Vec<String> {
    let mut sentences: Vec<String> = Vec::from_iter(other_layout(record));
    sentences.extend(record.advice.steps.iter().map(|step| step.text.clone()));
    sentences.extend(retake(record));
    sentences.extend(optics(record));
    if sentences.is_empty() && record.verdict == Verdict::Pass {
        sentences.push(
            "Connect it now if the face that it meets was inspected too, or put its cap back on.".to_owned(),
        );
    }
    sentences
}

/// Dirt on the camera is told even where it did no harm this time.
fn optics(record: &FaceRecord) -> Option<String> {
    let dirty = record.stitch.as_ref().is_some_and(|s| !s.optics.is_empty());
    let told = record
        .positions
        .iter()
        .any(|p| remedy(p, record) == "clean the camera's optics and take the run again");
    (dirty && !told)
        .then(|| "Clean the camera's optics: spots stay at the same pixels of its pictures.".to_owned())
}

/// How to take the picture again, one sentence for each remedy; none where every position has a verdict, or where the one
/// reason of all says how.
pub fn retake(record: &FaceRecord) -> Vec<String> {
    let mut remedies: Vec<(&str, Vec<u16>)> = Vec::new();
    let other_layout = other_layout(record).is_some();
    let open = record.with_verdict(Verdict::Ungraded);
    for position in open.filter(|p| !(other_layout && EMPTY_IN_MPO_8.contains(&p.position))) {
        let remedy = remedy(position, record);
        match remedies.iter_mut().find(|(known, _)| *known == remedy) {
            Some((_, positions)) => positions.push(position.position),
            None => remedies.push((remedy, vec![position.position])),
        }
    }
    let all = record.positions.len();
    remedies
        .into_iter()
        .filter_map(|(remedy, positions)| match positions.len() {
            // It stands a line above.
            n if n == all && remedy == AS_SAID => None,
            n if n == all => Some(format!("Nothing could be graded: {remedy}.")),
            _ => Some(format!("For {}: {remedy}.", numbers(positions))),
        })
        .collect()
}

/// The remedy that a reason tells itself.
const AS_SAID: &str = "do as the reason given says";

/// The positions of a row of 12 that an 8-fibre connector leaves empty (IEC 61754-7: the middle four).
const EMPTY_IN_MPO_8: std::ops::RangeInclusive<u16> = 5..=8;

/// Asks for the layout where the fibres are those of another one: no dirt hides the middle four and nothing else.
fn other_layout(record: &FaceRecord) -> Option<String> {
    let unseen = |p: &PositionRecord| p.reasons.first().is_some_and(|reason| reason.code == "not-found");
    let empty = |p: &PositionRecord| EMPTY_IN_MPO_8.contains(&p.position);
    let fits = record.layout == "mpo-12" && record.positions.iter().all(|p| unseen(p) == empty(p));
    fits.then(|| "Positions 5-8 show no fibre: is it an mpo-8? Then grade it with that layout.".to_owned())
}

/// What mends the first reason of an ungraded position; where the reason names what to do, no other thing is.
fn remedy(position: &PositionRecord, record: &FaceRecord) -> &'static str {
    let run = record.sources.len() > 1;
    match position.reasons.first().map_or("", |reason| reason.code.as_str()) {
        "not-in-view" | "cut-by-border" if run => {
            "take the picture that its reason asks for, and grade all together"
        }
        "ambiguous-position" => AS_SAID,
        "not-in-view" | "cut-by-border" => "take a picture that shows the whole row",
        "not-found" => "clean, check the layout and take the picture again",
        "hidden" | "veiled" => "clean and take the picture again",
        "saturated" => "lower the light and take the picture again",
        "too-dark" => "raise the light and take the picture again",
        "smeared" => "hold the camera still and take the picture again",
        "seam" => "take the fibre again in one picture",
        "dirty-optics" => "clean the camera's optics and take the run again",
        "too-coarse" => "use a higher magnification and take the picture again",
        "blurred" | "not-sharp-enough" => "focus and take the picture again",
        "wrong-diameter" => "check the layout that was named",
        grade::OTHER_MODE => "grade the picture by the criteria of these fibres",
        "undecided-by-criteria" => "choose criteria that decide this case",
        _ => "see the reason given and take the picture again",
    }
}
