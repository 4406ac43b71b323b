//! PNG: every depth and colour type, interlaced or not, through to its end chunk.

use super::error::{Part, Stage};
use super::{DoorError, Format, Limits, Stored, luma};
use crate::frame::Samples;
use image::metadata::Orientation;
use png::{BitDepth, ColorType, DecodingError, Transformations};
use std::io::Cursor;

const FORMAT: Format = Format::Png;

type Reader<'a> = png::Reader<Cursor<&'a [u8]>>;

/// Decodes a PNG file. Grey of 8 bit is decoded straight into the frame's own memory.
pub(super) fn decode(bytes: &[u8], limits: &Limits) -> Result<Stored, DoorError> {
    let mut reader = reader(bytes, limits)?;
    let (width, height) = reader.info().size();
    let (color, depth) = reader.output_color_type();
    let channels = color.samples();
    limits.check_picture(width, height, channels as u64 * (depth as u64).div_ceil(8))?;
    if reader.info().animation_control().is_some_and(|a| a.num_frames > 1) {
        return Err(DoorError::Several { format: FORMAT });
    }
    // The decoder takes for granted that a palette is whole triples.
    if reader.info().palette.as_ref().is_some_and(|p| p.len() % 3 != 0 || p.len() > 768) {
        return Err(DoorError::Damaged { format: FORMAT, part: Part::Palette });
    }
    let samples = if depth == BitDepth::Sixteen {
        let fold = |row: &[u8], out: &mut Vec<u16>| luma::append(&luma::from_big_endian(row), channels, out);
        Samples::Sixteen(folded(&mut reader, fold)?)
    } else if channels == 1 {
        Samples::Eight(whole(&mut reader)?)
    } else {
        Samples::Eight(folded(&mut reader, |row, out| luma::append(row, channels, out))?)
    };
    reader.finish().map_err(fault(Part::Pixels))?;
    Ok(Stored { width, height, samples, orientation: orientation(&reader) })
}

/// All samples as they are stored.
fn whole(reader: &mut Reader) -> Result<Vec<u8>, DoorError> {
    let size = reader.output_buffer_size().unwrap_or(0);
    let mut data = vec![0; size];
    reader.next_frame(&mut data).map_err(fault(Part::Pixels))?;
    Ok(data)
}

/// Luminance row by row, while the row is still in the cache; of an interlaced picture, at the end.
fn folded<T>(reader: &mut Reader, fold: impl Fn(&[u8], &mut Vec<T>)) -> Result<Vec<T>, DoorError> {
    let (width, height) = reader.info().size();
    let mut out = Vec::with_capacity(width as usize * height as usize);
    if reader.info().interlaced {
        fold(&whole(reader)?, &mut out);
        return Ok(out);
    }
    while let Some(row) = reader.next_row().map_err(fault(Part::Pixels))? {
        fold(row.data(), &mut out);
    }
    Ok(out)
}

/// Reads up to the pixels. The header is checked against the limits before the decoder may allocate.
fn reader<'a>(bytes: &'a [u8], limits: &Limits) -> Result<Reader<'a>, DoorError> {
    let allowed = usize::try_from(limits.decoded_bytes).unwrap_or(usize::MAX);
    let mut decoder = png::Decoder::new_with_limits(Cursor::new(bytes), png::Limits { bytes: allowed });
    decoder.set_ignore_text_chunk(true);
    decoder.set_ignore_iccp_chunk(true);
    let header = decoder.read_header_info().map_err(fault(Part::Header))?;
    limits.check_picture(header.width, header.height, 1)?;
    if (header.color_type, header.bit_depth) != (ColorType::Grayscale, BitDepth::Eight) {
        decoder.set_transformations(Transformations::EXPAND);
    }
    decoder.read_info().map_err(fault(Part::Header))
}

fn orientation(reader: &Reader) -> Orientation {
    let exif = reader.info().exif_metadata.as_ref();
    exif.and_then(|e| Orientation::from_exif_chunk(e)).unwrap_or(Orientation::NoTransforms)
}

fn fault(part: Part) -> impl Fn(DecodingError) -> DoorError {
    let stage = Stage { format: FORMAT, part };
    move |error| match error {
        DecodingError::IoError(e) => stage.io(&e),
        DecodingError::LimitsExceeded => DoorError::Greedy { format: FORMAT },
        _ => stage.damaged(),
    }
}
