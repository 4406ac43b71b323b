//! A chain of cables and adapters in a few lines: its members, where each position comes out, the parity, how
//! duplex pairs arrive, and what is wrong first.

use super::Style;
use super::table::{Line, in_rows, table};
use super::wrap::hanging;
use crate::chain::{ChainRecord, OrderWord, PairsWord, StrandRecord};

/// The text, with a newline at its end.
pub fn chain(record: &ChainRecord, style: Style) -> String {
    let width = style.columns();
    let mut out = match record.contradictions.split_first() {
        None => hanging("", 0, holds(record), width),
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
    let lines = [Line::Words("near", numbers(|s| s.near)), Line::Words("far", numbers(|s| s.far))];
    out.push_str(&table(&in_rows(record.strands.len()), &lines, style));
    for text in [parity(record), pairs(record)] {
        out.push_str(&hanging("", 0, &text, width));
    }
    out
}

/// What a chain without a contradiction is worth: where no application is named, none of it can contradict one.
fn holds(record: &ChainRecord) -> &'static str {
    match record.reversals {
        None => "Each member fits the next, for duplex pairs only: see below.",
        Some(n) if n % 2 == 0 => "Each member fits the next, but transmit meets transmit: see below.",
        _ => "The chain holds together.",
    }
}

fn parity(record: &ChainRecord) -> String {
    let times = |n: usize| if n == 1 { "once".to_owned() } else { format!("{n} times") };
    match record.reversals {
        None => "A member changes the order of pairs: for duplex only, not for parallel optics.".to_owned(),
        Some(n) if n % 2 == 1 => {
            format!("Reversed {}, an odd number: in parallel optics transmit meets receive.", times(n))
        }
        Some(n) => format!(
            "Reversed {}, an even number: in parallel optics transmit meets transmit. Exchange one cable or adapter for \
             one of the other kind.",
            times(n)
        ),
    }
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
