//! The two bundled fonts: widths of texts and outlines of glyphs. No shaping and no kerning; a sign that the fonts do
//! not have is spelled by its number before it gets here.

use skrifa::instance::{LocationRef, Size};
use skrifa::outline::DrawSettings;
use skrifa::outline::pen::PathElement;
use skrifa::{FontRef, MetadataProvider};
use std::collections::BTreeMap;

static REGULAR: &[u8] = include_bytes!("../../assets/Roboto-Regular-subset.ttf");
static BOLD: &[u8] = include_bytes!("../../assets/Roboto-Bold-subset.ttf");

/// The bytes of a font (TrueType).
pub const fn bytes(weight: Weight) -> &'static [u8] {
    match weight {
        Weight::Regular => REGULAR,
        Weight::Bold => BOLD,
    }
}

/// A sign that commands instead of showing becomes the sign for what cannot be shown, as in HTML.
pub fn shown(sign: char) -> char {
    if sign.is_control() { char::REPLACEMENT_CHARACTER } else { sign }
}

/// How a sign that the fonts do not have is spelled, so that no two names look alike: "[U+5149]".
pub fn spelled(sign: char) -> String {
    format!("[U+{:04X}]", u32::from(sign))
}

/// Regular or bold.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// For reading.
    Regular,
    /// For seeing first.
    Bold,
}

/// A glyph: how far it moves the pen and its outline; font units, y up.
#[derive(Clone, Debug, Default)]
pub(crate) struct Glyph {
    /// Whether the font has it.
    pub known: bool,
    pub advance: f32,
    pub steps: Vec<PathElement>,
}

/// Font units to the em of both fonts.
pub const UNITS_PER_EM: f32 = 2048.0;

/// The glyphs used so far, each read from its font once.
#[derive(Default)]
pub(crate) struct Glyphs {
    known: BTreeMap<(Weight, char), Glyph>,
}

impl Glyphs {
    /// The glyph of a sign.
    pub fn get(&mut self, weight: Weight, sign: char) -> &Glyph {
        self.known.entry((weight, sign)).or_insert_with(|| read(weight, sign).unwrap_or_default())
    }

    /// A text as it is [`shown`], with every sign that the font does not have [`spelled`].
    pub fn written(&mut self, weight: Weight, words: &str) -> String {
        let mut out = String::with_capacity(words.len());
        for sign in words.chars().map(shown) {
            match self.get(weight, sign).known {
                true => out.push(sign),
                false => out.push_str(&spelled(sign)),
            }
        }
        out
    }

    /// Width of a line of text.
    pub fn width(&mut self, weight: Weight, size: f32, words: &str) -> f32 {
        words.chars().map(|sign| self.get(weight, sign).advance).sum::<f32>() * size / UNITS_PER_EM
    }

    /// Every glyph read, in order.
    pub fn iter(&self) -> impl Iterator<Item = (&(Weight, char), &Glyph)> {
        self.known.iter()
    }

    /// Breaks a text at spaces into at most `most` lines of that width; what does not fit ends in an ellipsis.
    pub fn wrap(&mut self, weight: Weight, size: f32, words: &str, width: f32, most: usize) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        for word in words.split(' ').filter(|word| !word.is_empty()) {
            let longer = lines.last().map(|line| format!("{line} {word}"));
            match longer.filter(|line| self.width(weight, size, line) <= width) {
                Some(line) => {
                    lines.pop();
                    lines.push(line);
                }
                None => lines.push(word.to_owned()),
            }
        }
        if lines.len() > most {
            lines.truncate(most);
            if let Some(last) = lines.last_mut() {
                last.push('…');
            }
        }
        lines.iter().map(|line| self.fit(weight, size, line, width)).collect()
    }

    /// The text, cut and ended by an ellipsis if it is wider than `width`.
    pub fn fit(&mut self, weight: Weight, size: f32, words: &str, width: f32) -> String {
        let mut kept = words.to_owned();
        while self.width(weight, size, &kept) > width && kept.chars().count() > 1 {
            kept = kept.trim_end_matches('…').to_owned();
            kept.pop();
            kept = kept.trim_end().to_owned() + "…";
        }
        kept
    }
}

/// Reads one glyph; none if the font does not parse, which a test rules out.
fn read(weight: Weight, sign: char) -> Option<Glyph> {
    let font = FontRef::new(bytes(weight)).ok()?;
    let found = font.charmap().map(sign);
    let id = found.unwrap_or_default();
    let metrics = font.glyph_metrics(Size::unscaled(), LocationRef::default());
    let mut glyph = Glyph { known: found.is_some(), advance: metrics.advance_width(id)?, steps: Vec::new() };
    let settings = DrawSettings::unhinted(Size::unscaled(), LocationRef::default());
    font.outline_glyphs().get(id)?.draw(settings, &mut glyph.steps).ok()?;
    Some(glyph)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_fonts_have_every_sign_of_our_own_texts() {
        let signs = ('!'..='~').chain("µ±–—…·×°’".chars());
        for weight in [Weight::Regular, Weight::Bold] {
            let empty = read(weight, '\u{e000}').unwrap();
            for sign in signs.clone() {
                let glyph = read(weight, sign).unwrap();
                assert!(!glyph.steps.is_empty() && glyph.steps != empty.steps, "{weight:?} {sign}");
            }
        }
    }

    #[test]
    fn the_em_is_that_of_both_fonts() {
        for bytes in [REGULAR, BOLD] {
            let font = FontRef::new(bytes).unwrap();
            let metrics = font.metrics(Size::unscaled(), LocationRef::default());
            assert_eq!(f32::from(metrics.units_per_em), UNITS_PER_EM);
        }
    }

    #[test]
    fn wrapped_lines_fit_and_lose_nothing() {
        let mut glyphs = Glyphs::default();
        let text = "1 particle over 10 µm in zone B, none allowed (12.4 µm)";
        let lines = glyphs.wrap(Weight::Regular, 12.0, text, 150.0, 9);
        assert!(lines.len() > 1);
        assert!(lines.iter().all(|line| glyphs.width(Weight::Regular, 12.0, line) <= 150.0));
        assert_eq!(lines.join(" "), text);
        let cut = glyphs.wrap(Weight::Regular, 12.0, text, 150.0, 1);
        assert!(cut.len() == 1 && cut[0].ends_with('…'));
        assert!(glyphs.width(Weight::Regular, 12.0, &cut[0]) <= 150.0);
    }
}
