//! The directories of a TIFF file (TIFF 6.0, section 2, and BigTIFF): how many pictures there are, and what
//! the `tiff` package must not be handed.

use super::{DoorError, FORMAT, Part};
use tiff::tags::{Tag, Type};

/// Value of PhotometricInterpretation.
const BLACK_IS_ZERO: u16 = 1;
/// A chain longer than this is a circle or an attack.
const MOST_DIRECTORIES: usize = 1000;

/// One entry of a directory.
struct Entry {
    tag: u16,
    /// The number as it stands in the value field, read as the entry's type.
    value: u64,
    /// Where the value field lies in the file.
    value_at: usize,
}

/// All directories of a file, in the order in which they are linked.
pub(super) struct Directories<'a> {
    file: File<'a>,
    all: Vec<Vec<Entry>>,
}

impl<'a> Directories<'a> {
    /// Reads the chain of directories.
    pub(super) fn read(bytes: &'a [u8]) -> Result<Self, DoorError> {
        let file = File::new(bytes).ok_or(DoorError::Truncated { format: FORMAT })?;
        let mut all = Vec::new();
        let mut next = file.number(file.first_at, file.offset_len);
        while let Some(at) = next.filter(|&at| at != 0) {
            if all.len() == MOST_DIRECTORIES {
                return Err(DoorError::Damaged { format: FORMAT, part: Part::Header });
            }
            let (entries, behind) = file.directory(at)?;
            all.push(entries);
            next = file.number(behind, file.offset_len);
        }
        if next.is_none() {
            return Err(DoorError::Truncated { format: FORMAT });
        }
        Ok(Directories { file, all })
    }

    /// How many pictures there are, reduced copies (bit 0 of NewSubfileType) left out.
    pub(super) fn pictures(&self) -> usize {
        let kind = Tag::NewSubfileType.to_u16();
        let reduced = |d: &&Vec<Entry>| d.iter().any(|e| e.tag == kind && e.value & 1 == 1);
        self.all.iter().filter(|d| !reduced(d)).count()
    }

    /// A copy of the file whose first picture says that it is grey.
    pub(super) fn said_to_be_grey(&self) -> Vec<u8> {
        let mut copy = self.file.bytes.to_vec();
        let says = Tag::PhotometricInterpretation.to_u16();
        if let Some(entry) = self.all.first().and_then(|d| d.iter().find(|e| e.tag == says)) {
            let big = BLACK_IS_ZERO.to_be_bytes();
            let value = if self.file.big_endian { big } else { BLACK_IS_ZERO.to_le_bytes() };
            copy[entry.value_at..entry.value_at + 2].copy_from_slice(&value);
        }
        copy
    }
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
    fn directory(&self, at: u64) -> Result<(Vec<Entry>, usize), DoorError> {
        let cut = DoorError::Truncated { format: FORMAT };
        let at = usize::try_from(at).map_err(|_| cut.clone())?;
        let count = self.number(at, self.count_len).ok_or_else(|| cut.clone())?;
        let first = at + self.count_len;
        let len = usize::try_from(count).ok().and_then(|n| n.checked_mul(self.entry_len));
        let behind = len.and_then(|l| first.checked_add(l)).filter(|&b| b <= self.bytes.len()).ok_or(cut)?;
        let entries = (first..behind).step_by(self.entry_len).map(|e| self.entry(e));
        Ok((entries.collect::<Result<_, _>>()?, behind))
    }

    fn entry(&self, at: usize) -> Result<Entry, DoorError> {
        let read = |from: usize, len: usize| self.number(at + from, len).unwrap_or(0);
        let (tag, kind, count) = (read(0, 2) as u16, read(2, 2) as u16, read(4, self.offset_len));
        // The package writes to stderr of its own accord where such a text is longer than its limit.
        if kind == Type::ASCII.to_u16() && count > self.bytes.len() as u64 {
            return Err(DoorError::Damaged { format: FORMAT, part: Part::Text });
        }
        let value_from = 4 + self.offset_len;
        let value = read(value_from, if kind == Type::SHORT.to_u16() { 2 } else { 4 });
        Ok(Entry { tag, value, value_at: at + value_from })
    }
}
