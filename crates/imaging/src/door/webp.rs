//! WebP: lossy and lossless still pictures.

use super::error::{Part, Stage};
use super::{DoorError, Format, Limits, Stored, luma};
use crate::frame::Samples;
use image::ImageDecoder;
use image::codecs::webp::WebPDecoder;
use image::metadata::Orientation;
use std::io::Cursor;

const FORMAT: Format = Format::WebP;

/// Decodes a WebP file.
pub(super) fn decode(bytes: &[u8], limits: &Limits) -> Result<Stored, DoorError> {
    if announced_size(bytes).is_none_or(|size| size > bytes.len()) {
        return Err(DoorError::Truncated { format: FORMAT });
    }
    let fault = |part| move |e: image::ImageError| Stage { format: FORMAT, part }.image(&e);
    let mut decoder = WebPDecoder::new(Cursor::new(bytes)).map_err(fault(Part::Header))?;
    let (width, height) = decoder.dimensions();
    let channels = usize::from(decoder.color_type().channel_count());
    limits.check_picture(width, height, channels as u64)?;
    if decoder.has_animation() {
        return Err(DoorError::Several { format: FORMAT });
    }
    let orientation = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    let mut data = vec![0; width as usize * height as usize * channels];
    decoder.read_image(&mut data).map_err(fault(Part::Pixels))?;
    let samples = Samples::Eight(luma::interleaved(data, channels));
    Ok(Stored { width, height, samples, orientation })
}

/// The file's size as its outermost chunk announces it.
fn announced_size(bytes: &[u8]) -> Option<usize> {
    let size = bytes.get(4..8)?.try_into().ok()?;
    Some(u32::from_le_bytes(size) as usize + 8)
}
