//! The block Cksum: CRC-16 of everything before it. Many writers store another value or zero, so that a difference is
//! a doubt to be told and no reason to refuse the file.

use super::blocks::Blocks;

/// What became of the checksum.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Checksum {
    /// It is that of the bytes.
    Holds,
    /// The file has none.
    Missing,
    /// It is not that of the bytes.
    Differs {
        /// As it stands in the file.
        stored: u16,
        /// That of the bytes.
        computed: u16,
    },
}

impl Checksum {
    /// What is to be told of it; none if it holds.
    pub fn doubt(self) -> Option<String> {
        match self {
            Checksum::Holds => None,
            Checksum::Missing => {
                Some("the trace file has no checksum; changes to it would not show".to_owned())
            }
            Checksum::Differs { stored, computed } => Some(format!(
                "the checksum in the trace file is {stored:04x} and that of its bytes {computed:04x}; it was changed \
                 after it was written, or written by a program that does not compute it"
            )),
        }
    }
}

/// CRC-16 with the polynomial 0x1021, start 0xFFFF, not reflected, nothing added at the end (from memory; the check
/// value of the nine digits is the well-known one of this variant).
pub(crate) fn crc16(bytes: impl IntoIterator<Item = u8>) -> u16 {
    let step = |crc: u16, _| if crc & 0x8000 == 0 { crc << 1 } else { (crc << 1) ^ 0x1021 };
    bytes.into_iter().fold(0xffff, |crc, byte| (0..8).fold(crc ^ (u16::from(byte) << 8), step))
}

/// Holds the stored checksum to the bytes before it.
pub(crate) fn check(file: &[u8], blocks: &Blocks) -> Checksum {
    let Some(mut bytes) = blocks.find("Cksum") else { return Checksum::Missing };
    let before = bytes.at();
    let Ok(stored) = bytes.u16("checksum") else { return Checksum::Missing };
    let computed = crc16(file.iter().copied().take(before));
    if stored == computed { Checksum::Holds } else { Checksum::Differs { stored, computed } }
}

#[cfg(test)]
mod tests {
    use super::crc16;

    #[test]
    fn the_nine_digits_give_the_known_value() {
        assert_eq!(crc16(*b"123456789"), 0x29b1);
    }
}
