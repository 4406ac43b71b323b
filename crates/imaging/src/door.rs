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
}

impl Default for Limits {
    /// 512 MiB of file, 400 million pixels, 1 GiB decoded: a face of 6.4 x 2.5 mm at 0.25 um per pixel has 256
    /// million pixels.
    fn default() -> Self {
        Limits { file_bytes: 512 << 20, pixels: 400_000_000, decoded_bytes: 1 << 30 }
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

/// Decodes a PNG, JPEG, TIFF, BMP or WebP file.
///
/// - 8 and 16 bit stay 8 and 16 bit; fewer bits of grey are spread over 8.
/// - Colour becomes luminance by the weights of ITU-R Recommendation BT.601 on the stored values:
///   (19595 R + 38470 G + 7471 B + 32768) / 65536, rounded down. Equal channels keep their value exactly; the
///   luma channel of a colour JPEG is taken as it is stored.
/// - Alpha is ignored: the stored colours count.
/// - A stored orientation (Exif, TIFF) is applied, so that the frame is the picture as a viewer shows it.
///
/// # Errors
/// One sentence in a [`DoorError`] for anything that is no such file, is cut off or damaged, is beyond
/// `limits`, holds several pictures, or is stored in a way that has no plain luminance (CMYK, Lab, 32 bit).
pub fn open(bytes: &[u8], limits: &Limits) -> Result<Frame, DoorError> {
    limits.check_file(bytes.len() as u64)?;
    let stored = match Format::of(bytes)? {
        Format::Png => png::decode(bytes, limits),
        Format::Jpeg => jpeg::decode(bytes, limits),
        Format::Tiff => tiff::decode(bytes, limits),
        Format::Bmp => bmp::decode(bytes, limits),
        Format::WebP => webp::decode(bytes, limits),
    }?;
    orient::upright(stored)
}
