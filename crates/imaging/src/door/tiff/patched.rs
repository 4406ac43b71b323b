//! The bytes of a file with one number in them exchanged, without a copy of the file.

use std::io::{Cursor, Read, Result, Seek, SeekFrom};

/// Reads a file as if another value stood at one place.
pub(super) struct Patched<'a> {
    file: Cursor<&'a [u8]>,
    patch: Option<(usize, [u8; 2])>,
}

impl<'a> Patched<'a> {
    /// The file as it is.
    pub(super) const fn none(bytes: &'a [u8]) -> Self {
        Patched { file: Cursor::new(bytes), patch: None }
    }

    /// The file with `value` at a place, in the byte order of the file.
    pub(super) fn at(bytes: &'a [u8], place: Option<usize>, value: u16) -> Self {
        let big_endian = bytes.first() == Some(&b'M');
        let value = if big_endian { value.to_be_bytes() } else { value.to_le_bytes() };
        Patched { file: Cursor::new(bytes), patch: place.map(|place| (place, value)) }
    }
}

impl Read for Patched<'_> {
    fn read(&mut self, out: &mut [u8]) -> Result<usize> {
        let from = self.file.position();
        let count = self.file.read(out)?;
        for (place, value) in self.patch.iter().flat_map(|(p, v)| (*p as u64..).zip(v)) {
            let at = place.checked_sub(from).and_then(|at| usize::try_from(at).ok());
            if let Some(byte) = at.and_then(|at| out[..count].get_mut(at)) {
                *byte = *value;
            }
        }
        Ok(count)
    }
}

impl Seek for Patched<'_> {
    fn seek(&mut self, to: SeekFrom) -> Result<u64> {
        self.file.seek(to)
    }
}
