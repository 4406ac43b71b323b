//! BMP: every kind that the `image` package reads; a palette of 8 bit is looked up as luminance at once.

use super::error::{Part, Stage};
use super::{DoorError, Format, Limits, Stored, luma};
use crate::frame::Samples;
use image::ImageDecoder;
use image::codecs::bmp::BmpDecoder;
use image::metadata::Orientation;
use std::io::Cursor;

const FORMAT: Format = Format::Bmp;

/// Decodes a BMP file.
pub(super) fn decode(bytes: &[u8], limits: &Limits) -> Result<Stored, DoorError> {
    let fault = |part| move |e: image::ImageError| Stage { format: FORMAT, part }.image(&e);
    let mut decoder = BmpDecoder::new(Cursor::new(bytes)).map_err(fault(Part::Header))?;
    let (width, height) = decoder.dimensions();
    limits.check_picture(width, height, u64::from(decoder.color_type().bytes_per_pixel()))?;
    let table = is_plain_palette(bytes).then(|| decoder.get_palette().map(luma_table)).flatten();
    decoder.set_indexed_color(table.is_some());
    let channels = usize::from(decoder.color_type().channel_count());
    let mut data = vec![0; width as usize * height as usize * channels];
    decoder.read_image(&mut data).map_err(fault(Part::Pixels))?;
    if let Some(table) = table {
        data.iter_mut().for_each(|v| *v = table[usize::from(*v)]);
    }
    let samples = Samples::Eight(luma::interleaved(data, channels));
    Ok(Stored { width, height, samples, orientation: Orientation::NoTransforms })
}

/// Whether the header says 8 bit a pixel and no compression.
fn is_plain_palette(bytes: &[u8]) -> bool {
    let header = bytes.get(14) >= Some(&40);
    header && bytes.get(28..34) == Some(&[8, 0, 0, 0, 0, 0])
}

/// Luminance of each index; one beyond the palette is black.
fn luma_table(palette: &[[u8; 3]]) -> [u8; 256] {
    let mut table = [0; 256];
    for (entry, &[r, g, b]) in table.iter_mut().zip(palette) {
        *entry = luma::Sample::luma(r, g, b);
    }
    table
}
