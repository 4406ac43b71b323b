//! A cable's map as light showed it, in a few lines: the type, each near position and where it came out, where
//! it departs, what to do, and cautions.

use super::wrap::hanging;
use super::{Style, foot};
use crate::lit::{EndRecord, EndWord, LitRecord};
use crate::tell::numbers;

/// Positions side by side.
const ACROSS: usize = 12;

/// The text, with a newline at its end.
pub fn lit(record: &LitRecord, style: Style) -> String {
    let width = style.columns();
    let mut out = hanging("", 0, &headline(record), width);
    out.push_str(&format!("Layout {}; {} pictures of the far end.\n", record.layout, record.sights.len()));
    for line in record.ends.chunks(ACROSS) {
        let row = |name: &str, of: &dyn Fn(&EndRecord) -> String| {
            let cells: String = line.iter().map(|end| format!("{:>5}", of(end))).collect();
            format!("{name:<5}{cells}\n")
        };
        out.push_str(&format!("\n{}{}", row("near", &|e| e.near.to_string()), row("far", &cell)));
    }
    out.push('\n');
    for text in departures(record).into_iter().chain(rest(record)) {
        out.push_str(&hanging("", 0, &text, width));
    }
    let mind: Vec<&str> = record.cautions.iter().map(String::as_str).collect();
    out.push_str(&foot(&[], &mind, &[], style));
    out
}

fn headline(record: &LitRecord) -> String {
    let stated = record.stated.as_deref();
    match (&record.cable, stated, record.agrees) {
        (Some(cable), None, Some(true)) => {
            format!("It is a {cable} cable: every light came out where it is due.")
        }
        (Some(cable), None, _) => format!("It is a {cable} cable with faults."),
        (_, Some(stated), Some(true)) => {
            format!("It agrees with {stated}: every light came out where it is due.")
        }
        (Some(cable), Some(stated), Some(false)) if cable != stated => {
            format!("It is no {stated} cable: the light comes out as in a {cable} cable.")
        }
        (_, Some(stated), Some(false)) => format!("It departs from {stated}."),
        (_, _, None) | (None, None, _) => {
            "The light does not tell which type of cable it is: put it into more fibres, one after the other."
                .to_owned()
        }
    }
}

/// The far position in a narrow column: "?" for several or none seen, "-" for a dark fibre.
fn cell(end: &EndRecord) -> String {
    match (end.seen, end.far.as_slice()) {
        (EndWord::At, [far]) => far.to_string(),
        (EndWord::Nowhere, _) => "-".to_owned(),
        _ => "?".to_owned(),
    }
}

fn departures(record: &LitRecord) -> Vec<String> {
    let Some(fit) = record.fit() else { return Vec::new() };
    let one = |d: &crate::lit::DepartRecord| match d.seen.seen {
        EndWord::Nowhere => {
            format!(
                "{}: no light comes out (due at {}): a broken or dirty fibre, or no light went in.",
                d.near, d.due
            )
        }
        _ => format!("{}: comes out at {}, due at {}.", d.near, numbers(d.seen.far.clone()), d.due),
    };
    fit.depart.iter().map(one).collect()
}

fn rest(record: &LitRecord) -> Vec<String> {
    let open = |word| numbers(record.ends.iter().filter(|e| e.seen == word).map(|e| e.near));
    let mut out = Vec::new();
    let (several, unseen) = (open(EndWord::OneOf), open(EndWord::Unseen));
    if !several.is_empty() {
        out.push(format!("{several}: comes out at one of several; put light into one at a time."));
    }
    if !unseen.is_empty() {
        out.push(format!(
            "{unseen}: the pictures do not show whether it is lit; clean, focus and take them again."
        ));
    }
    if !record.strays.is_empty() {
        let at = numbers(record.strays.clone());
        out.push(format!(
            "Light from elsewhere at far {at}: is another fibre lit, or a lamp behind the near end?"
        ));
    }
    out
}
