//! The parts of a page one below the other: headings, texts, lists; tables and figures stand in files of their own.

use super::figures;
use super::sheets::{FOOT, Look, MARGIN, SIZE, Sheets, WIDTH};
use super::table;
use super::tree::{More, Node, ROOT};
use crate::drawing::{Ink, TEXT};
use crate::page::{Level, Page, Part, is_numbered};
use pdf_writer::types::StructRole;
use report::font::Weight;

const QUIET: Ink = [0x50, 0x50, 0x50];
/// The text that is read.
const TEXT_LOOK: Look = Look::regular(9.5);

/// Sets the whole page, and the foot of every sheet.
pub(super) fn set<'p>(sheets: &mut Sheets<'p>, page: &'p Page) {
    let node = sheets.tree.grow(ROOT, StructRole::H1, More::Nothing);
    sheets.text(node, MARGIN, WIDTH, Look::bold(19.0), &page.title);
    paragraph(sheets, Look::regular(11.0).ink(QUIET), &page.subtitle);
    for part in &page.parts {
        set_part(sheets, part);
    }
    foot(sheets, page);
}

fn set_part<'p>(sheets: &mut Sheets<'p>, part: &'p Part) {
    match part {
        Part::Heading(level, words) => heading(sheets, *level, words),
        Part::Text(words) => paragraph(sheets, TEXT_LOOK, words),
        Part::List(items) => list(sheets, items),
        Part::Table(table) => table::set(sheets, table),
        Part::Map(map) => figures::map(sheets, map),
        Part::Bars(bars) => figures::bars(sheets, bars),
        Part::Pictures(pictures) => figures::pictures(sheets, pictures),
    }
}

/// A heading, with room below it for what it stands above.
fn heading(sheets: &mut Sheets, level: Level, words: &str) {
    let (role, look, above) = match level {
        Level::Two => (StructRole::H2, Look::bold(13.5), 16.0),
        Level::Three => (StructRole::H3, Look::bold(10.5), 8.0),
    };
    let below = if level == Level::Two { 150.0 } else { 70.0 };
    sheets.skip(above);
    let lines = sheets.letters.wrap(look.weight, look.size, words, WIDTH).len();
    sheets.room(look.lead() * lines as f32 + below);
    if level == Level::Two {
        let y = sheets.y;
        sheets.rule(y, 1.2, TEXT);
        sheets.y += 5.0;
        sheets.enter(words);
    }
    let node = sheets.tree.grow(ROOT, role, More::Nothing);
    sheets.text(node, MARGIN, WIDTH, look, words);
    sheets.y += 2.0;
}

fn paragraph(sheets: &mut Sheets, look: Look, words: &str) {
    let node = sheets.tree.grow(ROOT, StructRole::P, More::Nothing);
    sheets.text(node, MARGIN, WIDTH, look, words);
    sheets.y += 4.0;
}

fn list(sheets: &mut Sheets, items: &[String]) {
    const INDENT: f32 = 12.0;
    let list = sheets.tree.grow(ROOT, StructRole::L, More::Nothing);
    for item in items {
        let node = sheets.tree.grow(list, StructRole::LI, More::Nothing);
        sheets.room(TEXT_LOOK.lead());
        if !is_numbered(item) {
            bullet(sheets, node);
        }
        let node = sheets.tree.grow(node, StructRole::LBody, More::Nothing);
        sheets.text(node, MARGIN + INDENT, WIDTH - INDENT, TEXT_LOOK, item);
        sheets.y += 1.5;
    }
    sheets.y += 4.0;
}

fn bullet(sheets: &mut Sheets, item: Node) {
    let label = sheets.tree.grow(item, StructRole::Lbl, More::Nothing);
    let y = sheets.y + TEXT_LOOK.size;
    sheets.marked(label, |sheets| sheets.line([MARGIN + 2.0, y], TEXT_LOOK, "•"));
}

/// What stands at the foot of every sheet: whose it is, and which of how many.
fn foot(sheets: &mut Sheets, page: &Page) {
    let look = Look::regular(8.0).ink(QUIET);
    let all = sheets.sheets.len();
    let words = sheets.letters.wrap(look.weight, look.size, &page.foot, WIDTH - 80.0);
    let ellipsis = if words.len() > 1 { "…" } else { "" };
    let words = format!("{}{ellipsis}", words.first().map_or("", String::as_str));
    let done = std::mem::take(&mut sheets.sheets);
    for (k, sheet) in done.into_iter().enumerate() {
        sheets.sheets.push(sheet);
        sheets.rule(FOOT - 12.0, 0.6, QUIET);
        let number = format!("page {} of {all}", k + 1);
        let right = SIZE[0] - MARGIN - sheets.letters.width(Weight::Regular, look.size, &number);
        sheets.unread(|sheets| {
            sheets.line([MARGIN, FOOT], look, &words);
            sheets.line([right, FOOT], look, &number);
        });
    }
}
