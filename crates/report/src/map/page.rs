//! The page under work: items so far, and short ways to add the usual ones.

use super::theme::{CASING, Look, PLATE, RULE, TEXT, verdict_ink};
use crate::draw::font::Glyphs;
use crate::draw::{Anchor, Ink, Item, Outline, Rect, Stroke, Text, Weight};
use crate::markup::with_sign;
use crate::record::Verdict;

/// Half the height of the capitals of the fonts, in ems: what a baseline lies below the middle of a letter.
const HALF_CAPITAL: f32 = 0.3555;

/// How a text looks.
#[derive(Clone, Copy, Debug)]
pub struct Face {
    pub size: f32,
    pub weight: Weight,
    pub ink: Ink,
}

impl Face {
    pub const fn regular(size: f32) -> Face {
        Face { size, weight: Weight::Regular, ink: TEXT }
    }

    pub const fn bold(size: f32) -> Face {
        Face { size, weight: Weight::Bold, ink: TEXT }
    }

    pub const fn ink(self, ink: Ink) -> Face {
        Face { ink, ..self }
    }
}

/// Items in the order they are painted.
#[derive(Default)]
pub struct Page<'a> {
    pub glyphs: Glyphs,
    pub items: Vec<Item<'a>>,
}

impl<'a> Page<'a> {
    /// Adds a line of text; "um" is written with its sign, and what the font does not have is spelled.
    pub fn text(&mut self, at: [f32; 2], anchor: Anchor, face: Face, words: &str) {
        let words = self.written(face, words);
        self.items.push(Item::Text(Text {
            at,
            anchor,
            size: face.size,
            weight: face.weight,
            ink: face.ink,
            words,
        }));
    }

    fn written(&mut self, face: Face, words: &str) -> String {
        self.glyphs.written(face.weight, &with_sign(words))
    }

    /// Width of a line of text as [`Page::text`] writes it.
    pub fn width(&mut self, face: Face, words: &str) -> f32 {
        let words = self.written(face, words);
        self.glyphs.width(face.weight, face.size, &words)
    }

    /// Adds a text broken into at most so many lines, from a first baseline down; gives the baseline after them.
    pub fn paragraph(
        &mut self,
        [x, mut y]: [f32; 2],
        face: Face,
        words: &str,
        width: f32,
        most: usize,
    ) -> f32 {
        let words = self.written(face, words);
        for line in self.glyphs.wrap(face.weight, face.size, &words, width, most) {
            self.text([x, y], Anchor::Start, face, &line);
            y += (face.size * 1.3).round();
        }
        y
    }

    pub fn shape(&mut self, outline: Outline, fill: Option<Ink>, stroke: Option<Stroke>) {
        self.items.push(Item::Shape { outline, fill, stroke });
    }

    /// A line's shape with a white casing, for use on a picture.
    pub fn cased(&mut self, outline: Outline, stroke: Stroke) {
        let casing = Stroke::solid(CASING, stroke.width + 1.8);
        self.shape(outline.clone(), None, Some(casing));
        self.shape(outline, None, Some(stroke));
    }

    /// The line about a mark, for use on a picture.
    pub fn look(&mut self, outline: Outline, look: Look) {
        self.cased(outline.clone(), look.stroke);
        if let Some(core) = look.core {
            self.shape(outline, None, Some(core));
        }
    }

    /// Words on a plate, for use on a picture; `at` is the plate's middle, left or right end by the anchor.
    pub fn plate(&mut self, at: [f32; 2], anchor: Anchor, face: Face, words: &str) {
        let plate = self.plate_rect(at, anchor, face, words);
        self.shape(Outline::Rect(plate, 3.0), Some(PLATE), None);
        let middle = [plate.x + plate.width / 2.0, at[1] + face.size * HALF_CAPITAL];
        self.text(middle, Anchor::Middle, face, words);
    }

    /// The room that [`Page::plate`] takes.
    pub fn plate_rect(&mut self, [x, y]: [f32; 2], anchor: Anchor, face: Face, words: &str) -> Rect {
        let (width, height) = (self.width(face, words) + 8.0, (face.size * 1.35).round());
        let left = match anchor {
            Anchor::Start => x,
            Anchor::Middle => x - width / 2.0,
            Anchor::End => x - width,
        };
        Rect::new(left, y - height / 2.0, width, height)
    }

    /// A level rule.
    pub fn rule(&mut self, x: f32, y: f32, width: f32) {
        self.shape(Outline::Lines(vec![[[x, y], [x + width, y]]]), None, Some(Stroke::solid(RULE, 1.0)));
    }

    /// A verdict's letter in its shape: a ring for a pass, a full square for a fail, a diamond for ungraded.
    pub fn badge(&mut self, [x, y]: [f32; 2], radius: f32, verdict: Verdict) {
        let ink = verdict_ink(verdict);
        let line = Stroke::solid(ink, (radius * 0.17).max(1.6));
        let paper = super::theme::PAPER;
        let letter_ink = match verdict {
            Verdict::Pass => {
                self.shape(Outline::Circle { centre: [x, y], radius }, Some(paper), Some(line));
                ink
            }
            Verdict::Fail => {
                let r = radius * 1.02;
                self.shape(
                    Outline::Rect(Rect::new(x - r, y - r, 2.0 * r, 2.0 * r), radius * 0.12),
                    Some(ink),
                    None,
                );
                paper
            }
            Verdict::Ungraded => {
                self.shape(Outline::Polygon(diamond([x, y], radius * 1.22)), Some(paper), Some(line));
                ink
            }
        };
        let face = Face::bold(radius * 1.3).ink(letter_ink);
        let baseline = [x, y + face.size * HALF_CAPITAL];
        self.text(baseline, Anchor::Middle, face, verdict.letter().encode_utf8(&mut [0; 4]));
    }

    /// A bar of a length in micrometres with its words at the left; `right` is its right end.
    pub fn scale_bar(&mut self, [right, y]: [f32; 2], um: f64, px_per_um: f64) {
        let length = (um * px_per_um) as f32;
        let (left, tick) = (right - length, 4.0);
        let lines = vec![
            [[left, y], [right, y]],
            [[left, y - tick], [left, y + tick]],
            [[right, y - tick], [right, y + tick]],
        ];
        self.shape(Outline::Lines(lines), None, Some(Stroke::solid(TEXT, 1.6)));
        let face = Face::regular(13.0);
        self.text([left - 8.0, y + face.size * HALF_CAPITAL], Anchor::End, face, &format!("{um:.0} um"));
    }

    /// Puts what `paint` adds into a group with words for readers of the screen.
    pub fn group(&mut self, label: String, paint: impl FnOnce(&mut Page<'a>)) {
        let outside = std::mem::take(&mut self.items);
        paint(self);
        let items = std::mem::replace(&mut self.items, outside);
        self.items.push(Item::Group { label: with_sign(&label), items });
    }
}

/// The four corners of a diamond.
pub fn diamond([x, y]: [f32; 2], r: f32) -> Vec<[f32; 2]> {
    vec![[x, y - r], [x + r, y], [x, y + r], [x - r, y]]
}

/// Lines at 45 degrees that fill a rectangle, so far apart along its edges.
pub fn hatch(rect: Rect, apart: f32) -> Outline {
    let mut lines = Vec::new();
    let mut start = -rect.height + apart / 2.0;
    while start < rect.width {
        let from = (-start).max(0.0);
        let to = (rect.width - start).min(rect.height);
        lines.push([[rect.x + start + from, rect.y + from], [rect.x + start + to, rect.y + to]]);
        start += apart;
    }
    Outline::Lines(lines)
}
