//! A drawing as a PNG, one pixel to a unit, painted on one thread: the same drawing always gives the same bytes.

use super::stamp::Stamps;
use super::{Drawing, GreyCrop, Ink, Item, Outline, Rect};
use ::png::{BitDepth, ColorType, Compression, Encoder, EncodingError};
use std::io::Write;
use tiny_skia::{
    Color, FillRule, LineCap, LineJoin, Paint, Path, PathBuilder, Pixmap, Stroke, StrokeDash, Transform,
};

/// Largest page, pixels: 400 MB while it is painted.
const MOST_PIXELS: u64 = 100_000_000;

/// Why a drawing could not become a PNG.
#[derive(Debug, thiserror::Error)]
pub enum PngError {
    /// The drawing has no area, or more than 100 million pixels.
    #[error("a picture of {width} x {height} pixels cannot be drawn; leave the map out")]
    Size {
        /// Columns.
        width: u32,
        /// Rows.
        height: u32,
    },
    /// The encoder failed.
    #[error("the picture could not be encoded: {0}")]
    Encoding(#[from] EncodingError),
}

/// The PNG's bytes: 8 bit RGB.
///
/// # Errors
/// `Size` for a drawing without area or of more than 100 million pixels.
pub fn png(drawing: &Drawing) -> Result<Vec<u8>, PngError> {
    let (width, height) = (drawing.width, drawing.height);
    let mut pixmap = Some((width, height))
        .filter(|_| u64::from(width) * u64::from(height) <= MOST_PIXELS)
        .and_then(|(width, height)| Pixmap::new(width, height))
        .ok_or(PngError::Size { width, height })?;
    pixmap.fill(Color::WHITE);
    let mut painter = Painter { pixmap, stamps: Stamps::default() };
    painter.items(&drawing.items);
    let mut out = Vec::with_capacity(width as usize * height as usize);
    let mut writer = encoder(&mut out, width, height, ColorType::Rgb).write_header()?;
    // Row by row: a second copy of the whole page would cost more than its conversion.
    let mut stream = writer.stream_writer()?;
    let mut rgb = vec![0; width as usize * 3];
    for line in painter.pixmap.data().chunks_exact(width as usize * 4) {
        for (to, from) in rgb.chunks_exact_mut(3).zip(line.chunks_exact(4)) {
            to.copy_from_slice(&from[..3]);
        }
        stream.write_all(&rgb).map_err(EncodingError::from)?;
    }
    stream.finish()?;
    writer.finish()?;
    Ok(out)
}

/// A grey picture as a PNG: 8 bit grey. Empty if the encoder fails, which it does for no grey picture.
pub(super) fn grey(crop: &GreyCrop) -> Vec<u8> {
    let mut out = Vec::with_capacity(crop.bytes().len());
    let written = encoder(&mut out, crop.width(), crop.height(), ColorType::Grayscale)
        .write_header()
        .and_then(|mut writer| writer.write_image_data(crop.bytes()).and_then(|()| writer.finish()));
    if written.is_ok() { out } else { Vec::new() }
}

/// An encoder of 8 bits a channel that favours speed.
fn encoder(out: &mut Vec<u8>, width: u32, height: u32, colour: ColorType) -> Encoder<'_, &mut Vec<u8>> {
    let mut encoder = Encoder::new(out, width, height);
    encoder.set_color(colour);
    encoder.set_depth(BitDepth::Eight);
    encoder.set_compression(Compression::Fastest);
    encoder
}

struct Painter {
    pixmap: Pixmap,
    stamps: Stamps,
}

impl Painter {
    fn items(&mut self, items: &[Item]) {
        for item in items {
            match item {
                Item::Shape { outline, fill, stroke } => {
                    let Some(path) = path(outline) else { continue };
                    if let Some(ink) = fill {
                        self.fill(&path, *ink);
                    }
                    if let Some(stroke) = stroke {
                        self.stroke(&path, *stroke);
                    }
                }
                Item::Picture { at, crop } => self.picture(*at, crop),
                Item::Text(text) => self.stamps.text(&mut self.pixmap, text),
                Item::Group { items, .. } => self.items(items),
            }
        }
    }

    fn fill(&mut self, path: &Path, ink: Ink) {
        self.pixmap.fill_path(path, &paint(ink), FillRule::Winding, Transform::identity(), None);
    }

    fn stroke(&mut self, path: &Path, look: super::Stroke) {
        let stroke = Stroke {
            width: look.width,
            line_cap: LineCap::Butt,
            line_join: LineJoin::Round,
            dash: look.dash.and_then(|dash| StrokeDash::new(dash.to_vec(), 0.0)),
            ..Stroke::default()
        };
        self.pixmap.stroke_path(path, &paint(look.ink), &stroke, Transform::identity(), None);
    }

    /// Copies a picture; what would lie outside the drawing is left out.
    fn picture(&mut self, [x, y]: [u32; 2], crop: &GreyCrop) {
        let (width, height) = (self.pixmap.width(), self.pixmap.height());
        let columns = crop.width().min(width.saturating_sub(x)) as usize;
        let rows = crop.height().min(height.saturating_sub(y)) as usize;
        if columns == 0 || rows == 0 {
            return;
        }
        let stride = width as usize * 4;
        let target = self.pixmap.data_mut()[y as usize * stride..].chunks_exact_mut(stride);
        for (line, grey) in target.zip(crop.bytes().chunks_exact(crop.width() as usize)).take(rows) {
            let pixels = line[x as usize * 4..].chunks_exact_mut(4);
            for (pixel, &grey) in pixels.zip(&grey[..columns]) {
                pixel.copy_from_slice(&[grey, grey, grey, 255]);
            }
        }
    }
}

fn paint(ink: Ink) -> Paint<'static> {
    let [r, g, b] = ink.rgb;
    let mut paint = Paint { anti_alias: true, ..Paint::default() };
    paint.set_color_rgba8(r, g, b, ink.alpha);
    paint
}

fn path(outline: &Outline) -> Option<Path> {
    let mut builder = PathBuilder::new();
    match outline {
        Outline::Circle { centre: [x, y], radius } => builder.push_circle(*x, *y, *radius),
        Outline::Rect(rect, radius) => push_rect(&mut builder, *rect, *radius),
        Outline::Polygon(points) => {
            let mut points = points.iter();
            let [x, y] = points.next()?;
            builder.move_to(*x, *y);
            points.for_each(|[x, y]| builder.line_to(*x, *y));
            builder.close();
        }
        Outline::Lines(lines) => {
            for [[a, b], [c, d]] in lines {
                builder.move_to(*a, *b);
                builder.line_to(*c, *d);
            }
        }
    }
    builder.finish()
}

/// A rectangle whose corners are quarter circles, each as one cubic (control points at 0.5523 of the radius).
fn push_rect(builder: &mut PathBuilder, rect: Rect, radius: f32) {
    let (l, t, r, b) = (rect.x, rect.y, rect.right(), rect.bottom());
    let q = radius.min(rect.width / 2.0).min(rect.height / 2.0).max(0.0);
    let k = q * (1.0 - 0.552_284_8);
    builder.move_to(l + q, t);
    builder.line_to(r - q, t);
    builder.cubic_to(r - k, t, r, t + k, r, t + q);
    builder.line_to(r, b - q);
    builder.cubic_to(r, b - k, r - k, b, r - q, b);
    builder.line_to(l + q, b);
    builder.cubic_to(l + k, b, l, b - k, l, b - q);
    builder.line_to(l, t + q);
    builder.cubic_to(l, t + k, l + k, t, l + q, t);
    builder.close();
}
