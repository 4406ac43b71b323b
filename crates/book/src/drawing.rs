//! A trace as SVG 1.1: the source on the left, each generation a column to the right, time running down. Shape and words
//! carry what was found; colour repeats it (after Okabe and Ito, 2008, Color Universal Design, darkened for white).

use crate::record::Found;
use crate::tell_trace::{ExposureRecord, TraceRecord};
use std::collections::BTreeMap;
use std::fmt::Write;

const COLUMN: u32 = 260;
const ROW: u32 = 56;
const TOP: u32 = 96;
const LEFT: u32 = 40;

/// Longest name that a column has room for, in signs.
const NAME: usize = 26;

/// The drawing.
pub fn trace_svg(trace: &TraceRecord) -> String {
    let mut exposures: Vec<&ExposureRecord> = trace.exposures.iter().collect();
    exposures.sort_by_key(|e| e.at);
    let generations = exposures.iter().map(|e| e.generation).max().unwrap_or(0);
    let width = (LEFT + COLUMN * (generations + 1)).max(760);
    let height = TOP + ROW * (exposures.len() as u32 + 1) + 20;
    let title = escaped(&format!("What {} touched", trace.source));
    let passed = trace.passed.as_ref().map_or_else(|| "never".to_owned(), ToString::to_string);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {width} {height}\" \
         role=\"img\" aria-labelledby=\"title\" font-family=\"sans-serif\" font-size=\"14\" fill=\"#1c1c1c\">\n\
         <title id=\"title\">{title}</title>\n<rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>\n\
         <text x=\"20\" y=\"32\" font-size=\"20\" font-weight=\"bold\">{title}</text>\n\
         <text x=\"20\" y=\"54\">Last passed {passed}, failed {}. Time runs down; each column is one mating further.</text>\n\
         <text x=\"20\" y=\"74\">Circle: passes since. Square: fails. Diamond: ungraded. Dashed circle: not looked at since.</text>\n",
        trace.failed
    );
    let mut places = BTreeMap::from([(trace.source.as_str(), (LEFT, TOP + ROW / 2))]);
    node(&mut out, (LEFT, TOP + ROW / 2), Some(Found::Fail), &trace.source, "failed");
    for (row, exposure) in (1u32..).zip(&exposures) {
        let at = (LEFT + COLUMN * exposure.generation, TOP + ROW / 2 + ROW * row);
        if let Some(from) = places.get(exposure.by.as_str()) {
            edge(&mut out, *from, at, exposure.likelihood);
        }
        node(&mut out, at, exposure.after, &exposure.face, &words(exposure));
        places.insert(&exposure.face, at);
    }
    out + "</svg>\n"
}

fn words(exposure: &ExposureRecord) -> String {
    let found = |found: Option<Found>| match found {
        None => "?",
        Some(Found::Pass) => "pass",
        Some(Found::Fail) => "fail",
        Some(Found::Ungraded) => "ungraded",
    };
    let likely = exposure.likelihood.map_or_else(String::new, |l| format!(", {:.0} %", l * 100.0));
    format!("{} to {}{likely}", found(exposure.before), found(exposure.after))
}

/// A line down from the face that carried, then across; thicker where marks are likely to have gone over.
fn edge(out: &mut String, (x, y): (u32, u32), (to_x, to_y): (u32, u32), likelihood: Option<f64>) {
    let thick = if likelihood.is_some_and(|l| l >= 0.5) { "3" } else { "1.2" };
    let _ = writeln!(
        out,
        "<path d=\"M{x} {}V{to_y}H{}\" fill=\"none\" stroke=\"#5a5a5a\" stroke-width=\"{thick}\"/>",
        y + 10,
        to_x - 10
    );
}

fn node(out: &mut String, (x, y): (u32, u32), found: Option<Found>, name: &str, words: &str) {
    let shape = match found {
        Some(Found::Pass) => format!(
            "<circle cx=\"{x}\" cy=\"{y}\" r=\"8\" fill=\"#ffffff\" stroke=\"#00664b\" stroke-width=\"2.5\"/>"
        ),
        Some(Found::Fail) => {
            format!("<rect x=\"{}\" y=\"{}\" width=\"16\" height=\"16\" fill=\"#a84300\"/>", x - 8, y - 8)
        }
        Some(Found::Ungraded) => format!(
            "<path d=\"M{x} {}L{} {y}L{x} {}L{} {y}Z\" fill=\"#ffffff\" stroke=\"#005a8c\" stroke-width=\"2.5\"/>",
            y - 10,
            x + 10,
            y + 10,
            x - 10
        ),
        None => format!(
            "<circle cx=\"{x}\" cy=\"{y}\" r=\"8\" fill=\"#ffffff\" stroke=\"#005a8c\" stroke-width=\"2.5\" stroke-dasharray=\"3 3\"/>"
        ),
    };
    let cut: String = match name.char_indices().nth(NAME) {
        Some((end, _)) => format!("{}…", &name[..end]),
        None => name.to_owned(),
    };
    let _ = writeln!(
        out,
        "<g><title>{}: {}</title>{shape}<text x=\"{}\" y=\"{}\" font-weight=\"bold\">{}</text>\
         <text x=\"{}\" y=\"{}\" fill=\"#5a5a5a\">{}</text></g>",
        escaped(name),
        escaped(words),
        x + 16,
        y - 1,
        escaped(&cut),
        x + 16,
        y + 16,
        escaped(words)
    );
}

/// Text for an element's content; signs that XML 1.0 forbids become the replacement sign.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for sign in text.chars() {
        match sign {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            sign if sign.is_control() || matches!(sign, '\u{fffe}' | '\u{ffff}') => out.push('\u{fffd}'),
            _ => out.push(sign),
        }
    }
    out
}
