//! A drawing as SVG 1.1 text that needs no font: texts are outlines, each glyph defined once. Groups carry
//! their words as titles, so that a reader of the screen says them and a pointer shows them.

use super::font::{Glyph, Glyphs, UNITS_PER_EM, Weight};
use super::{Anchor, Drawing, GreyCrop, Ink, Item, Outline, Rect, Stroke, Text};
use crate::markup::escaped;
use base64::Engine;
use skrifa::outline::pen::PathElement;
use std::fmt::Write;

/// The SVG's text.
pub fn svg(drawing: &Drawing) -> String {
    let mut writer = Writer { glyphs: Glyphs::default(), out: String::with_capacity(1 << 20) };
    writer.items(&drawing.items);
    let body = writer.out;
    let (w, h) = (drawing.width, drawing.height);
    let mut out = String::with_capacity(body.len() + (1 << 16));
    let _ = write!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}\" height=\"{h}\" viewBox=\"0 0 {w} {h}\" \
         role=\"group\" aria-labelledby=\"title description\" fill=\"none\" class=\"{}\">\n\
         <title id=\"title\">{}</title>\n<desc id=\"description\">{}</desc>\n<defs>\n",
        super::MARK,
        escaped(&drawing.title),
        escaped(&drawing.description)
    );
    for ((weight, sign), glyph) in writer.glyphs.iter().filter(|(_, glyph)| !glyph.steps.is_empty()) {
        let _ = writeln!(out, "<path id=\"{}\" d=\"{}\"/>", glyph_id(*weight, *sign), glyph_path(glyph));
    }
    out.push_str("</defs>\n<rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>\n");
    out.push_str(&body);
    out.push_str("</svg>\n");
    out
}

struct Writer {
    glyphs: Glyphs,
    out: String,
}

// Writing to a String cannot fail, so that the results of `write!` are let go.
impl Writer {
    fn items(&mut self, items: &[Item]) {
        for item in items {
            match item {
                Item::Shape { outline, fill, stroke } => self.shape(outline, *fill, *stroke),
                Item::Picture { at, crop } => self.picture(*at, crop),
                Item::Text(text) => self.text(text),
                Item::Group { label, items } => {
                    let _ = writeln!(self.out, "<g role=\"img\"><title>{}</title>", escaped(label));
                    self.items(items);
                    self.out.push_str("</g>\n");
                }
            }
        }
    }

    fn shape(&mut self, outline: &Outline, fill: Option<Ink>, stroke: Option<Stroke>) {
        let look = look(fill, stroke);
        let _ = match outline {
            Outline::Circle { centre: [x, y], radius } => {
                writeln!(self.out, "<circle cx=\"{}\" cy=\"{}\" r=\"{}\"{look}/>", n(*x), n(*y), n(*radius))
            }
            Outline::Rect(rect, radius) => {
                writeln!(self.out, "<rect {}{look}/>", rect_attributes(*rect, *radius))
            }
            Outline::Polygon(points) => {
                let points: Vec<String> =
                    points.iter().map(|[x, y]| format!("{},{}", n(*x), n(*y))).collect();
                writeln!(self.out, "<polygon points=\"{}\"{look}/>", points.join(" "))
            }
            Outline::Lines(lines) => {
                let line =
                    |[[a, b], [c, d]]: &[[f32; 2]; 2]| format!("M{} {}L{} {}", n(*a), n(*b), n(*c), n(*d));
                let path: String = lines.iter().map(line).collect();
                writeln!(self.out, "<path d=\"{path}\"{look}/>")
            }
        };
    }

    fn picture(&mut self, [x, y]: [u32; 2], crop: &GreyCrop) {
        let (w, h) = (crop.width(), crop.height());
        let _ = write!(
            self.out,
            "<image x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" href=\"data:image/png;base64,"
        );
        base64::engine::general_purpose::STANDARD.encode_string(super::png::grey(crop), &mut self.out);
        self.out.push_str("\"/>\n");
    }

    fn text(&mut self, text: &Text) {
        let width = self.glyphs.width(text.weight, text.size, &text.words);
        let [x, y] = text.start(width);
        let scale = text.size / UNITS_PER_EM;
        let _ = write!(
            self.out,
            "<g transform=\"translate({} {})scale({scale:.5} -{scale:.5})\"{}>",
            n(x),
            n(y),
            paint("fill", text.ink)
        );
        let mut pen = 0.0;
        for sign in text.words.chars() {
            let glyph = self.glyphs.get(text.weight, sign);
            if !glyph.steps.is_empty() {
                let _ = write!(self.out, "<use href=\"#{}\" x=\"{}\"/>", glyph_id(text.weight, sign), n(pen));
            }
            pen += glyph.advance;
        }
        self.out.push_str("</g>\n");
    }
}

impl Text {
    /// Where its first glyph starts, if it is that wide.
    pub(super) fn start(&self, width: f32) -> [f32; 2] {
        let [x, y] = self.at;
        match self.anchor {
            Anchor::Start => [x, y],
            Anchor::Middle => [x - width / 2.0, y],
            Anchor::End => [x - width, y],
        }
    }
}

fn glyph_id(weight: Weight, sign: char) -> String {
    let letter = match weight {
        Weight::Regular => 'r',
        Weight::Bold => 'b',
    };
    format!("{letter}{:x}", u32::from(sign))
}

fn glyph_path(glyph: &Glyph) -> String {
    let mut path = String::new();
    for step in &glyph.steps {
        let _ = match *step {
            PathElement::MoveTo { x, y } => write!(path, "M{} {}", n(x), n(y)),
            PathElement::LineTo { x, y } => write!(path, "L{} {}", n(x), n(y)),
            PathElement::QuadTo { cx0, cy0, x, y } => {
                write!(path, "Q{} {} {} {}", n(cx0), n(cy0), n(x), n(y))
            }
            PathElement::CurveTo { cx0, cy0, cx1, cy1, x, y } => {
                write!(path, "C{} {} {} {} {} {}", n(cx0), n(cy0), n(cx1), n(cy1), n(x), n(y))
            }
            PathElement::Close => write!(path, "Z"),
        };
    }
    path
}

fn rect_attributes(rect: Rect, radius: f32) -> String {
    let mut text = format!(
        "x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"",
        n(rect.x),
        n(rect.y),
        n(rect.width),
        n(rect.height)
    );
    if radius > 0.0 {
        let _ = write!(text, " rx=\"{}\"", n(radius));
    }
    text
}

fn look(fill: Option<Ink>, stroke: Option<Stroke>) -> String {
    let mut text = fill.map_or_else(String::new, |ink| paint("fill", ink));
    if let Some(stroke) = stroke {
        let _ = write!(text, "{} stroke-width=\"{}\"", paint("stroke", stroke.ink), n(stroke.width));
        if let Some([dash, gap]) = stroke.dash {
            let _ = write!(text, " stroke-dasharray=\"{} {}\"", n(dash), n(gap));
        }
        text.push_str(" stroke-linejoin=\"round\"");
    }
    text
}

fn paint(what: &str, ink: Ink) -> String {
    let [r, g, b] = ink.rgb;
    let mut text = format!(" {what}=\"#{r:02x}{g:02x}{b:02x}\"");
    if ink.alpha < 255 {
        let _ = write!(text, " {what}-opacity=\"{}\"", n(f32::from(ink.alpha) / 255.0));
    }
    text
}

/// A number with at most two decimals and no needless zeros.
fn n(x: f32) -> String {
    let text = format!("{x:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short() {
        assert_eq!([n(1.0), n(-0.001), n(2.504), n(-12.5), n(100.0)], ["1", "0", "2.5", "-12.5", "100"]);
    }
}
