//! The rows of a face as they are seen with the key up, several lines of words to each position.

use super::{Style, token};
use crate::record::Verdict;

/// Columns taken by the words at the left.
const LABEL: usize = 9;
/// Columns of one position where there is room, and the least it takes.
const CELL: (usize, usize) = (6, 4);

/// Where a position stands.
#[derive(Clone, Copy)]
pub struct Seat {
    pub row: u16,
    pub column: u16,
}

/// Seats of so many positions one after the other, in rows of like width that are no wider than a connector's.
pub fn in_rows(count: usize) -> Vec<Seat> {
    const WIDEST: usize = 16;
    let across = count.div_ceil(count.div_ceil(WIDEST).max(1)).max(1);
    (0..count).map(|i| Seat { row: (i / across) as u16, column: (i % across) as u16 }).collect()
}

/// What stands in a line of the table at each position.
pub enum Line<'a> {
    /// Words.
    Words(&'a str, Vec<String>),
    /// Verdicts in their shapes.
    Verdicts(&'a str, Vec<Verdict>),
}

/// The lines at every seat, row by row from the top; stretches where the terminal is too narrow.
pub fn table(seats: &[Seat], lines: &[Line], style: Style) -> String {
    let columns = seats.iter().map(|s| s.column);
    let (Some(first), Some(last)) = (columns.clone().min(), columns.max()) else { return String::new() };
    let room = style.columns() - LABEL;
    let cell = (room / (usize::from(last - first) + 1)).clamp(CELL.1, CELL.0);
    let mut rows: Vec<u16> = seats.iter().map(|s| s.row).collect();
    rows.sort_unstable();
    rows.dedup();
    let all: Vec<u16> = (first..=last).collect();
    let mut out = String::new();
    for row in rows {
        for stretch in all.chunks((room / cell).max(1)) {
            let at = |column: &u16| seats.iter().position(|s| (s.row, s.column) == (row, *column));
            let cells: Vec<Option<usize>> = stretch.iter().map(at).collect();
            for line in lines {
                out.push_str(&text(line, &cells, cell, style));
            }
            out.push('\n');
        }
    }
    out
}

fn text(line: &Line, cells: &[Option<usize>], cell: usize, style: Style) -> String {
    let label = match line {
        Line::Words(label, _) | Line::Verdicts(label, _) => label,
    };
    let mut out = format!("{label:<LABEL$}");
    for at in cells {
        let (words, painted) = match (at, line) {
            (None, _) => (".".to_owned(), None),
            (Some(i), Line::Words(_, words)) => (words[*i].clone(), None),
            (Some(i), Line::Verdicts(_, verdicts)) => (token(verdicts[*i]).to_owned(), Some(verdicts[*i])),
        };
        // Centred by hand: colour codes have no width on the screen.
        let spare = cell.saturating_sub(words.chars().count());
        out.push_str(&" ".repeat(spare / 2));
        out.push_str(&painted.map_or_else(|| words.clone(), |verdict| style.paint(verdict, &words)));
        out.push_str(&" ".repeat(spare - spare / 2));
    }
    out.trim_end().to_owned() + "\n"
}
