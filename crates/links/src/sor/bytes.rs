//! A reader over one block: little-endian numbers and texts, each asked for by name, none beyond the block's end.

use super::SorError;

/// The bytes of one block and how far they were read.
pub(crate) struct Bytes<'a> {
    /// Name of the block.
    block: String,
    file: &'a [u8],
    at: usize,
    end: usize,
}

impl<'a> Bytes<'a> {
    /// The part of a file from `at` up to `end`; the end is drawn in to the file's own.
    pub fn new(block: &str, file: &'a [u8], at: usize, end: usize) -> Bytes<'a> {
        Bytes { block: block.to_owned(), file, at, end: end.min(file.len()) }
    }

    /// Offset in the file of what is read next.
    pub fn at(&self) -> usize {
        self.at
    }

    fn take(&mut self, count: usize, field: &'static str) -> Result<&'a [u8], SorError> {
        let end = self.at.checked_add(count).filter(|end| *end <= self.end);
        let taken = end.and_then(|end| self.file.get(self.at..end));
        let short = SorError::Short { block: self.block.clone(), field, at: self.at };
        let taken = taken.ok_or(short)?;
        self.at += count;
        Ok(taken)
    }

    fn array<const N: usize>(&mut self, field: &'static str) -> Result<[u8; N], SorError> {
        let mut out = [0; N];
        out.copy_from_slice(self.take(N, field)?);
        Ok(out)
    }

    pub fn skip(&mut self, count: usize, field: &'static str) -> Result<(), SorError> {
        self.take(count, field).map(drop)
    }

    pub fn u16(&mut self, field: &'static str) -> Result<u16, SorError> {
        self.array(field).map(u16::from_le_bytes)
    }

    pub fn i16(&mut self, field: &'static str) -> Result<i16, SorError> {
        self.array(field).map(i16::from_le_bytes)
    }

    pub fn u32(&mut self, field: &'static str) -> Result<u32, SorError> {
        self.array(field).map(u32::from_le_bytes)
    }

    pub fn i32(&mut self, field: &'static str) -> Result<i32, SorError> {
        self.array(field).map(i32::from_le_bytes)
    }

    /// A text of a fixed number of bytes.
    pub fn fixed(&mut self, count: usize, field: &'static str) -> Result<String, SorError> {
        self.take(count, field).map(text)
    }

    /// A text that ends in a zero byte.
    pub fn terminated(&mut self, field: &'static str) -> Result<String, SorError> {
        let rest = self.file.get(self.at..self.end).unwrap_or_default();
        let length = rest.iter().position(|b| *b == 0);
        let missing = SorError::Short { block: self.block.clone(), field, at: self.at };
        let bytes = self.take(length.ok_or(missing)?, field)?;
        self.skip(1, field)?;
        Ok(text(bytes))
    }

    pub fn wrong(&self, what: String) -> SorError {
        SorError::Wrong { block: self.block.clone(), what }
    }
}

/// UTF-8 where it is, else Latin-1: no character set is declared. Control signs become spaces.
fn text(bytes: &[u8]) -> String {
    let read = match std::str::from_utf8(bytes) {
        Ok(text) => text.to_owned(),
        Err(_) => bytes.iter().map(|b| char::from(*b)).collect(),
    };
    let plain: String = read.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    plain.trim().to_owned()
}
