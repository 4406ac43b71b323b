//! Glyphs as small coverage masks, each painted once for its size and quarter of a pixel and then stamped: a
//! page holds thousands of glyphs and few hundred different ones.

use super::font::{Glyph, Glyphs, UNITS_PER_EM, Weight};
use super::{Ink, Text};
use skrifa::outline::pen::PathElement;
use std::collections::BTreeMap;
use tiny_skia::{FillRule, Mask, Path, PathBuilder, Pixmap, Transform};

/// Steps of a pixel that a glyph can start at.
const STEPS: f32 = 4.0;

/// A glyph's coverage and where its upper left pixel lies from the whole pixel of its start.
struct Stamp {
    left: i32,
    top: i32,
    width: usize,
    cover: Vec<u8>,
}

/// Weight, sign, size (as bits) and step of the pixel.
type StampKey = (Weight, char, u32, u8);

/// Stamps made so far.
#[derive(Default)]
pub struct Stamps {
    glyphs: Glyphs,
    known: BTreeMap<StampKey, Option<Stamp>>,
}

impl Stamps {
    /// Paints a line of text into a pixmap that holds the page from row `top` on; its baseline lies on a whole
    /// pixel, its glyphs on quarters.
    pub fn text(&mut self, pixmap: &mut Pixmap, top: u32, text: &Text) {
        let width = self.glyphs.width(text.weight, text.size, &text.words);
        let [mut pen, y] = text.start(width);
        let baseline = y.round() as i32 - top as i32;
        for sign in text.words.chars() {
            let quarters = (pen * STEPS).round();
            let whole = (quarters / STEPS).floor();
            let step = (quarters - whole * STEPS) as u8;
            let glyph = self.glyphs.get(text.weight, sign);
            pen += glyph.advance * text.size / UNITS_PER_EM;
            let key = (text.weight, sign, text.size.to_bits(), step);
            let stamp =
                self.known.entry(key).or_insert_with(|| stamp(glyph, text.size, f32::from(step) / STEPS));
            if let Some(stamp) = stamp {
                stamp.press(pixmap, whole as i32, baseline, text.ink);
            }
        }
    }
}

/// Paints a glyph's mask; none for one without an outline.
fn stamp(glyph: &Glyph, size: f32, shift: f32) -> Option<Stamp> {
    let path = path(glyph, size / UNITS_PER_EM)?;
    let bounds = path.bounds();
    let (left, top) = ((bounds.left() + shift).floor(), bounds.top().floor());
    let width = (bounds.right() + shift - left).ceil().max(1.0) as u32;
    let height = (bounds.bottom() - top).ceil().max(1.0) as u32;
    let mut mask = Mask::new(width, height)?;
    mask.fill_path(&path, FillRule::Winding, true, Transform::from_translate(shift - left, -top));
    Some(Stamp { left: left as i32, top: top as i32, width: width as usize, cover: mask.take() })
}

fn path(glyph: &Glyph, scale: f32) -> Option<Path> {
    let mut builder = PathBuilder::new();
    for step in &glyph.steps {
        match *step {
            PathElement::MoveTo { x, y } => builder.move_to(x * scale, -y * scale),
            PathElement::LineTo { x, y } => builder.line_to(x * scale, -y * scale),
            PathElement::QuadTo { cx0, cy0, x, y } => {
                builder.quad_to(cx0 * scale, -cy0 * scale, x * scale, -y * scale);
            }
            PathElement::CurveTo { cx0, cy0, cx1, cy1, x, y } => {
                let [a, b, c, d, x, y] = [cx0, -cy0, cx1, -cy1, x, -y].map(|v| v * scale);
                builder.cubic_to(a, b, c, d, x, y);
            }
            PathElement::Close => builder.close(),
        }
    }
    builder.finish()
}

impl Stamp {
    /// Mixes the ink into the pixels by coverage; what would lie outside is left out. The page is opaque, so
    /// that its premultiplied colours are its colours.
    fn press(&self, pixmap: &mut Pixmap, x: i32, y: i32, ink: Ink) {
        let (page_width, page_height) = (pixmap.width() as i32, pixmap.height() as i32);
        let [red, green, blue] = ink.rgb;
        for (row, line) in self.cover.chunks_exact(self.width).enumerate() {
            let py = y + self.top + row as i32;
            if !(0..page_height).contains(&py) {
                continue;
            }
            for (column, &cover) in line.iter().enumerate() {
                let px = x + self.left + column as i32;
                if cover == 0 || !(0..page_width).contains(&px) {
                    continue;
                }
                let at = (py * page_width + px) as usize * 4;
                let pixel = &mut pixmap.data_mut()[at..at + 3];
                let share = u32::from(cover) * u32::from(ink.alpha) / 255;
                for (below, above) in pixel.iter_mut().zip([red, green, blue]) {
                    let mixed = u32::from(*below) * (255 - share) + u32::from(above) * share;
                    *below = ((mixed + 127) / 255) as u8;
                }
            }
        }
    }
}
