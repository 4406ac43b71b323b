//! The directories of a TIFF file (TIFF 6.0, section 2, and BigTIFF): which of them hold pictures of their own, and
//! what the `tiff` package must not be handed.

use super::{DoorError, FORMAT, Part};
use std::collections::BTreeSet;
use tiff::tags::{Tag, Type};

/// Bits of NewSubfileType: a smaller copy of another picture of the file, and a mask of what counts of one.
const REDUCED: u64 = 1;
const MASK: u64 = 4;
/// The value of SubfileType, its forerunner, for a smaller copy.
const OLD_REDUCED: u64 = 2;

/// What is read of a directory.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Directory {
    /// Its place in the chain of directories.
    pub index: usize,
    /// Width and height as they stand there; 0 where they do not.
    pub size: (u64, u64),
    /// Where the value of PhotometricInterpretation lies in the file.
    pub interpretation_at: Option<usize>,
    /// Whether it holds a smaller copy of another picture, or a mask.
    beside: bool,
}

impl Directory {
    fn take(&mut self, entry: Entry) {
        let is = |tag: Tag| entry.tag == tag.to_u16();
        if is(Tag::NewSubfileType) {
            self.beside |= entry.value & (REDUCED | MASK) != 0;
        } else if is(Tag::SubfileType) {
            self.beside |= entry.value == OLD_REDUCED;
        } else if is(Tag::ImageWidth) {
            self.size.0 = entry.value;
        } else if is(Tag::ImageLength) {
            self.size.1 = entry.value;
        } else if is(Tag::PhotometricInterpretation) {
            self.interpretation_at = self.interpretation_at.or(Some(entry.value_at));
        }
    }
}

/// The directories that hold pictures of their own, in the order in which they are linked; at most `most`.
pub(super) fn pictures(bytes: &[u8], most: usize) -> Result<Vec<Directory>, DoorError> {
    let cut = DoorError::Truncated { format: FORMAT };
    let file = File::new(bytes).ok_or_else(|| cut.clone())?;
    let mut all: Vec<Directory> = Vec::new();
    let mut seen = BTreeSet::new();
    let mut next = file.number(file.first_at, file.offset_len);
    while let Some(at) = next.filter(|&at| at != 0) {
        if !seen.insert(at) {
            return Err(DoorError::Damaged { format: FORMAT, part: Part::Pages });
        }
        // Each picture may have a smaller copy and a mask.
        if all.len() == 3 * most {
            return Err(DoorError::TooManyPages { most });
        }
        let (directory, behind) = file.directory(at)?;
        all.push(Directory { index: all.len(), ..directory });
        next = file.number(behind, file.offset_len);
    }
    if next.is_none() {
        return Err(cut);
    }
    if all.is_empty() {
        return Err(DoorError::Damaged { format: FORMAT, part: Part::Pages });
    }
    match all.iter().filter(|d| !d.beside).count() {
        // Nothing but copies: the first is as good a picture as the file has.
        0 => all.truncate(1),
        _ => all.retain(|d| !d.beside),
    }
    if all.len() > most { Err(DoorError::TooManyPages { most }) } else { Ok(all) }
}

/// One entry of a directory.
struct Entry {
    tag: u16,
    /// The number as it stands in the value field, read as the entry's type.
    value: u64,
    /// Where the value field lies in the file.
    value_at: usize,
}

/// The bytes of a file and how its numbers are laid out.
struct File<'a> {
    bytes: &'a [u8],
    big_endian: bool,
    first_at: usize,
    offset_len: usize,
    count_len: usize,
    entry_len: usize,
}

impl<'a> File<'a> {
    fn new(bytes: &'a [u8]) -> Option<Self> {
        let big_endian = bytes.first() == Some(&b'M');
        let plain = File { bytes, big_endian, first_at: 4, offset_len: 4, count_len: 2, entry_len: 12 };
        let big_tiff = plain.number(2, 2)? == 43;
        Some(if big_tiff {
            File { first_at: 8, offset_len: 8, count_len: 8, entry_len: 20, ..plain }
        } else {
            plain
        })
    }

    /// The number in `len` bytes from `at`; none beyond the end of the file.
    fn number(&self, at: usize, len: usize) -> Option<u64> {
        let raw = self.bytes.get(at..at.checked_add(len)?)?.iter();
        let join = |sum: u64, &b: &u8| sum << 8 | u64::from(b);
        Some(if self.big_endian { raw.fold(0, join) } else { raw.rev().fold(0, join) })
    }

    /// The directory at `at`, and where the place of the next one stands.
    fn directory(&self, at: u64) -> Result<(Directory, usize), DoorError> {
        let cut = DoorError::Truncated { format: FORMAT };
        let at = usize::try_from(at).map_err(|_| cut.clone())?;
        let count = self.number(at, self.count_len).ok_or_else(|| cut.clone())?;
        let first = at + self.count_len;
        let len = usize::try_from(count).ok().and_then(|n| n.checked_mul(self.entry_len));
        let behind = len.and_then(|l| first.checked_add(l)).filter(|&b| b <= self.bytes.len()).ok_or(cut)?;
        let mut directory = Directory::default();
        for entry in (first..behind).step_by(self.entry_len) {
            directory.take(self.entry(entry)?);
        }
        Ok((directory, behind))
    }

    fn entry(&self, at: usize) -> Result<Entry, DoorError> {
        let read = |from: usize, len: usize| self.number(at + from, len).unwrap_or(0);
        let (tag, kind, count) = (read(0, 2) as u16, read(2, 2) as u16, read(4, self.offset_len));
        // The package writes to stderr of its own accord where such a text is longer than its limit.
        if kind == Type::ASCII.to_u16() && count > self.bytes.len() as u64 {
            return Err(DoorError::Damaged { format: FORMAT, part: Part::Text });
        }
        let value_from = 4 + self.offset_len;
        let is = |wanted: Type| kind == wanted.to_u16();
        let value = read(
            value_from,
            if is(Type::SHORT) {
                2
            } else if is(Type::LONG8) {
                8
            } else {
                4
            },
        );
        Ok(Entry { tag, value, value_at: at + value_from })
    }
}
