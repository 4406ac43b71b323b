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

impl Format {
    /// The format that the first bytes tell.
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
            [b'B', b'M', ..] => Ok(Format::Bmp),
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
    #[error("the {format} file is damaged ({detail}); copy or save the picture again")]
    Damaged {
        /// The format.
        format: Format,
        /// The decoder's words, on one line.
        detail: String,
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
        /// The way, in a few words.
        what: String,
    },
    /// Pages or an animation.
    #[error("the {format} file holds more than one picture; save the one of the face as a file of its own")]
    Several {
        /// The format.
        format: Format,
    },
}

impl DoorError {
    /// A fault found by a decoder: cut off if it ran out of bytes, damaged otherwise.
    pub(super) fn damaged(format: Format, detail: impl fmt::Display) -> DoorError {
        let detail = detail.to_string();
        let words: Vec<&str> = detail.split_whitespace().collect();
        DoorError::Damaged { format, detail: words.join(" ").trim_end_matches('.').to_owned() }
    }

    /// A fault in reading the bytes, which lie in memory: only their end can be missing.
    pub(super) fn from_io(format: Format, error: &io::Error) -> DoorError {
        match error.kind() {
            io::ErrorKind::UnexpectedEof => DoorError::Truncated { format },
            _ => DoorError::damaged(format, error),
        }
    }

    /// A fault told by the `image` package.
    pub(super) fn from_image(format: Format, error: &image::ImageError) -> DoorError {
        match error {
            image::ImageError::IoError(e) => DoorError::from_io(format, e),
            image::ImageError::Unsupported(e) => {
                DoorError::Unsupported { format, what: e.to_string().replace('\n', " ") }
            }
            other => DoorError::damaged(format, other),
        }
    }
}
