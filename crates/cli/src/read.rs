//! Reads files of the user's: regular files only, for a pipe or a device may never end, and never more of one than
//! is allowed.

use crate::failure::Failure;
use report::FaceRecord;
use std::fs::{self, File};
use std::io::Read;
use std::path::Path;

/// Most bytes of a text that a person writes: criteria, a layout, a cable, a scene of two thousand marks. Telling the
/// line of every fault takes as long as the square of it.
const MOST_TEXT: u64 = 256 << 10;

/// Most bytes of a record: that of a filthy face of 32 fibres takes 2 MiB. Read, 32 MiB may take 550 of memory.
const MOST_RECORD: u64 = 32 << 20;

/// The bytes of a file; `too_large` says what is wrong with more than `most` of them.
pub fn bytes(path: &Path, most: u64, too_large: impl Fn() -> Failure) -> Result<Vec<u8>, Failure> {
    let unread = |e: std::io::Error| Failure::read(path, &e);
    // Before it is opened: opening a pipe waits for a writer.
    let about = fs::metadata(path).map_err(unread)?;
    if about.is_dir() {
        return Err(unread(std::io::ErrorKind::IsADirectory.into()));
    }
    if !about.is_file() {
        return Err(Failure::NoFile { path: path.to_owned() });
    }
    if about.len() > most {
        return Err(too_large());
    }
    let mut bytes = Vec::with_capacity(usize::try_from(about.len()).unwrap_or(0) + 1);
    File::open(path).map_err(unread)?.take(most + 1).read_to_end(&mut bytes).map_err(unread)?;
    if bytes.len() as u64 > most { Err(too_large()) } else { Ok(bytes) }
}

/// The text of a file.
pub fn text(path: &Path) -> Result<String, Failure> {
    let bytes = bytes(path, MOST_TEXT, || Failure::LongText { path: path.to_owned(), limit: "256 KiB" })?;
    String::from_utf8(bytes).map_err(|_| Failure::read(path, &std::io::ErrorKind::InvalidData.into()))
}

/// The record of a face, and the bytes that it was read from.
pub fn record(path: &Path) -> Result<(FaceRecord, Vec<u8>), Failure> {
    let too_large = || Failure::LongText { path: path.to_owned(), limit: "32 MiB" };
    let bytes = bytes(path, MOST_RECORD, too_large)?;
    let read = FaceRecord::parse(&String::from_utf8_lossy(&bytes));
    Ok((read.map_err(|why| Failure::Record { path: path.to_owned(), why })?, bytes))
}
