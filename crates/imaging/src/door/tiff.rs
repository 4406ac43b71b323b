//! TIFF and BigTIFF: grey, palette and RGB of 8 and 16 bit, with or without alpha, interleaved or in planes. Each page
//! is a picture; smaller copies and masks beside one are passed over.

mod directory;
mod patched;

use super::error::{Part, Stage};
use super::{DoorError, Format, Limits, Stored, luma};
use crate::frame::Samples;
use directory::Directory;
use image::metadata::Orientation;
use patched::Patched;
use tiff::decoder::{BufferLayoutPreference, ChunkType, Decoder, DecodingResult};
use tiff::tags::Tag;
use tiff::{ColorType, TiffError, TiffUnsupportedError};

const FORMAT: Format = Format::Tiff;
/// Values of the tag PhotometricInterpretation.
const BLACK_IS_ZERO: u16 = 1;
const PALETTE: u16 = 3;

type Reader<'a> = Decoder<Patched<'a>>;

/// One picture of a TIFF file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Page(Directory);

/// The pictures of a TIFF file, all of one size.
pub(super) fn pages(bytes: &[u8], limits: &Limits) -> Result<Vec<Page>, DoorError> {
    let all = directory::pictures(bytes, limits.pages)?;
    let first = all.first().map_or((0, 0), |d| d.size);
    // A side that is not told is damage, which decoding tells.
    let told = |size: (u64, u64)| size.0 > 0 && size.1 > 0;
    if let Some(n) = all.iter().position(|d| d.size != first && told(d.size) && told(first)) {
        return Err(DoorError::PageSize { page: n + 1, size: all[n].size, first });
    }
    Ok(all.into_iter().map(Page).collect())
}

/// Decodes a picture of a TIFF file.
pub(super) fn decode(bytes: &[u8], page: Page, limits: &Limits) -> Result<Stored, DoorError> {
    let mut reader = reader(Patched::none(bytes), page)?;
    let interpretation =
        reader.find_tag_unsigned(Tag::PhotometricInterpretation).map_err(fault(Part::Header))?;
    if interpretation == Some(PALETTE) {
        return palette(bytes, page, &mut reader, limits);
    }
    let channels = channels(reader.colortype().map_err(fault(Part::Header))?)?;
    pixels(reader, limits, channels)
}

fn reader(bytes: Patched<'_>, page: Page) -> Result<Reader<'_>, DoorError> {
    let mut reader = Decoder::new(bytes).map_err(fault(Part::Header))?;
    if page.0.index > 0 {
        reader.seek_to_image(page.0.index).map_err(fault(Part::Header))?;
    }
    Ok(reader)
}

/// How many leading channels count: one of grey, or red, green, blue.
fn channels(color: ColorType) -> Result<usize, DoorError> {
    match color {
        ColorType::Gray(8 | 16)
        | ColorType::GrayA(8 | 16)
        | ColorType::YCbCr(8)
        | ColorType::Multiband { bit_depth: 8 | 16, num_samples: 2 } => Ok(1),
        ColorType::RGB(8 | 16) | ColorType::RGBA(8 | 16) => Ok(3),
        ColorType::CMYK(_) | ColorType::CMYKA(_) => Err(DoorError::Cmyk { format: FORMAT }),
        other => Err(DoorError::Unsupported { format: FORMAT, what: words(other) }),
    }
}

fn words(color: ColorType) -> String {
    match color {
        ColorType::Gray(bits) => format!("grey of {bits} bit"),
        ColorType::RGB(bits) | ColorType::RGBA(bits) => format!("RGB of {bits} bit"),
        ColorType::Palette(bits) => format!("a palette of {bits} bit"),
        ColorType::YCbCr(bits) => format!("YCbCr of {bits} bit"),
        ColorType::Lab(_) => "Lab colours".to_owned(),
        ColorType::Multiband { num_samples, .. } => format!("{num_samples} bands"),
        _ => "an unknown set of channels".to_owned(),
    }
}

/// Reads the pixels of the picture that the reader is at and makes them luminance.
fn pixels(mut reader: Reader, limits: &Limits, channels: usize) -> Result<Stored, DoorError> {
    let (width, height) = reader.dimensions().map_err(fault(Part::Header))?;
    limits.check_picture(width, height, 1)?;
    let layout = reader.image_buffer_layout().map_err(fault(Part::Header))?;
    let size = width as usize * height as usize;
    limits.check_picture(width, height, layout.complete_len.div_ceil(size) as u64)?;
    // The package reads planes in strips; planes in tiles stop it.
    if layout.planes > 1 && reader.get_chunk_type() == ChunkType::Tile {
        let what = "tiles of separate channels".to_owned();
        return Err(DoorError::Unsupported { format: FORMAT, what });
    }
    let orientation = orientation(&mut reader)?;
    let mut room = tiff::decoder::Limits::default();
    // Not below the size of any text in the file, or the package writes to stderr of its own accord.
    room.decoding_buffer_size =
        usize::try_from(limits.decoded_bytes.max(limits.file_bytes)).unwrap_or(usize::MAX);
    room.intermediate_buffer_size = layout.complete_len.max(room.intermediate_buffer_size);
    let mut reader = reader.with_limits(room);
    let mut result = DecodingResult::U8(Vec::new());
    reader.read_image_to_buffer(&mut result).map_err(fault(Part::Pixels))?;
    let samples = match result {
        DecodingResult::U8(v) => Samples::Eight(folded(v, size, channels, &layout)?),
        DecodingResult::U16(v) => Samples::Sixteen(folded(v, size, channels, &layout)?),
        _ => {
            return Err(DoorError::Unsupported {
                format: FORMAT,
                what: "signed or fractional numbers".to_owned(),
            });
        }
    };
    Ok(Stored { width, height, samples, orientation })
}

fn folded<T: luma::Sample>(
    data: Vec<T>,
    size: usize,
    channels: usize,
    layout: &BufferLayoutPreference,
) -> Result<Vec<T>, DoorError> {
    let stored = data.len() / size;
    if stored < channels || !data.len().is_multiple_of(size) {
        return Err(DoorError::Damaged { format: FORMAT, part: Part::Pixels });
    }
    Ok(match (layout.planes > 1, channels) {
        (true, _) => luma::planar(data, size, channels),
        (false, 1) if stored > 1 => data.chunks_exact(stored).map(|p| p[0]).collect(),
        (false, _) => luma::interleaved(data, stored),
    })
}

fn orientation(reader: &mut Reader) -> Result<Orientation, DoorError> {
    let tag: Option<u16> = reader.find_tag_unsigned(Tag::Orientation).map_err(fault(Part::Header))?;
    let known = tag.and_then(|t| Orientation::from_exif(u8::try_from(t).ok()?));
    Ok(known.unwrap_or(Orientation::NoTransforms))
}

/// The `tiff` package reads no palette. So the indices are read as if they were grey, from a file that says so, and
/// looked up here.
fn palette(bytes: &[u8], page: Page, said: &mut Reader, limits: &Limits) -> Result<Stored, DoorError> {
    let bits: u16 = said.find_tag_unsigned(Tag::BitsPerSample).map_err(fault(Part::Header))?.unwrap_or(1);
    if bits != 8 {
        return Err(DoorError::Unsupported {
            format: FORMAT,
            what: words(ColorType::Palette(bits.min(99) as u8)),
        });
    }
    let table = luma_table(&said.get_tag_u16_vec(Tag::ColorMap).map_err(fault(Part::Palette))?)?;
    let as_grey = Patched::at(bytes, page.0.interpretation_at, BLACK_IS_ZERO);
    let mut stored = pixels(reader(as_grey, page)?, limits, 1)?;
    if let Samples::Eight(indices) = &mut stored.samples {
        indices.iter_mut().for_each(|v| *v = table[usize::from(*v)]);
    }
    Ok(stored)
}

/// Luminance of each index; a colour map holds all reds, then greens, then blues, at 16 bit.
fn luma_table(map: &[u16]) -> Result<[u8; 256], DoorError> {
    if map.len() != 3 * 256 {
        return Err(DoorError::Damaged { format: FORMAT, part: Part::Palette });
    }
    // Some writers store 8-bit values; no true 16-bit map of a picture stays below 256.
    let shift = if map.iter().any(|&v| v > 255) { 8 } else { 0 };
    let byte = |i: usize| (map[i] >> shift) as u8;
    Ok(std::array::from_fn(|i| luma::Sample::luma(byte(i), byte(256 + i), byte(512 + i))))
}

fn fault(part: Part) -> impl Fn(TiffError) -> DoorError {
    let stage = Stage { format: FORMAT, part };
    move |error| match error {
        TiffError::IoError(e) => stage.io(&e),
        TiffError::UnsupportedError(e) => {
            DoorError::Unsupported { format: FORMAT, what: uncommon(&e).to_owned() }
        }
        TiffError::LimitsExceeded | TiffError::IntSizeError => DoorError::Greedy { format: FORMAT },
        _ => stage.damaged(),
    }
}

/// A way of storing that the package does not read.
fn uncommon(error: &TiffUnsupportedError) -> &'static str {
    use TiffUnsupportedError as Uncommon;
    match error {
        Uncommon::UnknownCompressionMethod | Uncommon::UnsupportedCompressionMethod(_) => {
            "data in an uncommon compression"
        }
        Uncommon::FloatingPointPredictor(_) | Uncommon::UnsupportedSampleFormat(_) => {
            "signed or fractional numbers"
        }
        Uncommon::InconsistentBitsPerSample(_)
        | Uncommon::UnsupportedSampleDepth(_)
        | Uncommon::UnsupportedBitsPerChannel(_) => "samples of an uncommon depth",
        _ => "a kind of TIFF that few programs write",
    }
}
