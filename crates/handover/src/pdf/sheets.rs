//! Sheets of paper and what is painted on them, from the top down. Lengths are points (1/72 inch), x right, y down from
//! the upper left corner.

use super::letters::{Letters, Run};
use super::tree::{Node, Tree};
use crate::Picture;
use crate::drawing::{Ink, TEXT};
use pdf_writer::types::ArtifactType;
use pdf_writer::{Content, Name, Rect, Str, TextStr};
use report::font::Weight;

/// A4.
pub(super) const SIZE: [f32; 2] = [595.276, 841.89];
/// White at the left and the right.
pub(super) const MARGIN: f32 = 45.0;
/// Width between them.
pub(super) const WIDTH: f32 = SIZE[0] - 2.0 * MARGIN;
/// Where the first line may begin; Letter is 25 points shorter at either end.
const TOP: f32 = 56.0;
/// Where the last line must end.
const BOTTOM: f32 = SIZE[1] - 76.0;
/// Baseline of the foot.
pub(super) const FOOT: f32 = SIZE[1] - 54.0;
/// Height of a whole sheet's text.
pub(super) const TALL: f32 = BOTTOM - TOP;

/// How a text looks.
#[derive(Clone, Copy)]
pub(super) struct Look {
    pub weight: Weight,
    pub size: f32,
    pub ink: Ink,
}

impl Look {
    pub(super) const fn regular(size: f32) -> Look {
        Look { weight: Weight::Regular, size, ink: TEXT }
    }

    pub(super) const fn bold(size: f32) -> Look {
        Look { weight: Weight::Bold, size, ink: TEXT }
    }

    pub(super) const fn ink(self, ink: Ink) -> Look {
        Look { ink, ..self }
    }

    /// From one baseline to the next.
    pub(super) fn lead(self) -> f32 {
        (self.size * 1.36).round()
    }
}

/// One sheet.
pub(super) struct Sheet {
    pub content: Content,
    /// The nodes of its marked places, in the order of their numbers.
    pub marks: Vec<Node>,
    /// Numbers of the pictures that it shows.
    pub pictures: Vec<usize>,
}

/// A heading, for the list of contents that viewers show.
pub(super) struct Entry {
    pub words: String,
    pub sheet: usize,
    pub y: f32,
}

/// Everything painted so far.
pub(super) struct Sheets<'p> {
    pub letters: Letters,
    pub tree: Tree,
    pub sheets: Vec<Sheet>,
    pub pictures: Vec<&'p Picture>,
    pub entries: Vec<Entry>,
    /// Where the next thing begins.
    pub y: f32,
}

impl<'p> Sheets<'p> {
    pub(super) fn new() -> Sheets<'p> {
        let mut sheets = Sheets {
            letters: Letters::new(),
            tree: Tree::new(),
            sheets: Vec::new(),
            pictures: Vec::new(),
            entries: Vec::new(),
            y: TOP,
        };
        sheets.turn();
        sheets
    }

    /// Begins a new sheet.
    pub(super) fn turn(&mut self) {
        let content = Content::new();
        self.sheets.push(Sheet { content, marks: Vec::new(), pictures: Vec::new() });
        self.y = TOP;
    }

    /// What is left of this sheet.
    pub(super) fn left(&self) -> f32 {
        BOTTOM - self.y
    }

    /// Begins a new sheet unless this one has room for so much, or nothing on it yet.
    pub(super) fn room(&mut self, height: f32) {
        if self.left() < height && self.y > TOP {
            self.turn();
        }
    }

    /// Space between two things; none at the top of a sheet.
    pub(super) fn skip(&mut self, height: f32) {
        if self.y > TOP {
            self.y += height;
        }
    }

    /// Enters what begins here in the list of contents.
    pub(super) fn enter(&mut self, words: &str) {
        let (sheet, y) = (self.number(), self.y);
        self.entries.push(Entry { words: words.to_owned(), sheet, y });
    }

    /// Number of the sheet that is painted on.
    pub(super) fn number(&self) -> usize {
        self.sheets.len() - 1
    }

    pub(super) fn content(&mut self) -> &mut Content {
        let last = self.number();
        &mut self.sheets[last].content
    }

    /// Paints something that belongs to a node.
    pub(super) fn marked(&mut self, node: Node, paint: impl FnOnce(&mut Self)) {
        let (number, name) = (self.number(), self.tree.name(node));
        let sheet = &mut self.sheets[number];
        let id = sheet.marks.len() as i32;
        sheet.marks.push(node);
        sheet.content.begin_marked_content_with_properties(name).properties().identify(id);
        self.tree.mark(node, number, id);
        paint(self);
        self.content().end_marked_content();
    }

    /// Paints something that says nothing: rules, and what is repeated on every sheet.
    pub(super) fn unread(&mut self, paint: impl FnOnce(&mut Self)) {
        self.content()
            .begin_marked_content_with_properties(Name(b"Artifact"))
            .properties()
            .artifact()
            .kind(ArtifactType::Layout);
        paint(self);
        self.content().end_marked_content();
    }

    /// One line of text with its baseline at `y`.
    pub(super) fn line(&mut self, [x, y]: [f32; 2], look: Look, words: &str) {
        let runs = self.letters.runs(look.weight, words);
        let number = self.number();
        let (face, content) = (self.letters.face(look.weight), &mut self.sheets[number].content);
        fill(content, look.ink);
        content.begin_text().set_font(font(look.weight), look.size).next_line(x, SIZE[1] - y);
        for run in &runs {
            match run {
                Run::Known(words) => drop(content.show(Str(&face.codes(words)))),
                Run::Spelled(words, sign) => {
                    let meant = sign.to_string();
                    content
                        .begin_marked_content_with_properties(Name(b"Span"))
                        .properties()
                        .actual_text(TextStr(&meant));
                    content.show(Str(&face.codes(words))).end_marked_content();
                }
            }
        }
        content.end_text();
    }

    /// A text in lines of at most that width, each where there is room for it.
    pub(super) fn text(&mut self, node: Node, x: f32, width: f32, look: Look, words: &str) {
        for line in self.letters.wrap(look.weight, look.size, words, width) {
            self.room(look.lead());
            let y = self.y + look.size;
            self.marked(node, |sheets| sheets.line([x, y], look, &line));
            self.y += look.lead();
        }
    }

    /// A level line across.
    pub(super) fn rule(&mut self, y: f32, width: f32, ink: Ink) {
        self.unread(|sheets| {
            let content = sheets.content();
            stroke(content, ink, width);
            content.move_to(MARGIN, SIZE[1] - y).line_to(SIZE[0] - MARGIN, SIZE[1] - y).stroke();
        });
    }

    /// Number under which a picture is shown on this sheet.
    pub(super) fn picture(&mut self, picture: &'p Picture) -> usize {
        let same = |known: &&Picture| known.jpeg == picture.jpeg;
        let number = self.pictures.iter().position(same).unwrap_or_else(|| {
            self.pictures.push(picture);
            self.pictures.len() - 1
        });
        let last = self.number();
        if !self.sheets[last].pictures.contains(&number) {
            self.sheets[last].pictures.push(number);
        }
        number
    }
}

/// The place of something on a sheet, as the file tells it.
pub(super) fn place([x, y]: [f32; 2], [width, height]: [f32; 2]) -> Rect {
    Rect::new(x, SIZE[1] - y - height, x + width, SIZE[1] - y)
}

/// Name of a font on every sheet.
pub(super) const fn font(weight: Weight) -> Name<'static> {
    match weight {
        Weight::Regular => Name(b"R"),
        Weight::Bold => Name(b"B"),
    }
}

pub(super) fn fill(content: &mut Content, ink: Ink) {
    let [r, g, b] = ink.map(|v| f32::from(v) / 255.0);
    content.set_fill_rgb(r, g, b);
}

pub(super) fn stroke(content: &mut Content, ink: Ink, width: f32) {
    let [r, g, b] = ink.map(|v| f32::from(v) / 255.0);
    content.set_stroke_rgb(r, g, b).set_line_width(width);
}
