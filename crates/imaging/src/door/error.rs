//! What can be wrong with a picture file, each as one sentence that says how to mend it; and the formats,
//! told apart by their first bytes.

use std::fmt;
use std::io;

/// A file format that the door reads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// Portable Network Graphics.
    Png,
    /// JPEG, baseline or progressive.
    Jpeg,
    /// TIFF and BigTIFF.
    Tiff,
    /// Windows bitmap.
    Bmp,
    /// WebP, lossy or lossless.
    WebP,
}

/// Sizes of the second header of a BMP file, of OS/2 and of Windows. Two letters alone begin many a text.
const BMP_HEADERS: [u32; 8] = [12, 16, 40, 52, 56, 64, 108, 124];

fn is_bmp(bytes: &[u8]) -> bool {
    let size = bytes.get(14..18).and_then(|b| b.try_into().ok()).map(u32::from_le_bytes);
    size.is_some_and(|size| BMP_HEADERS.contains(&size))
}

/// Bytes that are enough for [`Format::of`].
pub const HEAD_BYTES: usize = 18;

impl Format {
    /// The format that the first bytes tell, of which [`HEAD_BYTES`] are enough.
    ///
    /// # Errors
    /// [`DoorError::Empty`] or [`DoorError::NotAPicture`].
    pub fn of(bytes: &[u8]) -> Result<Format, DoorError> {
        match bytes {
            [] => Err(DoorError::Empty),
            [0x89, b'P', b'N', b'G', b'\r', b'\n', 0x1a, b'\n', ..] => Ok(Format::Png),
            [0xff, 0xd8, 0xff, ..] => Ok(Format::Jpeg),
            [b'I', b'I', 42 | 43, 0, ..] | [b'M', b'M', 0, 42 | 43, ..] => Ok(Format::Tiff),
            [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'E', b'B', b'P', ..] => Ok(Format::WebP),
            [b'B', b'M', ..] if is_bmp(bytes) => Ok(Format::Bmp),
            _ => Err(DoorError::NotAPicture),
        }
    }
}

impl fmt::Display for Format {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Format::Png => "PNG",
            Format::Jpeg => "JPEG",
            Format::Tiff => "TIFF",
            Format::Bmp => "BMP",
            Format::WebP => "WebP",
        })
    }
}

/// Why a file is no picture that can be graded.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum DoorError {
    /// No byte.
    #[error("the file is empty; save or copy the picture again")]
    Empty,
    /// Another kind of file.
    #[error("this is no picture that can be read; give a PNG, JPEG, TIFF, BMP or WebP file")]
    NotAPicture,
    /// More bytes than allowed.
    #[error(
        "the file is larger than the {limit_mib} MiB that are read; crop the picture to the face and save it again"
    )]
    FileTooLarge {
        /// The limit.
        limit_mib: u64,
    },
    /// The header announces no pixel.
    #[error("the picture is {width} x {height} pixels, so it shows nothing; take or save it again")]
    NoPixels {
        /// Columns.
        width: u32,
        /// Rows.
        height: u32,
    },
    /// The header announces more pixels than allowed.
    #[error(
        "the picture is {width} x {height} pixels, more than the {limit} million that are read; crop it to the face"
    )]
    TooManyPixels {
        /// Columns.
        width: u32,
        /// Rows.
        height: u32,
        /// The limit, millions.
        limit: u64,
    },
    /// The header announces more bytes than allowed.
    #[error(
        "the picture is {width} x {height} pixels and takes {mib} MiB when decoded, more than the {limit_mib} MiB allowed; save it in grey or crop it to the face"
    )]
    TooMuchMemory {
        /// Columns.
        width: u32,
        /// Rows.
        height: u32,
        /// What it would take.
        mib: u64,
        /// The limit.
        limit_mib: u64,
    },
    /// The end is missing.
    #[error("the {format} file is cut off before its end; copy or save the picture again")]
    Truncated {
        /// The format.
        format: Format,
    },
    /// The bytes make no sense.
    #[error("the {format} file is damaged in {part}; copy or save the picture again")]
    Damaged {
        /// The format.
        format: Format,
        /// Where.
        part: Part,
    },
    /// A decoder asks for more memory than a picture of the size announced needs.
    #[error(
        "the {format} file takes more memory than allowed when decoded; save it anew as a grey PNG, cropped to the face"
    )]
    Greedy {
        /// The format.
        format: Format,
    },
    /// Inks instead of light.
    #[error("the {format} picture is in CMYK, the colours of print; save it in grey or RGB")]
    Cmyk {
        /// The format.
        format: Format,
    },
    /// A way of storing that the door does not read.
    #[error(
        "the {format} picture is stored as {what}, which is not read; save it as a grey PNG of 8 or 16 bit"
    )]
    Unsupported {
        /// The format.
        format: Format,
        /// The way, in a few words of our own.
        what: String,
    },
    /// Pages or an animation.
    #[error("the {format} file holds more than one picture; save the one of the face as a file of its own")]
    Several {
        /// The format.
        format: Format,
    },
    /// More pages than a run of steps ever has.
    #[error(
        "the TIFF file has more than the {most} pages that are read; save those of one face as a file of their own"
    )]
    TooManyPages {
        /// The limit.
        most: usize,
    },
    /// Pages that no camera takes one after another.
    #[error(
        "page {page} of the TIFF file is {} x {} pixels and page 1 {} x {}, where pages are taken for steps along one \
         face; save its pictures of one size as a file of their own",
        size.0, size.1, first.0, first.1
    )]
    PageSize {
        /// The first that is of another size than page 1; pages count from 1.
        page: usize,
        /// Its width and height.
        size: (u64, u64),
        /// Those of page 1.
        first: (u64, u64),
    },
}

/// The part of a file that makes no sense.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// What says how large the picture is and how it is stored.
    Header,
    /// The list of pages.
    Pages,
    /// The list of colours.
    Palette,
    /// The picture itself.
    Pixels,
    /// A text beside the picture.
    Text,
}

impl fmt::Display for Part {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Part::Header => "its header",
            Part::Pages => "its list of pages",
            Part::Palette => "its list of colours",
            Part::Pixels => "its pixels",
            Part::Text => "a text beside the picture",
        })
    }
}

/// Where a decoder stood when it found a fault. Its own words say nothing to users, and change.
#[derive(Clone, Copy)]
pub(super) struct Stage {
    pub format: Format,
    pub part: Part,
}

impl Stage {
    pub const fn damaged(self) -> DoorError {
        DoorError::Damaged { format: self.format, part: self.part }
    }

    /// A fault in reading the bytes, which lie in memory: only their end can be missing.
    pub fn io(self, error: &io::Error) -> DoorError {
        match error.kind() {
            io::ErrorKind::UnexpectedEof => DoorError::Truncated { format: self.format },
            _ => self.damaged(),
        }
    }

    /// A fault told by the `image` package.
    pub fn image(self, error: &image::ImageError) -> DoorError {
        let format = self.format;
        match error {
            image::ImageError::IoError(e) => self.io(e),
            image::ImageError::Unsupported(_) => {
                DoorError::Unsupported { format, what: format!("a kind of {format} that few programs write") }
            }
            image::ImageError::Limits(_) => DoorError::Greedy { format },
            _ => self.damaged(),
        }
    }
}
