//! A graded face in a few lines: the verdict first, then the rows, then each position that does not pass, and
//! last what to do.

use super::wrap::hanging;
use super::{Style, foot, rest, row, token, wiring};
use crate::record::{FaceRecord, ScaleMethod, Verdict};
use crate::tell;

/// The text, with a newline at its end. `written` names the files that were written, in words for people.
pub fn face(record: &FaceRecord, written: &[String], style: Style) -> String {
    let mut out = headline(record, style);
    // Of a fail, the limits that decide it are marked one by one.
    if let Some(text) = tell::from_memory(&record.criteria).filter(|_| record.verdict == Verdict::Pass) {
        out.push_str(&hanging("", 0, &text, style.columns()));
    }
    out.push_str(&facts(record, style));
    out.push('\n');
    out.push_str(&row::rows(record, style));
    out.push_str(&failing(record, style));
    out.push_str(&ungraded(record, style));
    out.push_str(&close_calls(record, style));
    for sentence in tell::pictures(record) {
        out.push_str(&hanging("", 0, &sentence, style.columns()));
    }
    out.push_str(&wiring::lines(record, style));
    rest(&mut out);
    out.push_str(&foot(&tell::advice(record), &record.advice.to_mind(), written, style));
    out
}

fn headline(record: &FaceRecord, style: Style) -> String {
    let word = format!("{} {}", token(record.verdict), record.verdict.word().to_uppercase());
    let width = word.len() + 2;
    hanging(
        &format!("{}  ", style.paint(record.verdict, &word)),
        width,
        &tell::capital(&tell::summary(record)),
        style.columns(),
    )
}

fn facts(record: &FaceRecord, style: Style) -> String {
    let method = match record.scale.method {
        ScaleMethod::Lattice => "from the lattice",
        ScaleMethod::Stated => "as stated",
    };
    let scale = format!("{:.4} um per pixel {method}", record.scale.um_per_px);
    let guard = tell::guard(record).map_or_else(String::new, |guard| format!("; {guard}"));
    let criteria = format!("Criteria: {}{guard}.", tell::criteria(record));
    let view = format!("Scale {scale}; {}.", tell::view(record));
    let width = style.columns();
    hanging("", 0, &format!("Layout {}. {criteria}", record.layout), width) + &hanging("", 0, &view, width)
}

fn failing(record: &FaceRecord, style: Style) -> String {
    record
        .with_verdict(Verdict::Fail)
        .map(|p| line(&p.position.to_string(), Verdict::Fail, &tell::why(p).unwrap_or_default(), style))
        .collect()
}

/// Ungraded positions, those with the same reason in one line.
fn ungraded(record: &FaceRecord, style: Style) -> String {
    let groups = tell::ungraded(record);
    let at = |numbers: &str| match (tell::unnumbered(record), groups.len()) {
        (false, _) => numbers.to_owned(),
        (true, 1) => "all".to_owned(),
        (true, _) => "?".to_owned(),
    };
    groups.iter().map(|(numbers, why)| line(&at(numbers), Verdict::Ungraded, why, style)).collect()
}

fn line(positions: &str, verdict: Verdict, text: &str, style: Style) -> String {
    let head = format!("{positions:>2} {} ", style.paint(verdict, token(verdict)));
    hanging(&head, positions.len().max(2) + 5, text, style.columns())
}

/// Positions whose verdict hangs on a size that is not known well enough.
fn close_calls(record: &FaceRecord, style: Style) -> String {
    let close = record.positions.iter().filter(|p| tell::close_call(p));
    let said = tell::closely(close.map(|p| (p.position, p.conformity)));
    said.map_or_else(String::new, |text| hanging("", 0, &text, style.columns()))
}
