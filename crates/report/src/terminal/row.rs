//! The rows of a face as they are seen with the key up: number, verdict, worst mark of each position.

use super::{Style, token};
use crate::record::{FaceRecord, Kind, PositionRecord};
use crate::tell::{self, worst};

/// Columns taken by the words at the left.
const LABEL: usize = 8;
/// Columns of one position where there is room, and the least it takes.
const CELL: (usize, usize) = (5, 4);

/// Every row from the top, cut into stretches where the terminal is too narrow.
pub fn rows(record: &FaceRecord, style: Style) -> String {
    let mut out = String::new();
    let columns = record.positions.iter().map(|p| p.column);
    let (Some(first), Some(last)) = (columns.clone().min(), columns.max()) else { return out };
    let span = usize::from(last - first) + 1;
    let room = style.columns() - LABEL;
    let cell = (room / span).clamp(CELL.1, CELL.0);
    let per_line = (room / cell).max(1);
    let mut rows: Vec<u16> = record.positions.iter().map(|p| p.row).collect();
    rows.sort_unstable();
    rows.dedup();
    let all: Vec<u16> = (first..=last).collect();
    for row in rows {
        for stretch in all.chunks(per_line) {
            let find = |column: &u16| record.positions.iter().find(|p| (p.row, p.column) == (row, *column));
            let cells: Vec<Option<&PositionRecord>> = stretch.iter().map(find).collect();
            let label = if out.is_empty() { "key up" } else { "" };
            out.push_str(&stretch_text(record, &cells, cell, label, style));
            out.push('\n');
        }
    }
    out
}

fn stretch_text(
    record: &FaceRecord,
    cells: &[Option<&PositionRecord>],
    cell: usize,
    label: &str,
    style: Style,
) -> String {
    let line = |label: &str, text: &dyn Fn(&PositionRecord) -> String| {
        let mut line = format!("{label:<LABEL$}");
        for position in cells {
            line.push_str(&format!("{:^cell$}", position.map_or_else(|| ".".to_owned(), text)));
        }
        line.trim_end().to_owned() + "\n"
    };
    let mut out = line(label, &|p| tell::number(record, p));
    out.push_str(&verdicts(cells, cell, style));
    if cells.iter().flatten().any(|p| worst(p).is_some()) {
        out.push_str(&line("worst", &|p| worst(p).map_or("-", |f| short_kind(f.kind)).to_owned()));
        out.push_str(&line("um", &|p| worst(p).map_or_else(String::new, tell::size)));
    }
    out
}

fn verdicts(cells: &[Option<&PositionRecord>], cell: usize, style: Style) -> String {
    let mut line = " ".repeat(LABEL);
    for position in cells {
        let token = position.map_or(" . ", |p| token(p.verdict));
        // Centred by hand: colour codes have no width on the screen.
        let left = (cell - token.len()) / 2;
        line.push_str(&" ".repeat(left));
        match position {
            Some(p) => line.push_str(&style.paint(p.verdict, token)),
            None => line.push_str(token),
        }
        line.push_str(&" ".repeat(cell - token.len() - left));
    }
    line.trim_end().to_owned() + "\n"
}

const fn short_kind(kind: Kind) -> &'static str {
    match kind {
        Kind::Scratch => "scr",
        Kind::Particle => "par",
        Kind::Pit => "pit",
        Kind::Film => "flm",
        Kind::Chip => "chp",
    }
}
