//! The image door: bytes of a picture file in, a [`Frame`] out, or one sentence that says why not. The format
//! follows from the content, never from a name. Sizes are checked from the header before anything is
//! allocated. Later stages do not check again.

mod bmp;
mod error;
mod jpeg;
mod luma;
mod orient;
mod png;
mod tiff;
mod webp;

use crate::frame::{Frame, Samples};
pub use error::{DoorError, Format, HEAD_BYTES, Part};
use image::metadata::Orientation;

/// What a picture may cost at most.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Bytes of the file.
    pub file_bytes: u64,
    /// Pixels, width times height.
    pub pixels: u64,
    /// Bytes of the picture once decoded, with every channel that the file stores.
    pub decoded_bytes: u64,
    /// Pages of a TIFF file.
    pub pages: usize,
}

impl Default for Limits {
    /// 512 MiB of file, 400 million pixels, 1 GiB decoded: a face of 6.4 x 2.5 mm at 0.25 um per pixel has 256
    /// million pixels. 200 pages: a run of steps has at most forty.
    fn default() -> Self {
        Limits { file_bytes: 512 << 20, pixels: 400_000_000, decoded_bytes: 1 << 30, pages: 200 }
    }
}

impl Limits {
    /// Checks a file's size before it is read.
    ///
    /// # Errors
    /// [`DoorError::FileTooLarge`].
    pub fn check_file(&self, bytes: u64) -> Result<(), DoorError> {
        if bytes > self.file_bytes {
            return Err(DoorError::FileTooLarge { limit_mib: self.file_bytes >> 20 });
        }
        Ok(())
    }

    /// Checks what a header announces: `bytes_per_pixel` counts every stored channel.
    fn check_picture(&self, width: u32, height: u32, bytes_per_pixel: u64) -> Result<(), DoorError> {
        let pixels = u64::from(width) * u64::from(height);
        if pixels == 0 {
            return Err(DoorError::NoPixels { width, height });
        }
        if pixels > self.pixels {
            return Err(DoorError::TooManyPixels { width, height, limit: self.pixels / 1_000_000 });
        }
        let bytes = pixels.saturating_mul(bytes_per_pixel);
        if bytes > self.decoded_bytes {
            let (mib, limit_mib) = (bytes >> 20, self.decoded_bytes >> 20);
            return Err(DoorError::TooMuchMemory { width, height, mib, limit_mib });
        }
        Ok(())
    }
}

/// A picture as the file stores it, already in luminance; its orientation still to be applied.
struct Stored {
    width: u32,
    height: u32,
    samples: Samples,
    orientation: Orientation,
}

/// One picture of a file, still to be decoded.
#[derive(Clone, Debug)]
pub struct Picture<'a> {
    bytes: &'a [u8],
    limits: Limits,
    kind: Kind,
}

#[derive(Clone, Copy, Debug)]
enum Kind {
    Png,
    Jpeg,
    Tiff(tiff::Page),
    Bmp,
    WebP,
}

impl Picture<'_> {
    /// Decodes the picture.
    ///
    /// - 8 and 16 bit stay 8 and 16 bit; fewer bits of grey are spread over 8.
    /// - Colour becomes luminance by the weights of ITU-R Recommendation BT.601 on the stored values:
    ///   (19595 R + 38470 G + 7471 B + 32768) / 65536, rounded down. Equal channels keep their value exactly; the
    ///   luma channel of a colour JPEG is taken as it is stored.
    /// - Alpha is ignored: the stored colours count.
    /// - A stored orientation (Exif, TIFF) is applied, so that the frame is the picture as a viewer shows it.
    ///
    /// # Errors
    /// One sentence in a [`DoorError`] for a picture that is cut off or damaged, is beyond the limits, or is stored in
    /// a way that has no plain luminance (CMYK, Lab, 32 bit).
    pub fn open(&self) -> Result<Frame, DoorError> {
        let Picture { bytes, limits, kind } = self;
        let stored = match *kind {
            Kind::Png => png::decode(bytes, limits),
            Kind::Jpeg => jpeg::decode(bytes, limits),
            Kind::Tiff(page) => tiff::decode(bytes, page, limits),
            Kind::Bmp => bmp::decode(bytes, limits),
            Kind::WebP => webp::decode(bytes, limits),
        }?;
        orient::upright(stored)
    }
}

/// The pictures of a file in their order, at least one: the pages of a TIFF file, all of one size, without the smaller
/// copies and masks beside them (NewSubfileType; TIFF 6.0, section 8); the one picture of any other.
///
/// # Errors
/// A [`DoorError`] for anything that is no such file, is too large, or whose list of pages is cut off, runs in a circle,
/// or holds too many or such as are not of one size.
pub fn pictures<'a>(bytes: &'a [u8], limits: &Limits) -> Result<Vec<Picture<'a>>, DoorError> {
    limits.check_file(bytes.len() as u64)?;
    let kinds = match Format::of(bytes)? {
        Format::Png => vec![Kind::Png],
        Format::Jpeg => vec![Kind::Jpeg],
        Format::Tiff => tiff::pages(bytes, limits)?.into_iter().map(Kind::Tiff).collect(),
        Format::Bmp => vec![Kind::Bmp],
        Format::WebP => vec![Kind::WebP],
    };
    Ok(kinds.into_iter().map(|kind| Picture { bytes, limits: *limits, kind }).collect())
}

/// Decodes a file that holds one picture, a PNG, JPEG, TIFF, BMP or WebP file, as [`Picture::open`] does.
///
/// # Errors
/// As [`pictures`] and [`Picture::open`], or [`DoorError::Several`].
pub fn open(bytes: &[u8], limits: &Limits) -> Result<Frame, DoorError> {
    match &pictures(bytes, limits)?[..] {
        [one] => one.open(),
        _ => Err(DoorError::Several { format: Format::of(bytes)? }),
    }
}
