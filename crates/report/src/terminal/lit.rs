//! A cable's map as light showed it, in a few lines: the type, each near position and where it came out, where
//! it departs, what to do, and cautions.

use super::table::{Line, in_rows, table};
use super::wrap::hanging;
use super::{Style, foot};
use crate::lit::{DepartRecord, EndRecord, EndWord, LitRecord, SightRecord};
use crate::record::{Core, Key};
use crate::tell::{numbers, view_of, view_of_all};

/// The text, with a newline at its end.
pub fn lit(record: &LitRecord, style: Style) -> String {
    let width = style.columns();
    let mut out = hanging("", 0, &headline(record), width);
    let pictures = match record.sights.len() {
        1 => "1 picture".to_owned(),
        n => format!("{n} pictures"),
    };
    let view = record.view.map_or_else(String::new, |view| match record.sights.len() {
        1 => format!(", {}", view_of(view)),
        _ => format!(", {}", view_of_all(view)),
    });
    out.push_str(&hanging(
        "",
        0,
        &format!("Layout {}; {pictures} of the far end{view}.", record.layout),
        width,
    ));
    if let Some(key) = key(record) {
        out.push_str(&hanging("", 0, &key, width));
    }
    out.push('\n');
    let lines = [
        Line::Words("near", record.ends.iter().map(|e| e.near.to_string()).collect()),
        Line::Words("far", record.ends.iter().map(cell).collect()),
    ];
    out.push_str(&table(&in_rows(record.ends.len()), &lines, style));
    let texts: Vec<String> = departures(record).into_iter().chain(rest(record)).collect();
    for text in &texts {
        out.push_str(&hanging("", 0, text, width));
    }
    if !texts.is_empty() {
        out.push('\n');
    }
    let mind: Vec<&str> = record.cautions.iter().map(String::as_str).collect();
    out.push_str(&foot(&[], &mind, &[], style));
    out
}

fn headline(record: &LitRecord) -> String {
    let came_out = match dark(record).is_empty() {
        true => "every light came out where it is due.".to_owned(),
        false => {
            format!("the light in {} came out where it is due.", numbers(record.ends.iter().map(|e| e.near)))
        }
    };
    if record.ends.iter().all(|end| end.seen == EndWord::Nowhere) {
        if let Some(contradiction) = contradictions(record).next() {
            return contradiction;
        }
        if record.sights.iter().any(|sight| !lit_in(sight).is_empty()) {
            return "Light came out at the far end, and the pictures do not tell from which fibre: see that each is \
                    named with the positions that were lit in it."
                .to_owned();
        }
        return "No light came out at the far end: see that the source is on and in the fibres that were named, and that \
                the pictures show the other end of this cable."
            .to_owned();
    }
    match (&record.cable, record.stated.as_deref(), record.agrees) {
        (Some(cable), None, Some(true)) if !dark(record).is_empty() => {
            format!("It looks like a {cable} cable: {came_out}")
        }
        (Some(cable), None, Some(true)) => format!("It is a {cable} cable: {came_out}"),
        (Some(cable), None, _) => format!("It is a {cable} cable with faults."),
        (_, Some(stated), Some(true)) => format!("It agrees with {stated}: {came_out}"),
        (Some(cable), Some(stated), Some(false)) if cable != stated => {
            format!("It is no {stated} cable: the light comes out as in a {cable} cable.")
        }
        (_, Some(stated), Some(false)) => format!("It departs from {stated}."),
        (_, _, None) | (None, None, _) if record.sights.iter().any(|sight| crowd(sight).is_some()) => {
            "The light does not tell which type of cable it is: more positions are lit than were named."
                .to_owned()
        }
        (_, _, None) | (None, None, _) => {
            "The light does not tell which type of cable it is: put it into more fibres, one after the other."
                .to_owned()
        }
    }
}

/// What the types hang on: a key the other way up makes a type A of a type B.
fn key(record: &LitRecord) -> Option<String> {
    let mend = match record.view?.key {
        Key::Up => "if it was down in the pictures, add --key down",
        Key::Down => "if it was up in the pictures, leave --key down out",
    };
    Some(format!("The key decides between type A and type B: {mend}."))
}

/// Far positions that no light reached in any picture: what ends there was not looked at.
fn dark(record: &LitRecord) -> Vec<u16> {
    let Some(first) = record.sights.first() else { return Vec::new() };
    let reached = |at: &u16| record.ends.iter().any(|e| e.seen == EndWord::At && e.far.contains(at));
    first.far.iter().map(|f| f.position).filter(|at| !reached(at)).collect()
}

/// Far positions that are lit in a picture.
fn lit_in(sight: &SightRecord) -> Vec<u16> {
    sight.far.iter().filter(|far| far.core == Core::Lit).map(|far| far.position).collect()
}

/// What is lit in the pictures of one near position alone, picture by picture; those that show no light tell nothing.
fn alone(record: &LitRecord, near: u16) -> Vec<Vec<u16>> {
    let own = record.sights.iter().filter(|sight| sight.lit == [near]);
    own.map(lit_in).filter(|lit| !lit.is_empty()).collect()
}

/// What to say of a near position whose own pictures show light at no position together.
fn contradiction(record: &LitRecord, near: u16) -> Option<String> {
    let shown = alone(record, near);
    let (first, others) = shown.split_first()?;
    let together = first.iter().any(|far| others.iter().all(|lit| lit.contains(far)));
    (!others.is_empty() && !together).then(|| {
        let each: Vec<String> = shown.iter().map(|lit| numbers(lit.iter().copied())).collect();
        format!(
            "{} pictures are named for near {near} and show light at different positions ({}): find out which of them \
             shows another fibre, and name it so.",
            each.len(),
            each.join(" and ")
        )
    })
}

/// The same of all near positions.
fn contradictions(record: &LitRecord) -> impl Iterator<Item = String> {
    record.ends.iter().filter_map(|end| contradiction(record, end.near))
}

/// What to say of a picture in which more positions are lit than the one that was named.
fn crowd(sight: &SightRecord) -> Option<String> {
    let (lit, [near]) = (lit_in(sight).len(), sight.lit.as_slice()) else { return None };
    (lit > 1).then(|| {
        format!(
            "{}: {lit} positions are lit in this picture, and one was named (near {near}): is a light on at the near \
             end for all of them, or is the face lit from the side?",
            sight.source.name()
        )
    })
}

/// The far position in a narrow column: "?" for several or none seen, "-" for a dark fibre.
fn cell(end: &EndRecord) -> String {
    match (end.seen, end.far.as_slice()) {
        (EndWord::At, [far]) => far.to_string(),
        (EndWord::Nowhere, _) => "-".to_owned(),
        _ => "?".to_owned(),
    }
}

/// Where the light comes out elsewhere than it is due; not where another type of cable explains all of it.
fn departures(record: &LitRecord) -> Vec<String> {
    let Some(fit) = record.fit() else { return Vec::new() };
    let by_another = |other: &crate::lit::FitRecord| {
        Some(&other.cable) == record.cable.as_ref() && other.cable != fit.cable && other.depart.is_empty()
    };
    if record.fits.iter().any(by_another) && record.strays.is_empty() {
        return Vec::new();
    }
    let one = |d: &DepartRecord| match d.seen.seen {
        EndWord::Nowhere if !alone(record, d.near).is_empty() => {
            format!("{}: no light that is its alone comes out (due at {}).", d.near, d.due)
        }
        EndWord::Nowhere => format!("{}: no light comes out (due at {}): {NOWHERE}.", d.near, d.due),
        _ => format!("{}: comes out at {}, due at {}.", d.near, numbers(d.seen.far.clone()), d.due),
    };
    fit.depart.iter().map(one).collect()
}

/// Why a fibre may be dark.
const NOWHERE: &str = "a broken or dirty fibre, or no light went in";

fn rest(record: &LitRecord) -> Vec<String> {
    let ends = |word| record.ends.iter().filter(move |e| e.seen == word).map(|e| e.near);
    // What was lit alone and shows light is told by its picture.
    let dark_alone = |near: &u16| alone(record, *near).is_empty();
    let (several, nowhere) =
        (ends(EndWord::OneOf).filter(dark_alone), ends(EndWord::Nowhere).filter(dark_alone));
    let (several, unseen, nowhere) = (numbers(several), numbers(ends(EndWord::Unseen)), numbers(nowhere));
    let head = headline(record);
    let mut out: Vec<String> = contradictions(record).filter(|said| *said != head).collect();
    out.extend(record.sights.iter().filter_map(crowd));
    if !nowhere.is_empty() && record.fit().is_none() {
        out.push(format!("{nowhere}: no light comes out: {NOWHERE}."));
    }
    let untried = numbers(dark(record));
    if record.agrees == Some(true) && !untried.is_empty() {
        out.push(format!(
            "Dark at far {untried} in every picture: the fibres that end there were not tried."
        ));
    }
    if !several.is_empty() {
        out.push(format!("{several}: comes out at one of several; put light into one at a time."));
    }
    if !unseen.is_empty() {
        out.push(format!(
            "{unseen}: the pictures do not show whether it is lit; clean, focus and take them again."
        ));
    }
    // The light of pictures of which something is told already.
    let told = |sight: &&SightRecord| {
        crowd(sight).is_some() || sight.lit.iter().any(|near| contradiction(record, *near).is_some())
    };
    let explained: Vec<u16> = record.sights.iter().filter(told).flat_map(lit_in).collect();
    let strays: Vec<u16> = record.strays.iter().copied().filter(|far| !explained.contains(far)).collect();
    if !strays.is_empty() {
        let at = numbers(strays);
        out.push(format!(
            "Light at far {at} from no near position that was named with it: was another fibre lit, is a picture named \
             with the wrong position, or does a lamp shine behind the near end?"
        ));
    }
    out
}
