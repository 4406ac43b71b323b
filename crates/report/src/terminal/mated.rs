//! Two mated faces in a few lines: both verdicts, the rows that face each other, the marks that lie on both, the
//! positions at risk, and what to do.

use super::table::{Line, Seat, table};
use super::wrap::hanging;
use super::{Style, foot, rest, token};
use crate::mated::{AtRiskRecord, FaceWord, FacingRecord, MatedRecord, tell};
use crate::record::Verdict;
use crate::tell::{capital, numbers};

/// The text, with a newline at its end. `written` names the files that were written, in words for people.
pub fn mated(record: &MatedRecord, written: &[String], style: Style) -> String {
    let width = style.columns();
    let mut out = headline(record, style);
    let facts = format!("Layout {}. Criteria: {}.", record.layout, record.criteria.title);
    let views = format!("{}.", capital(&tell::views(record)));
    for text in [format!("{}.", tell::adapter(record)), facts, views] {
        out.push_str(&hanging("", 0, &text, width));
    }
    out.push('\n');
    out.push_str(&rows(record, style));
    out.push_str(&transfers(record, style));
    out.push_str(&risks(record, style));
    if let Some(text) = tell::ferrule(record) {
        out.push_str(&hanging("", 0, &text, width));
    }
    rest(&mut out);
    let cautions = record.cautions.iter().map(String::as_str);
    let mind: Vec<&str> = cautions.chain(record.advice.to_mind()).collect();
    out.push_str(&foot(&tell::advice(record), &mind, written, style));
    out
}

fn headline(record: &MatedRecord, style: Style) -> String {
    let word = |verdict: Verdict| format!("{} {}", token(verdict), verdict.word().to_uppercase());
    let (a, b) = (word(record.verdict_a), word(record.verdict_b));
    let head = format!("A {}  B {}  ", style.paint(record.verdict_a, &a), style.paint(record.verdict_b, &b));
    hanging(&head, a.len() + b.len() + 8, &capital(&tell::summary(record)), style.columns())
}

fn rows(record: &MatedRecord, style: Style) -> String {
    let seats: Vec<Seat> = record.facing.iter().map(|f| Seat { row: f.row_a, column: f.column_a }).collect();
    let words = |text: &dyn Fn(&FacingRecord) -> String| record.facing.iter().map(text).collect();
    let shared = |f: &FacingRecord| match tell::shared(record, f).count() {
        0 if !tell::unseen_at(record, f).is_empty() => "?".to_owned(),
        0 => "-".to_owned(),
        n => n.to_string(),
    };
    let risk = |f: &FacingRecord| {
        let at = |face, position| record.risky(face).any(|r| r.position == position);
        match (at(FaceWord::A, f.position_a), at(FaceWord::B, f.position_b)) {
            (true, true) => "A B".to_owned(),
            (true, false) => "A".to_owned(),
            (false, true) => "B".to_owned(),
            (false, false) if !tell::unseen_at(record, f).is_empty() => "?".to_owned(),
            (false, false) => "-".to_owned(),
        }
    };
    let verdicts = |of: fn(&FacingRecord) -> Verdict| record.facing.iter().map(of).collect();
    let lines = [
        Line::Words("A key up", words(&|f| f.position_a.to_string())),
        Line::Verdicts("", verdicts(|f| f.verdict_a)),
        Line::Words("faces B", words(&|f| f.position_b.to_string())),
        Line::Verdicts("", verdicts(|f| f.verdict_b)),
        Line::Words("on both", words(&shared)),
        Line::Words("at risk", words(&risk)),
    ];
    table(&seats, &lines, style)
}

fn transfers(record: &MatedRecord, style: Style) -> String {
    let mut out = String::new();
    for (number, transfer) in (1..).zip(&record.transfers) {
        let head = format!(
            "{:>3} A {:>2} B {:>2}  ",
            format!("#{number}"),
            transfer.position_a,
            transfer.position_b
        );
        out.push_str(&hanging(&head, 15, &tell::transfer(transfer), style.columns()));
    }
    out
}

/// A line for each position that passes and would not, and one for the rest.
fn risks(record: &MatedRecord, style: Style) -> String {
    let mut out = String::new();
    let passes = |risk: &&AtRiskRecord| tell::verdict(record, risk) == Verdict::Pass;
    for risk in record.at_risk.iter().filter(passes) {
        let head = format!("At risk {} {:>2}: ", risk.face.letter(), risk.position);
        let text = format!("{}{}", tell::risk(risk), far(record, risk));
        out.push_str(&hanging(&head, 14, &text, style.columns()));
    }
    let rest = |face| numbers(record.risky(face).filter(|r| !passes(r)).map(|r| r.position));
    let rest = [FaceWord::A, FaceWord::B].map(|face| (face.letter(), rest(face)));
    let named: Vec<String> =
        rest.iter().filter(|(_, at)| !at.is_empty()).map(|(face, at)| format!("{face} {at}")).collect();
    if !named.is_empty() {
        let text = format!("Do not pass as they are and would be soiled again: {}.", named.join("; "));
        out.push_str(&hanging("", 0, &text, style.columns()));
    }
    out
}

/// Where an endangered position of A comes out at the far end of the cable behind it.
fn far(record: &MatedRecord, risk: &AtRiskRecord) -> String {
    let here = record.facing.iter().find(|f| risk.face == FaceWord::A && f.position_a == risk.position);
    here.and_then(|f| f.far_a).map_or_else(String::new, |far| format!(" (far end {far})"))
}
