//! Drawings and pictures on a sheet.

use super::sheets::{Look, MARGIN, SIZE, Sheets, TALL, WIDTH, fill, place, stroke};
use super::tree::{More, Node, ROOT};
use crate::Picture;
use crate::drawing::{self, Drawing, Ink, Shape};
use crate::page::{Bars, Map};
use pdf_writer::types::{LineCapStyle, StructRole};
use pdf_writer::{Content, Name};
use report::font::Weight;

/// A unit of a drawing in points.
const UNIT: f32 = 0.75;
/// What stands below a figure.
const CAPTION: Look = Look::regular(8.5);
/// Pictures side by side, and the white between them.
const ABREAST: usize = 4;
const GAP: f32 = 8.0;

/// The positions of a face.
pub(super) fn map(sheets: &mut Sheets, map: &Map) {
    draw(sheets, &drawing::map(map));
}

/// Bars with their caption.
pub(super) fn bars(sheets: &mut Sheets, bars: &Bars) {
    draw(sheets, &drawing::bars(bars));
    let node = sheets.tree.grow(ROOT, StructRole::P, More::Nothing);
    sheets.text(node, MARGIN, WIDTH, CAPTION, &bars.caption);
    sheets.y += 4.0;
}

/// A drawing at its own size, or as large as the paper allows.
fn draw(sheets: &mut Sheets, drawing: &Drawing) {
    let size = [drawing.width as f32, drawing.height as f32];
    let scale = UNIT.min(WIDTH / size[0]).min((TALL - 40.0) / size[1]);
    let size = size.map(|v| v * scale);
    sheets.skip(4.0);
    sheets.room(size[1] + 8.0);
    let at = [MARGIN, sheets.y];
    let node = figure(sheets, &drawing.words, at, size);
    sheets.marked(node, |sheets| drawing.shapes.iter().for_each(|s| shape(sheets, s, at, scale)));
    sheets.y += size[1] + 6.0;
}

fn figure(sheets: &mut Sheets, words: &str, at: [f32; 2], size: [f32; 2]) -> Node {
    sheets.tree.grow(ROOT, StructRole::Figure, More::Alt(words.to_owned(), place(at, size)))
}

/// One shape, its units scaled, from `at` on.
pub(super) fn shape(sheets: &mut Sheets, shape: &Shape, at: [f32; 2], scale: f32) {
    let point = |[x, y]: [f64; 2]| [at[0] + x as f32 * scale, SIZE[1] - at[1] - y as f32 * scale];
    match shape {
        Shape::Ring { at, radius, ink } => {
            circle(sheets.content(), point(*at), *radius as f32 * scale, *ink, 2.0 * scale);
        }
        Shape::Block { at: corner, size, ink } => {
            let [x, y] = point([corner[0], corner[1] + size[1]]);
            let content = sheets.content();
            fill(content, *ink);
            content.rect(x, y, size[0] as f32 * scale, size[1] as f32 * scale).fill_nonzero();
        }
        Shape::Line { points, closed, broken, width, ink } => {
            let content = sheets.content();
            stroke(content, *ink, *width as f32 * scale);
            let dashes = [4.0 * scale, 2.0 * scale];
            content.set_dash_pattern(dashes.into_iter().filter(|_| *broken), 0.0);
            path(content, points.iter().map(|p| point(*p)), *closed);
        }
        Shape::Text { at: base, size, bold, middle, ink, words } => {
            let [x, y] = point(*base);
            let weight = if *bold { Weight::Bold } else { Weight::Regular };
            let look = Look { weight, size: *size as f32 * scale, ink: *ink };
            let half = if *middle { sheets.letters.width(weight, look.size, words) / 2.0 } else { 0.0 };
            sheets.line([x - half, SIZE[1] - y], look, words);
        }
    }
}

fn path(content: &mut Content, points: impl Iterator<Item = [f32; 2]>, closed: bool) {
    for (k, [x, y]) in points.enumerate() {
        match k {
            0 => content.move_to(x, y),
            _ => content.line_to(x, y),
        };
    }
    if closed {
        content.close_and_stroke()
    } else {
        content.stroke()
    };
    content.set_dash_pattern([], 0.0).set_line_cap(LineCapStyle::ButtCap);
}

/// Four curves that stay within 0.03 % of a circle.
fn circle(content: &mut Content, [x, y]: [f32; 2], r: f32, ink: Ink, width: f32) {
    let k = 0.552_284_8 * r;
    stroke(content, ink, width);
    content
        .move_to(x + r, y)
        .cubic_to(x + r, y + k, x + k, y + r, x, y + r)
        .cubic_to(x - k, y + r, x - r, y + k, x - r, y)
        .cubic_to(x - r, y - k, x - k, y - r, x, y - r)
        .cubic_to(x + k, y - r, x + r, y - k, x + r, y)
        .close_and_stroke();
}

/// Pictures side by side; one that is wide and low takes the whole width.
pub(super) fn pictures<'p>(sheets: &mut Sheets<'p>, pictures: &'p [(String, Picture)]) {
    let wide = |picture: &Picture| picture.width > 2 * picture.height;
    for group in pictures.chunk_by(|a, b| !wide(&a.1) && !wide(&b.1)) {
        let abreast = if group.iter().any(|(_, p)| wide(p)) { 1 } else { ABREAST };
        let width = (WIDTH - GAP * (abreast - 1) as f32) / abreast as f32;
        for row in group.chunks(abreast) {
            set_row(sheets, row, width);
        }
    }
}

fn set_row<'p>(sheets: &mut Sheets<'p>, row: &'p [(String, Picture)], width: f32) {
    let size = |picture: &Picture| {
        let tall = picture.height.max(1) as f32 / picture.width.max(1) as f32 * width;
        let scale = (TALL - 60.0).min(tall) / tall;
        [width * scale, tall * scale]
    };
    let captions: Vec<Vec<String>> = row
        .iter()
        .map(|(words, _)| sheets.letters.wrap(CAPTION.weight, CAPTION.size, words, width))
        .collect();
    let tall = row.iter().map(|(_, p)| size(p)[1]).fold(0.0, f32::max);
    let below = captions.iter().map(Vec::len).max().unwrap_or(0) as f32 * CAPTION.lead();
    sheets.skip(4.0);
    sheets.room(tall + below + 8.0);
    let top = sheets.y;
    for (k, ((words, picture), lines)) in row.iter().zip(&captions).enumerate() {
        let x = MARGIN + k as f32 * (width + GAP);
        image(sheets, words, picture, [x, top], size(picture));
        let node = sheets.tree.grow(ROOT, StructRole::P, More::Nothing);
        for (k, line) in lines.iter().enumerate() {
            let y = top + size(picture)[1] + 4.0 + CAPTION.size + k as f32 * CAPTION.lead();
            sheets.marked(node, |sheets| sheets.line([x, y], CAPTION, line));
        }
    }
    sheets.y = top + tall + below + 8.0;
}

fn image<'p>(sheets: &mut Sheets<'p>, words: &str, picture: &'p Picture, at: [f32; 2], size: [f32; 2]) {
    let node = figure(sheets, words, at, size);
    let number = sheets.picture(picture);
    sheets.marked(node, |sheets| {
        let content = sheets.content();
        let corner = [at[0], SIZE[1] - at[1] - size[1]];
        content.save_state().transform([size[0], 0.0, 0.0, size[1], corner[0], corner[1]]);
        content.x_object(Name(format!("P{number}").as_bytes())).restore_state();
    });
}
