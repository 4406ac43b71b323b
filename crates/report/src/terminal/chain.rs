//! A chain of cables and adapters in a few lines: its members, where each position comes out and what lanes
//! meet there, the parity, how duplex pairs arrive, and what is wrong first.

use super::Style;
use super::table::{Line, in_rows, table};
use super::wrap::hanging;
use crate::chain::{ChainRecord, JoinedRecord, OrderWord, PairsWord, StrandRecord};

/// The text, with a newline at its end.
pub fn chain(record: &ChainRecord, style: Style) -> String {
    let width = style.columns();
    let mut out = match record.contradictions.split_first() {
        None => hanging("", 0, &holds(record), width),
        Some((first, rest)) => {
            let more = if rest.is_empty() { String::new() } else { format!(" (and {} more)", rest.len()) };
            hanging("It does not hold together: ", 27, &format!("{first}{more}."), width)
        }
    };
    out.push_str(&format!("Layout {}.\n\n", record.layout));
    for (number, member) in (1..).zip(&record.members) {
        let order = match member.order {
            OrderWord::Kept => "keeps the order",
            OrderWord::Reversed => "reverses the order",
            OrderWord::Other => "changes the order otherwise",
        };
        out.push_str(&format!("{number:>3} {:<8} {:<12} {order}\n", member.what, member.id));
    }
    if record.strands.is_empty() {
        return out;
    }
    out.push('\n');
    let numbers = |of: fn(&StrandRecord) -> u16| record.strands.iter().map(|s| of(s).to_string()).collect();
    let mut lines = vec![Line::Words("near", numbers(|s| s.near)), Line::Words("far", numbers(|s| s.far))];
    if !record.lanes.is_empty() {
        lines.insert(0, Line::Words("lane", lanes(record, |lane| &lane.near_lane)));
        lines.push(Line::Words("lane", lanes(record, |lane| &lane.far_lane)));
    }
    let seats = in_rows(record.strands.len());
    out.push_str(&table(&seats, &lines, style));
    let rows = seats.last().map_or(0, |seat| seat.row + 1);
    let said = match record.application {
        Some(_) => [counted(record), renumbered(record)],
        None => [parity(record, rows), Some(pairs(record))],
    };
    for text in said.into_iter().flatten() {
        out.push_str(&hanging("", 0, &text, width));
    }
    out
}

/// The lane of each fibre at one of its ends.
fn lanes(record: &ChainRecord, end: fn(&JoinedRecord) -> &Option<String>) -> Vec<String> {
    let of = |strand: &StrandRecord| end(record.lanes.iter().find(|lane| lane.near == strand.near)?).clone();
    record.strands.iter().map(|strand| of(strand).unwrap_or_else(|| "-".to_owned())).collect()
}

/// What a chain without a contradiction is worth: where no application is named, none of it can contradict one.
fn holds(record: &ChainRecord) -> String {
    if let Some(application) = &record.application {
        return format!(
            "The chain holds together. Each lane of {application} that one module transmits comes out where the other \
             one receives."
        );
    }
    let rows = in_rows(record.strands.len()).last().map_or(0, |seat| seat.row);
    let text = match record.reversals {
        _ if rows > 0 => "Each member fits the next. What the lanes meet, --application tells.",
        None => "Each member fits the next, for duplex pairs only: see below.",
        Some(n) if n % 2 == 0 => "Each member fits the next, but transmit meets transmit: see below.",
        _ => "The chain holds together.",
    };
    text.to_owned()
}

fn times(n: usize) -> String {
    if n == 1 { "once".to_owned() } else { format!("{n} times") }
}

/// How often the order is reversed, beside lanes that have decided already.
fn counted(record: &ChainRecord) -> Option<String> {
    let n = record.reversals?;
    let which = if n % 2 == 1 { "an odd number" } else { "an even number" };
    Some(format!("Reversed {}, {which}; the lanes above decide.", times(n)))
}

/// Lanes that are received under another number: one link puts them in order, several single ones are exchanged.
fn renumbered(record: &ChainRecord) -> Option<String> {
    let number = |lane: &Option<String>| lane.as_ref().map(|lane| lane[2..].to_owned());
    let other = |lane: &&JoinedRecord| lane.meets && number(&lane.near_lane) != number(&lane.far_lane);
    let first = record.lanes.iter().find(other)?;
    Some(format!(
        "Lanes arrive under other numbers ({} meets {}, ...): receivers of one link put its lanes in order, but single \
         links on single lanes (breakout) would be exchanged.",
        first.near_lane.as_ref()?,
        first.far_lane.as_ref()?
    ))
}

/// The rule of parallel optics, which says nothing where a connector has more rows than one.
fn parity(record: &ChainRecord, rows: u16) -> Option<String> {
    Some(match record.reversals {
        _ if rows > 1 => return None,
        None => "A member changes the order of pairs: for duplex only, not for parallel optics.".to_owned(),
        Some(n) if n % 2 == 1 => {
            format!("Reversed {}, an odd number: in parallel optics transmit meets receive.", times(n))
        }
        Some(n) => format!(
            "Reversed {}, an even number: in parallel optics transmit meets transmit. Exchange one cable or adapter for \
             one of the other kind.",
            times(n)
        ),
    })
}

fn pairs(record: &ChainRecord) -> String {
    let text = match record.pairs {
        None => "Duplex pairs do not arrive as pairs.",
        Some(PairsWord::Straight) => {
            "Duplex pairs arrive straight: one of the two duplex cords must cross (A-to-B at one end, A-to-A at the \
             other)."
        }
        Some(PairsWord::Crossed) => {
            "Duplex pairs arrive crossed: the same duplex cord (A-to-B) at both ends."
        }
    };
    text.to_owned()
}
