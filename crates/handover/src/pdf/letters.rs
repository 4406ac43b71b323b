//! Glyphs of the bundled fonts, widths of texts, and where lines break. The fonts have no tables of layout: a sign is a
//! glyph. A sign that they do not have is spelled by its number, so that no two names look alike on paper.

use report::font::{UNITS_PER_EM, Weight, bytes, shown, spelled};
use skrifa::instance::{LocationRef, Size};
use skrifa::{FontRef, MetadataProvider};
use std::collections::BTreeMap;

/// What a font says of itself, in thousandths of the em.
pub(super) struct Face {
    /// Name in the file.
    pub name: &'static str,
    /// Every sign with its glyph.
    pub glyphs: BTreeMap<char, u16>,
    /// How far each glyph moves the pen.
    pub widths: Vec<f32>,
    /// Left, lower, right and upper end of the largest glyph.
    pub bounds: [f32; 4],
    pub ascent: f32,
    pub descent: f32,
    pub capitals: f32,
}

/// Both fonts.
pub(super) struct Letters {
    regular: Face,
    bold: Face,
}

/// A part of a line: signs that the font has, or one that it has not.
#[derive(Debug, PartialEq)]
pub(super) enum Run {
    Known(String),
    /// As it is spelled, and the sign itself.
    Spelled(String, char),
}

impl Letters {
    pub(super) fn new() -> Letters {
        Letters {
            regular: Face::read("Roboto-Regular", Weight::Regular).unwrap_or_else(Face::blank),
            bold: Face::read("Roboto-Bold", Weight::Bold).unwrap_or_else(Face::blank),
        }
    }

    pub(super) fn face(&self, weight: Weight) -> &Face {
        match weight {
            Weight::Regular => &self.regular,
            Weight::Bold => &self.bold,
        }
    }

    /// Width of a line.
    pub(super) fn width(&self, weight: Weight, size: f32, words: &str) -> f32 {
        let face = self.face(weight);
        let of = |sign| match face.glyphs.get(&sign) {
            Some(glyph) => face.width(*glyph),
            None => spelled(sign).chars().filter_map(|c| face.glyphs.get(&c)).map(|g| face.width(*g)).sum(),
        };
        words.chars().map(shown).map(of).sum::<f32>() * size / 1000.0
    }

    /// A line as runs.
    pub(super) fn runs(&self, weight: Weight, words: &str) -> Vec<Run> {
        let mut runs: Vec<Run> = Vec::new();
        for sign in words.chars().map(shown) {
            match (self.face(weight).glyphs.contains_key(&sign), runs.last_mut()) {
                (false, _) => runs.push(Run::Spelled(spelled(sign), sign)),
                (true, Some(Run::Known(run))) => run.push(sign),
                (true, _) => runs.push(Run::Known(sign.into())),
            }
        }
        runs
    }

    /// Breaks a text into lines of at most that width: at spaces, and within a word that is wider than a line.
    pub(super) fn wrap(&self, weight: Weight, size: f32, words: &str, width: f32) -> Vec<String> {
        let mut lines = vec![String::new()];
        let fits = |line: &str| self.width(weight, size, line) <= width;
        for word in words.split([' ', '\t', '\n', '\r']).filter(|w| !w.is_empty()) {
            let line = lines.last().map_or("", String::as_str);
            let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
            if !line.is_empty() && !fits(&longer) {
                lines.push(String::new());
            }
            let Some(line) = lines.last_mut() else { continue };
            if !line.is_empty() {
                *line = longer;
            } else if fits(word) {
                *line = word.to_owned();
            } else {
                lines.pop();
                lines.extend(self.broken(weight, size, word, width));
            }
        }
        lines
    }

    fn broken(&self, weight: Weight, size: f32, word: &str, width: f32) -> Vec<String> {
        let mut lines = vec![String::new()];
        let mut filled = 0.0;
        for sign in word.chars() {
            let wide = self.width(weight, size, sign.encode_utf8(&mut [0; 4]));
            if filled > 0.0 && filled + wide > width {
                lines.push(String::new());
                filled = 0.0;
            }
            filled += wide;
            if let Some(line) = lines.last_mut() {
                line.push(sign);
            }
        }
        lines
    }
}

impl Face {
    fn read(name: &'static str, weight: Weight) -> Option<Face> {
        let font = FontRef::new(bytes(weight)).ok()?;
        let thousandths = 1000.0 / UNITS_PER_EM;
        let all = font.metrics(Size::unscaled(), LocationRef::default());
        let each = font.glyph_metrics(Size::unscaled(), LocationRef::default());
        let widths = (0..all.glyph_count)
            .map(|id| each.advance_width(id.into()).unwrap_or(0.0) * thousandths)
            .collect();
        let glyph = |(sign, id): (u32, skrifa::GlyphId)| {
            Some((char::from_u32(sign)?, u16::try_from(id.to_u32()).ok()?))
        };
        let bounds = all.bounds?;
        Some(Face {
            name,
            glyphs: font.charmap().mappings().filter_map(glyph).collect(),
            widths,
            bounds: [bounds.x_min, bounds.y_min, bounds.x_max, bounds.y_max].map(|v| v * thousandths),
            ascent: all.ascent * thousandths,
            descent: all.descent * thousandths,
            capitals: all.cap_height? * thousandths,
        })
    }

    /// What stands in for a font that does not parse, which a test rules out.
    fn blank() -> Face {
        Face {
            name: "",
            glyphs: BTreeMap::new(),
            widths: Vec::new(),
            bounds: [0.0; 4],
            ascent: 0.0,
            descent: 0.0,
            capitals: 0.0,
        }
    }

    fn width(&self, glyph: u16) -> f32 {
        self.widths.get(usize::from(glyph)).copied().unwrap_or(0.0)
    }

    /// The codes of a line that holds known signs alone, two bytes each.
    pub(super) fn codes(&self, words: &str) -> Vec<u8> {
        words
            .chars()
            .filter_map(|sign| self.glyphs.get(&sign))
            .flat_map(|glyph| glyph.to_be_bytes())
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_fonts_read_and_lines_fit_and_lose_nothing() {
        let letters = Letters::new();
        let text = "Cable TR-12, connector A: positions 3, 7, and a word-of-sixty-four-signs-that-does-not-fit-a-line";
        for weight in [Weight::Regular, Weight::Bold] {
            assert!(letters.face(weight).glyphs.len() > 400 && letters.face(weight).capitals > 600.0);
            let lines = letters.wrap(weight, 9.0, text, 90.0);
            assert!(lines.iter().all(|line| letters.width(weight, 9.0, line) <= 90.0), "{lines:?}");
            let signs = |text: &str| text.split_whitespace().collect::<String>();
            assert_eq!(signs(&lines.concat()), signs(text));
        }
    }

    #[test]
    fn a_sign_that_the_font_has_not_is_spelled_by_its_number() {
        let letters = Letters::new();
        let runs = letters.runs(Weight::Regular, "A光\u{1b}é");
        let spelled = |text: &str, sign| Run::Spelled(text.to_owned(), sign);
        assert_eq!(runs, [Run::Known("A".into()), spelled("[U+5149]", '光'), Run::Known("\u{fffd}é".into())]);
        let wide = letters.width(Weight::Regular, 1000.0, "[U+5149]");
        assert!((letters.width(Weight::Regular, 1000.0, "光") - wide).abs() < 1e-3);
    }
}
