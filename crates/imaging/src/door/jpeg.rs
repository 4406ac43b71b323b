//! JPEG: the luma channel as it is stored. Decoders fill what is missing with grey; a grader must not, so the
//! end marker is looked for and damaged scans are faults.

use super::error::Part;
use super::{DoorError, Format, Limits, Stored, luma};
use crate::frame::Samples;
use image::metadata::Orientation;
use zune_jpeg::JpegDecoder;
use zune_jpeg::errors::DecodeErrors;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

const FORMAT: Format = Format::Jpeg;

/// Decodes a JPEG file.
pub(super) fn decode(bytes: &[u8], limits: &Limits) -> Result<Stored, DoorError> {
    if !is_complete(bytes) {
        return Err(DoorError::Truncated { format: FORMAT });
    }
    if let Some(what) = uncommon(bytes) {
        return Err(DoorError::Unsupported { format: FORMAT, what });
    }
    let options = DecoderOptions::default().set_max_width(usize::MAX).set_max_height(usize::MAX);
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(bytes), options);
    decoder.decode_headers().map_err(fault(Part::Header))?;
    let (width, height) = decoder.dimensions().unwrap_or((0, 0));
    let (width, height) = (width as u32, height as u32);
    let (target, channels) = target(decoder.input_colorspace())?;
    limits.check_picture(width, height, channels as u64)?;
    // Only from here: a stray byte between two segments of the header is harmless.
    decoder.set_options(options.set_strict_mode(true).jpeg_set_out_colorspace(target));
    let data = decoder.decode().map_err(fault(Part::Pixels))?;
    let samples = Samples::Eight(luma::interleaved(data, channels));
    let exif = decoder.exif().and_then(|e| Orientation::from_exif_chunk(e));
    Ok(Stored { width, height, samples, orientation: exif.unwrap_or(Orientation::NoTransforms) })
}

/// What to ask the decoder for, and how many channels that has.
fn target(stored: Option<ColorSpace>) -> Result<(ColorSpace, usize), DoorError> {
    match stored {
        Some(ColorSpace::Luma | ColorSpace::YCbCr) => Ok((ColorSpace::Luma, 1)),
        Some(ColorSpace::RGB) => Ok((ColorSpace::RGB, 3)),
        Some(ColorSpace::CMYK | ColorSpace::YCCK) => Err(DoorError::Cmyk { format: FORMAT }),
        _ => Err(DoorError::Unsupported { format: FORMAT, what: "an unknown set of channels".to_owned() }),
    }
}

/// Whether the file reaches its end-of-image marker: at its very end, or followed by other data.
fn is_complete(bytes: &[u8]) -> bool {
    bytes.ends_with(&[0xff, 0xd9]) || reaches_end(bytes).is_some()
}

/// Walks from segment to segment (ITU-T T.81 annex B) and over the coded data up to the end marker.
fn reaches_end(bytes: &[u8]) -> Option<()> {
    let mut at = 2;
    loop {
        let (marker, after) = next_marker(bytes, at)?;
        at = match marker {
            0xd9 => return Some(()),
            0x01 | 0xd0..=0xd8 => after,
            _ => after + usize::from(u16::from_be_bytes([*bytes.get(after)?, *bytes.get(after + 1)?])),
        };
    }
}

/// The next marker that is no stuffed byte, no fill and no restart, and the place behind it.
fn next_marker(bytes: &[u8], from: usize) -> Option<(u8, usize)> {
    let mut at = from;
    loop {
        at += bytes.get(at..)?.iter().position(|&b| b == 0xff)? + 1;
        match *bytes.get(at)? {
            0x00 | 0xd0..=0xd7 => at += 1,
            0xff => {}
            marker => return Some((marker, at + 1)),
        }
    }
}

/// A way of coding that is not read, by the frame marker and its bits per sample (ITU-T T.81, table B.1).
fn uncommon(bytes: &[u8]) -> Option<String> {
    let mut at = 2;
    loop {
        let (marker, after) = next_marker(bytes, at)?;
        let bits = bytes.get(after + 2);
        return Some(match marker {
            0xc0..=0xc2 if bits == Some(&8) => return None,
            0xc0..=0xc2 => format!("{} bit a sample", bits?),
            0xc3 => "lossless JPEG".to_owned(),
            0xc5..=0xc7 => "hierarchical JPEG".to_owned(),
            0xc9..=0xcb | 0xcd..=0xcf => "JPEG with arithmetic coding".to_owned(),
            0xd9 | 0xda => return None,
            0x01 | 0xd0..=0xd8 => {
                at = after;
                continue;
            }
            _ => {
                at = after + usize::from(u16::from_be_bytes([*bytes.get(after)?, *bytes.get(after + 1)?]));
                continue;
            }
        });
    }
}

fn fault(part: Part) -> impl Fn(DecodeErrors) -> DoorError {
    move |error| match error {
        DecodeErrors::ZeroError => DoorError::NoPixels { width: 0, height: 0 },
        _ => DoorError::Damaged { format: FORMAT, part },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A picture in miniature: header, a scan with a stuffed byte and a restart marker, the end.
    const WHOLE: [u8; 19] =
        [0xff, 0xd8, 0xff, 0xe0, 0, 3, 0xd9, 0xff, 0xda, 0, 2, 7, 0xff, 0x00, 0xff, 0xd3, 9, 0xff, 0xd9];

    #[test]
    fn the_end_marker_is_found_before_trailing_bytes() {
        assert!(is_complete(&WHOLE));
        assert!(is_complete(&[&WHOLE[..], b"appended by the camera"].concat()));
    }

    #[test]
    fn an_uncommon_way_of_coding_is_called_by_its_name() {
        let frame = |marker, bits| [0xff, 0xd8, 0xff, 0xe0, 0, 3, 9, 0xff, marker, 0, 8, bits, 0, 1, 0, 1, 1];
        assert_eq!(uncommon(&frame(0xc0, 8)), None);
        assert_eq!(uncommon(&frame(0xc2, 8)), None);
        assert_eq!(uncommon(&frame(0xc1, 12)).unwrap(), "12 bit a sample");
        assert_eq!(uncommon(&frame(0xc3, 8)).unwrap(), "lossless JPEG");
        assert_eq!(uncommon(&frame(0xc9, 8)).unwrap(), "JPEG with arithmetic coding");
    }

    #[test]
    fn without_the_end_marker_the_file_is_cut_off() {
        for cut in 0..WHOLE.len() {
            assert!(!is_complete(&WHOLE[..cut]), "cut at {cut}");
        }
    }
}
