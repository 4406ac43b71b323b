//! What the terminal and the map both say about a comparison: the verdicts, what became of the marks, why a
//! position still fails, and what to do next. Words only.

use super::record::{ChangesRecord, CompareRecord, Doubt, KeptFeature, Seen, Turned, UnsureFeature};
use crate::record::{FeatureRecord, Kind, ReasonRecord, Verdict};
use crate::tell::{closely, is_close, numbers, place, size};

/// "3 of 12 positions still fail, 2 mended, 1 spoilt".
pub fn summary(record: &CompareRecord) -> String {
    let count = |verdicts: fn(Verdict, Verdict) -> bool| {
        record.positions.iter().filter(|p| verdicts(p.verdict_before, p.verdict_after)).count()
    };
    let parts = [
        (count(|b, a| b != Verdict::Pass && a == Verdict::Pass), "now passes", "now pass"),
        (count(|b, a| b == Verdict::Fail && a == Verdict::Fail), "still fails", "still fail"),
        (count(|b, a| b != Verdict::Fail && a == Verdict::Fail), "fails now", "fail now"),
        (count(|_, a| a == Verdict::Ungraded), "is ungraded", "are ungraded"),
    ];
    let said: Vec<String> = parts
        .into_iter()
        .filter(|(n, ..)| *n > 0)
        .map(|(n, one, many)| format!("{n} {}", if n == 1 { one } else { many }))
        .collect();
    match said.is_empty() {
        true => format!("all {} positions passed and pass", record.positions.len()),
        false => format!("of {} positions {}", record.positions.len(), said.join(", ")),
    }
}

/// "12 marks gone, 20 stayed (1 larger), 3 new; 4 unsure (too faint, hidden in the other picture)".
pub fn totals(record: &CompareRecord) -> String {
    let t = record.totals;
    let mut text = match t.removed {
        1 => "1 mark gone".to_owned(),
        n => format!("{n} marks gone"),
    };
    text.push_str(&format!(", {} stayed", t.remaining));
    if t.grown > 0 {
        text.push_str(&format!(" ({} larger)", t.grown));
    }
    text.push_str(&format!(", {} new", t.new));
    if t.moved > 0 {
        let like = if t.moved == 1 { "a like mark lies" } else { "like marks lie" };
        text.push_str(&format!("; {} of those gone probably only moved ({like} elsewhere now)", t.moved));
    }
    if t.unsure > 0 {
        text.push_str(&format!("; {} unsure ({})", t.unsure, doubts(record)));
    }
    text
}

/// Why nothing is told of some marks, each reason once.
fn doubts(record: &CompareRecord) -> String {
    let unsure = || record.positions.iter().flat_map(|p| &p.unsure);
    let word = |f: &UnsureFeature| match (f.doubt, f.feature.kind) {
        (Doubt::Faint, Kind::Scratch) => "scratches that may only have been missed",
        (Doubt::Faint, _) => "too faint",
        (Doubt::Covered, _) => "hidden in the other picture",
        (Doubt::Film, _) => "maybe the shadow of a film",
        (Doubt::NotShown, _) => "not shown in the other picture",
    };
    let mut words: Vec<&str> = unsure().map(word).collect();
    words.sort_unstable();
    words.dedup();
    words.join(", ")
}

/// What the pictures say of being of one face, and how the second is turned.
pub fn sameness(record: &CompareRecord) -> String {
    let e = record.evidence;
    let um = |x: Option<f64>| x.map_or_else(|| "?".to_owned(), |x| format!("{x:.2}"));
    let mut text = match record.same_face {
        true => format!(
            "One face: {} fibres lie within {} um of where they were; in two ferrules they would differ by {} um",
            e.fibres,
            um(e.apart_um.map(|x| x.max(0.01))),
            um(e.eccentricity_um)
        ),
        false => format!(
            "Not certain to be one face: {} fibres and {} marks tell too little; make sure that they are",
            e.fibres, e.marks
        ),
    };
    if e.pictures == 0 {
        text.push_str("; a face came without its pictures, so that only its marks were compared");
    }
    text.push_str(match e.turned {
        Turned::AsStated => ".",
        Turned::HalfTurn => {
            ". AFTER shows the face turned by 180 degrees against BEFORE, other than stated; it is told as BEFORE \
             was stated. Check which of the two is key up."
        }
        Turned::Mirrored => {
            ". AFTER shows the face mirrored against BEFORE, other than stated; it is told as BEFORE was stated. \
             Check which of the two is mirrored."
        }
        Turned::MirroredHalfTurn => {
            ". AFTER shows the face mirrored and turned by 180 degrees against BEFORE, other than stated; it is \
             told as BEFORE was stated. Check both."
        }
    });
    text
}

/// How both pictures were taken.
pub fn views(record: &CompareRecord) -> String {
    crate::tell::views([("before", record.before.view), ("after", record.after.view)])
}

/// What keeps every position from a verdict after, if they say the same.
pub fn of_face(record: &CompareRecord) -> Option<&ReasonRecord> {
    let open = record.positions.iter().all(|p| p.verdict_after == Verdict::Ungraded);
    crate::tell::of_all(record.positions.iter().map(|p| p.reasons.as_slice())).filter(|_| open)
}

/// Why a position does not pass after, by what became of the marks; none on a pass.
pub fn why(position: &ChangesRecord) -> Option<String> {
    match position.verdict_after {
        Verdict::Pass => None,
        Verdict::Ungraded => {
            Some(position.reasons.iter().map(|r| r.text.as_str()).collect::<Vec<_>>().join("; "))
        }
        Verdict::Fail => {
            let stayed = position.remaining.iter().filter(|f| f.breaks_limit).map(stayed);
            let new = position.new.iter().filter(|f| f.breaks_limit).map(|f| new(&f.feature));
            let unsure = position.unsure.iter().filter(|f| f.breaks_limit && f.seen == Seen::After);
            let unsure = unsure.map(|f| format!("{}, before not to be told", mark(&f.feature)));
            let all: Vec<String> = stayed.chain(new).chain(unsure).collect();
            Some(match all.as_slice() {
                [] => position.reasons.first().map_or_else(String::new, |r| r.text.clone()),
                [one] => one.clone(),
                [one, two] => format!("{one}; {two}"),
                [one, two, rest @ ..] => format!("{one}; {two} (and {} more)", rest.len()),
            })
        }
    }
}

fn stayed(kept: &KeptFeature) -> String {
    let larger = match (kept.grown, kept.size_before_um) {
        (true, Some(before)) => format!(" and grew from {before:.1} um"),
        _ => String::new(),
    };
    format!("{} stayed{larger}", mark(&kept.feature))
}

fn new(feature: &FeatureRecord) -> String {
    format!("{} is new", mark(feature))
}

/// Positions whose verdict after hangs on a size that is not known well enough.
pub fn close_calls(record: &CompareRecord) -> Option<String> {
    let near = |p: &&ChangesRecord| {
        let stayed = p.remaining.iter().map(|f| &f.feature).chain(p.new.iter().map(|f| &f.feature));
        let unsure = p.unsure.iter().filter(|f| f.seen == Seen::After).map(|f| &f.feature);
        let mut there = stayed.chain(unsure);
        is_close(p.verdict_after, p.conformity_after, there.any(|f| f.near_limit))
    };
    let close = record.positions.iter().filter(near);
    closely(close.map(|p| (p.position, p.conformity_after)))
}

/// "pit 4.8 um at 9 o'clock".
fn mark(feature: &FeatureRecord) -> String {
    let at = place(feature).map_or_else(String::new, |at| format!(" {at}"));
    format!("{} {} um{at}", feature.kind.word(), size(feature))
}

/// What to do next, the most urgent first; empty where the reason that is told of the whole face says it.
pub fn advice(record: &CompareRecord) -> Vec<String> {
    let mut sentences: Vec<String> = record.advice.steps.iter().map(|step| step.text.clone()).collect();
    let ungraded = record.positions.iter().filter(|p| p.verdict_after == Verdict::Ungraded);
    let at = numbers(ungraded.map(|p| p.position));
    let is_told = of_face(record).is_some_and(ReasonRecord::is_unnumbered);
    if !at.is_empty() && !is_told {
        sentences.push(format!("Ungraded: {at}; do as the reason given says."));
    }
    if sentences.is_empty() && !is_told {
        sentences.push(match record.verdict_after {
            Verdict::Pass => {
                "Connect it now if the face that it meets was inspected too, or put its cap back on."
                    .to_owned()
            }
            _ => "See the reasons given for each position.".to_owned(),
        });
    }
    sentences
}
