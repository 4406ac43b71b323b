//! A comparison in a few lines: the verdict after and what it was, whether it is one face, the rows, each
//! position that does not pass, and what to do.

use super::table::{Line, Seat, table};
use super::wrap::hanging;
use super::{Style, foot, rest, token};
use crate::compare::{ChangesRecord, CompareRecord, LookPosition, tell};
use crate::record::{SourceInfo, Verdict};
use crate::tell::{capital, numbers};

/// The text, with a newline at its end. `written` names the files that were written, in words for people.
pub fn compare(record: &CompareRecord, written: &[String], style: Style) -> String {
    let width = style.columns();
    let mut out = headline(record, style);
    let facts = format!("Layout {}. Criteria: {}.", record.layout, record.criteria.title);
    let views = format!("{}.", capital(&tell::views(record)));
    for text in [format!("{}.", tell::totals(record)), tell::sameness(record), facts, views] {
        out.push_str(&hanging("", 0, &text, width));
    }
    out.push('\n');
    out.push_str(&if record.series.is_empty() { rows(record, style) } else { series(record, style) });
    out.push_str(&positions(record, style));
    if let Some(text) = tell::close_calls(record) {
        out.push_str(&hanging("", 0, &text, width));
    }
    rest(&mut out);
    out.push_str(&foot(&tell::advice(record), &record.advice.to_mind(), written, style));
    out
}

fn headline(record: &CompareRecord, style: Style) -> String {
    let word = |verdict: Verdict| format!("{} {}", token(verdict), verdict.word().to_uppercase());
    let (before, after) = (word(record.verdict_before), word(record.verdict_after));
    let head = format!(
        "{} -> {}  ",
        style.paint(record.verdict_before, &before),
        style.paint(record.verdict_after, &after)
    );
    let columns = before.len() + after.len() + 6;
    hanging(&head, columns, &capital(&tell::summary(record)), style.columns())
}

fn rows(record: &CompareRecord, style: Style) -> String {
    let seats: Vec<Seat> = record.positions.iter().map(|p| Seat { row: p.row, column: p.column }).collect();
    let words = |text: &dyn Fn(&ChangesRecord) -> String| record.positions.iter().map(text).collect();
    let count = |n: usize| if n == 0 { "-".to_owned() } else { n.to_string() };
    let verdicts = |of: fn(&ChangesRecord) -> Verdict| record.positions.iter().map(of).collect();
    let mut lines = vec![
        Line::Words("key up", words(&|p| p.position.to_string())),
        Line::Verdicts("before", verdicts(|p| p.verdict_before)),
        Line::Verdicts("after", verdicts(|p| p.verdict_after)),
        Line::Words("gone", words(&|p| count(p.removed.len()))),
        Line::Words("stayed", words(&|p| count(p.remaining.len()))),
        Line::Words("new", words(&|p| count(p.new.len()))),
    ];
    if record.totals.unsure > 0 {
        lines.push(Line::Words("unsure", words(&|p| count(p.unsure.len()))));
    }
    table(&seats, &lines, style)
}

/// The looks of a series in order: verdicts, and between them what each step took away and brought.
fn series(record: &CompareRecord, style: Style) -> String {
    let seats: Vec<Seat> = record.positions.iter().map(|p| Seat { row: p.row, column: p.column }).collect();
    let numbers = record.positions.iter().map(|p| p.position.to_string()).collect();
    let names: Vec<String> = (1..=record.series.len()).map(|n| format!("look {n}")).collect();
    let mut lines = vec![Line::Words("key up", numbers)];
    for (name, look) in names.iter().zip(&record.series) {
        if look.compared.is_some() {
            let count = |of: fn(&LookPosition) -> usize| {
                let number = |p: &LookPosition| if of(p) == 0 { "-".to_owned() } else { of(p).to_string() };
                look.positions.iter().map(number).collect()
            };
            lines.push(Line::Words("  gone", count(|p| p.removed)));
            lines.push(Line::Words("  new", count(|p| p.new)));
        }
        lines.push(Line::Verdicts(name, look.positions.iter().map(|p| p.verdict).collect()));
    }
    let mut out = table(&seats, &lines, style);
    for (name, look) in names.iter().zip(&record.series) {
        let files = SourceInfo::listed(&look.sources);
        let head = format!("{name}: ");
        let text = format!("{} {}, {}", token(look.verdict), look.verdict.word(), files);
        out.push_str(&hanging(&head, head.len(), &text, style.columns()));
    }
    out.push_str("\nFrom the first look to the last:\n");
    out
}

/// A line for each position that does not pass after, those with the same to say in one, and one for all that passes now
/// and did not before.
fn positions(record: &CompareRecord, style: Style) -> String {
    let mut groups: Vec<(Verdict, Verdict, String, Vec<u16>)> = Vec::new();
    for position in &record.positions {
        let Some(why) = tell::why(position) else { continue };
        let (was, is) = (position.verdict_before, position.verdict_after);
        let far = position.far.map_or_else(String::new, |far| format!(" (far end {far})"));
        let text = format!("{why}{far}");
        let known = groups.iter_mut().find(|(w, i, said, _)| (*w, *i) == (was, is) && *said == text);
        match known.filter(|_| is == Verdict::Ungraded) {
            Some((.., at)) => at.push(position.position),
            None => groups.push((was, is, text, vec![position.position])),
        }
    }
    let mut out = String::new();
    for (was, is, text, at) in groups {
        let at = numbers(at);
        let head = format!("{at:>2} {} -> {} ", style.paint(was, token(was)), style.paint(is, token(is)));
        out.push_str(&hanging(&head, at.len().max(2) + 12, &text, style.columns()));
    }
    let better = |p: &&ChangesRecord| p.verdict_before != Verdict::Pass && p.verdict_after == Verdict::Pass;
    let at = numbers(record.positions.iter().filter(better).map(|p| p.position));
    if !at.is_empty() {
        out.push_str(&hanging("", 0, &format!("Passes now and did not before: {at}."), style.columns()));
    }
    out
}
