//! A drawing as a PNG, one pixel to a unit. The page is painted in bands, each while the one above it is encoded;
//! the same drawing always gives the same bytes.

use super::stamp::Stamps;
use super::{Drawing, GreyCrop, Ink, Item, Outline, Rect, Text};
use ::png::{BitDepth, ColorType, Compression, Encoder, EncodingError};
use std::io::Write;
use tiny_skia::{
    Color, FillRule, LineCap, LineJoin, Paint, Path, PathBuilder, Pixmap, Stroke, StrokeDash, Transform,
};

/// Largest page, pixels.
const MOST_PIXELS: u64 = 100_000_000;

/// Rows of a band.
const BAND: u32 = 256;

/// Rows that are painted above and below a band and thrown away: thin lines are not whole at a pixmap's border.
const SEAM: u32 = 4;

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
    let size = PngError::Size { width, height };
    if u64::from(width) * u64::from(height) > MOST_PIXELS {
        return Err(size);
    }
    let mut stamps = Stamps::default();
    let mut next = Strip::painted(drawing, 0, &mut stamps);
    if next.is_none() {
        return Err(size);
    }
    let mut out = Vec::with_capacity(width as usize * height as usize);
    let mut encoder = encoder(&mut out, width, height, ColorType::Rgb);
    mark(&mut encoder)?;
    let mut writer = encoder.write_header()?;
    let mut stream = writer.stream_writer()?;
    while let Some(band) = next.take() {
        let below = band.first + BAND;
        let (written, painted) = rayon::join(
            || stream.write_all(&band.rgb()).map_err(EncodingError::from),
            || Strip::painted(drawing, below, &mut stamps),
        );
        written?;
        next = painted;
    }
    stream.finish()?;
    writer.finish()?;
    Ok(out)
}

/// Writes into a PNG that this program made it.
///
/// # Errors
/// The encoder's; none is known.
pub fn mark<W: Write>(encoder: &mut Encoder<W>) -> Result<(), EncodingError> {
    encoder.add_text_chunk("Software".to_owned(), super::MARK.to_owned())
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

/// Some rows of the page.
struct Strip {
    /// The band's own first row, and the first that is painted.
    first: u32,
    top: u32,
    pixmap: Pixmap,
}

impl Strip {
    /// The band that begins at `first`, painted; none below the page or for one without area.
    fn painted(drawing: &Drawing, first: u32, stamps: &mut Stamps) -> Option<Strip> {
        if first >= drawing.height {
            return None;
        }
        let top = first.saturating_sub(SEAM);
        let bottom = (first + BAND + SEAM).min(drawing.height);
        let mut pixmap = Pixmap::new(drawing.width, bottom - top)?;
        pixmap.fill(Color::WHITE);
        let mut band = Strip { first, top, pixmap };
        band.items(&drawing.items, stamps);
        Some(band)
    }

    /// Red, green and blue of the band's own pixels, row by row; the page is opaque.
    fn rgb(&self) -> Vec<u8> {
        let row = self.pixmap.width() as usize * 4;
        let own = &self.pixmap.data()[(self.first - self.top) as usize * row..];
        let own = &own[..own.len().min(BAND as usize * row)];
        let mut rgb = vec![0; own.len() / 4 * 3];
        for (to, from) in rgb.chunks_exact_mut(3).zip(own.chunks_exact(4)) {
            to.copy_from_slice(&from[..3]);
        }
        rgb
    }

    /// Whether something between the heights `from` and `to` of the page may show.
    fn meets(&self, (from, to): (f32, f32)) -> bool {
        let (top, bottom) = (self.top as f32, (self.top + self.pixmap.height()) as f32);
        to + 2.0 >= top && from - 2.0 <= bottom
    }

    fn items(&mut self, items: &[Item], stamps: &mut Stamps) {
        for item in items {
            match item {
                Item::Shape { outline, fill, stroke } => {
                    let reach = stroke.map_or(0.0, |s| s.width);
                    let (from, to) = rows_of(outline);
                    if !self.meets((from - reach, to + reach)) {
                        continue;
                    }
                    let Some(path) = path(outline) else { continue };
                    if let Some(ink) = fill {
                        self.fill(&path, *ink);
                    }
                    if let Some(stroke) = stroke {
                        self.stroke(&path, *stroke);
                    }
                }
                Item::Picture { at, crop } => self.picture(*at, crop),
                Item::Text(text) => self.text(text, stamps),
                Item::Group { items, .. } => self.items(items, stamps),
            }
        }
    }

    fn fill(&mut self, path: &Path, ink: Ink) {
        self.pixmap.fill_path(path, &paint(ink), FillRule::Winding, self.place(), None);
    }

    fn stroke(&mut self, path: &Path, look: super::Stroke) {
        let stroke = Stroke {
            width: look.width,
            line_cap: LineCap::Butt,
            line_join: LineJoin::Round,
            dash: look.dash.and_then(|dash| StrokeDash::new(dash.to_vec(), 0.0)),
            ..Stroke::default()
        };
        self.pixmap.stroke_path(path, &paint(look.ink), &stroke, self.place(), None);
    }

    fn text(&mut self, text: &Text, stamps: &mut Stamps) {
        let [_, y] = text.at;
        if self.meets((y - 2.0 * text.size, y + text.size)) {
            stamps.text(&mut self.pixmap, self.top, text);
        }
    }

    /// Carries the page into the band.
    fn place(&self) -> Transform {
        Transform::from_translate(0.0, -(self.top as f32))
    }

    /// Copies the rows of a picture that lie in the band; what would lie beside the page is left out.
    fn picture(&mut self, [x, y]: [u32; 2], crop: &GreyCrop) {
        let (width, height) = (self.pixmap.width(), self.pixmap.height());
        let columns = crop.width().min(width.saturating_sub(x)) as usize;
        if columns == 0 {
            return;
        }
        let (above, below) = (self.top.saturating_sub(y) as usize, y.saturating_sub(self.top) as usize);
        let stride = width as usize * 4;
        let source = crop.bytes().chunks_exact(crop.width() as usize).skip(above);
        let target = self.pixmap.data_mut().chunks_exact_mut(stride).take(height as usize).skip(below);
        for (line, grey) in target.zip(source) {
            let pixels = line[x as usize * 4..].chunks_exact_mut(4);
            for (pixel, &grey) in pixels.zip(&grey[..columns]) {
                pixel.copy_from_slice(&[grey, grey, grey, 255]);
            }
        }
    }
}

/// Least and greatest height that an outline reaches.
fn rows_of(outline: &Outline) -> (f32, f32) {
    let span = |heights: &mut dyn Iterator<Item = f32>| {
        heights.fold((f32::MAX, f32::MIN), |(low, high), y| (low.min(y), high.max(y)))
    };
    match outline {
        Outline::Circle { centre: [_, y], radius } => (y - radius, y + radius),
        Outline::Rect(rect, _) => (rect.y, rect.bottom()),
        Outline::Polygon(points) => span(&mut points.iter().map(|p| p[1])),
        Outline::Lines(lines) => span(&mut lines.iter().flatten().map(|p| p[1])),
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

#[cfg(test)]
mod tests {
    use super::*;

    /// Grey levels of a page with a thin circle about the height `y`, row by row from 20 above it to 20 below.
    fn about(y: u32) -> Vec<u8> {
        let circle = Item::Shape {
            outline: Outline::Circle { centre: [30.0, y as f32], radius: 16.0 },
            fill: None,
            stroke: Some(super::super::Stroke::solid(Ink::solid(0), 0.8)),
        };
        let items = vec![circle];
        let drawing =
            Drawing { width: 60, height: 400, title: String::new(), description: String::new(), items };
        let bytes = png(&drawing).unwrap();
        let mut reader = ::png::Decoder::new(std::io::Cursor::new(bytes)).read_info().unwrap();
        let mut page = vec![0; reader.output_buffer_size().unwrap()];
        reader.next_frame(&mut page).unwrap();
        page.chunks_exact(3).map(|p| p[0]).skip(60 * (y as usize - 20)).take(60 * 40).collect()
    }

    /// A line across the border of two bands was broken there before bands were painted beyond it.
    #[test]
    fn no_seam_shows_where_bands_meet() {
        let whole = about(BAND / 2);
        for y in [BAND - 16, BAND - 7, BAND, BAND + 15] {
            let gap = about(y).iter().zip(&whole).map(|(a, b)| a.abs_diff(*b)).max().unwrap();
            // Places of a line are rounded to parts of a pixel that grow with the height on the page.
            assert!(gap <= 8, "{y}: {gap}");
        }
    }
}
