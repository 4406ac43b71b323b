//! Tables: columns by their relative widths, cells wrapped, the head repeated on every sheet, no row cut where it could
//! stand whole.

use super::figures;
use super::sheets::{Look, MARGIN, Sheets, TALL, WIDTH};
use super::tree::{More, Node, ROOT};
use crate::drawing::{self, Ink, SIGN, TEXT};
use crate::page::{Cell, Standing, Table};
use pdf_writer::types::{StructRole, TableHeaderScope};

const RULE: Ink = [0xb8, 0xb8, 0xb8];
const QUIET: Ink = [0x50, 0x50, 0x50];
const LOOK: Look = Look::regular(8.5);
const LEAD: f32 = 12.0;
/// White above and below the text of a row.
const PAD: f32 = 3.0;
/// White at the right of a cell.
const GAP: f32 = 7.0;
/// Side of a verdict's sign, and the white after it.
const MARK: f32 = 8.0;

/// One line of a cell.
struct Line {
    words: String,
    look: Look,
    sign: Option<Standing>,
}

/// A column: where it begins and how wide its text may be.
#[derive(Clone, Copy)]
struct Column {
    x: f32,
    width: f32,
}

/// Sets a table.
pub(super) fn set(sheets: &mut Sheets, table: &Table) {
    let columns = columns(table);
    let node = sheets.tree.grow(ROOT, StructRole::Table, More::Nothing);
    let rows: Vec<Vec<Vec<Line>>> = table.rows.iter().map(|row| cells(sheets, row, &columns)).collect();
    let head: Vec<Vec<Line>> = heads(sheets, table, &columns);
    let first = rows.first().map_or(0.0, |row| height(row)) + height(&head);
    sheets.skip(4.0);
    sheets.room((first + 20.0).min(TALL));
    let caption = sheets.tree.grow(node, StructRole::Caption, More::Nothing);
    sheets.text(caption, MARGIN, WIDTH, Look::bold(9.0), &table.caption);
    set_head(sheets, &head, &columns, Some(node));
    for row in &rows {
        set_row(sheets, row, &columns, &head, node);
    }
    sheets.y += 8.0;
}

fn columns(table: &Table) -> Vec<Column> {
    let whole: f32 = table.widths.iter().sum::<f32>().max(f32::MIN_POSITIVE);
    let mut x = MARGIN;
    let column = |part: &f32| {
        let wide = WIDTH * part / whole;
        let column = Column { x, width: (wide - GAP).max(LOOK.size) };
        x += wide;
        column
    };
    table.widths.iter().map(column).collect()
}

fn heads(sheets: &Sheets, table: &Table, columns: &[Column]) -> Vec<Vec<Line>> {
    let head =
        |(words, column): (&String, &Column)| lines(sheets, words, Look::bold(LOOK.size), column.width);
    table.head.iter().zip(columns).map(head).collect()
}

fn lines(sheets: &Sheets, words: &str, look: Look, width: f32) -> Vec<Line> {
    let wrapped = sheets.letters.wrap(look.weight, look.size, words, width);
    wrapped.into_iter().map(|words| Line { words, look, sign: None }).collect()
}

fn cells(sheets: &Sheets, row: &[Cell], columns: &[Column]) -> Vec<Vec<Line>> {
    row.iter().zip(columns).map(|(cell, column)| cell_lines(sheets, cell, column.width)).collect()
}

fn cell_lines(sheets: &Sheets, cell: &Cell, width: f32) -> Vec<Line> {
    match cell {
        Cell::Words(words) => lines(sheets, words, LOOK, width),
        Cell::Link(words, stem) => {
            let mut all = lines(sheets, words, LOOK, width);
            all.extend(lines(sheets, &format!("{stem}.pdf"), Look::regular(6.5).ink(QUIET), width));
            all
        }
        Cell::Mark(standing, more) => {
            let look = Look::bold(LOOK.size).ink(drawing::ink(*standing));
            let mut all = lines(sheets, standing.word(), look, (width - MARK - 3.0).max(LOOK.size));
            all.iter_mut().take(1).for_each(|line| line.sign = Some(*standing));
            if !more.is_empty() {
                all.extend(lines(sheets, &format!("({more})"), LOOK, width));
            }
            all
        }
    }
}

fn count(row: &[Vec<Line>]) -> usize {
    row.iter().map(Vec::len).max().unwrap_or(0)
}

fn height(row: &[Vec<Line>]) -> f32 {
    count(row) as f32 * LEAD + 2.0 * PAD
}

/// The head of a table; read aloud where the table begins, and shown again on each sheet.
fn set_head(sheets: &mut Sheets, head: &[Vec<Line>], columns: &[Column], table: Option<Node>) {
    match table {
        Some(table) => {
            let row = sheets.tree.grow(table, StructRole::TR, More::Nothing);
            for (cell, column) in head.iter().zip(columns) {
                let heads = More::Heads(TableHeaderScope::Column);
                let node = sheets.tree.grow(row, StructRole::TH, heads);
                paint(sheets, Some(node), cell, *column);
            }
        }
        None => head.iter().zip(columns).for_each(|(cell, column)| paint(sheets, None, cell, *column)),
    }
    sheets.y += height(head);
    let y = sheets.y;
    sheets.rule(y, 1.0, TEXT);
}

/// A row, whole if a sheet can hold it, else from sheet to sheet.
fn set_row(sheets: &mut Sheets, row: &[Vec<Line>], columns: &[Column], head: &[Vec<Line>], table: Node) {
    let node = sheets.tree.grow(table, StructRole::TR, More::Nothing);
    let cell = |k: usize, sheets: &mut Sheets| match k {
        0 => sheets.tree.grow(node, StructRole::TH, More::Heads(TableHeaderScope::Row)),
        _ => sheets.tree.grow(node, StructRole::TD, More::Nothing),
    };
    let nodes: Vec<Node> = (0..row.len()).map(|k| cell(k, sheets)).collect();
    if height(row) > sheets.left() && height(row) + height(head) <= TALL {
        turn(sheets, head, columns);
    }
    let mut from = 0;
    while from < count(row) {
        let room = ((sheets.left() - 2.0 * PAD) / LEAD).floor();
        if room < 1.0 {
            turn(sheets, head, columns);
            continue;
        }
        let to = (from + room as usize).min(count(row));
        for ((lines, column), node) in row.iter().zip(columns).zip(&nodes) {
            paint(sheets, Some(*node), lines.get(from..to.min(lines.len())).unwrap_or(&[]), *column);
        }
        sheets.y += (to - from) as f32 * LEAD + 2.0 * PAD;
        from = to;
    }
    let y = sheets.y;
    sheets.rule(y, 0.5, RULE);
}

fn turn(sheets: &mut Sheets, head: &[Vec<Line>], columns: &[Column]) {
    sheets.turn();
    // A head that would leave no room is not shown again.
    if height(head) < TALL / 2.0 {
        set_head(sheets, head, columns, None);
    }
}

/// Lines of a cell from the top of its row on; without a node they are a repetition.
fn paint(sheets: &mut Sheets, node: Option<Node>, lines: &[Line], column: Column) {
    for (k, line) in lines.iter().enumerate() {
        let top = sheets.y + PAD + k as f32 * LEAD;
        let set = |sheets: &mut Sheets| one(sheets, line, [column.x, top]);
        match node {
            Some(node) => sheets.marked(node, set),
            None => sheets.unread(set),
        }
    }
}

fn one(sheets: &mut Sheets, line: &Line, [x, top]: [f32; 2]) {
    let mut at = [x, top + LOOK.size];
    if let Some(standing) = line.sign {
        figures::shape(sheets, &drawing::sign(standing), [x, top + 1.2], MARK / SIGN as f32);
        at[0] += MARK + 3.0;
    }
    sheets.line(at, line.look, &line.words);
}
