//! SHA-256 of bytes, as a value and as 64 signs of lower-case hexadecimal.

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::fmt;
use std::str::FromStr;

/// SHA-256 (FIPS 180-4) of some bytes.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Hash([u8; 32]);

/// A text that is no hash.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a hash is 64 signs of hexadecimal")]
pub struct NoHash;

impl Hash {
    /// The hash of bytes.
    pub fn of(bytes: &[u8]) -> Hash {
        Hash(Sha256::digest(bytes).into())
    }

    /// A hash of which the bytes are known.
    pub const fn from_bytes(bytes: [u8; 32]) -> Hash {
        Hash(bytes)
    }

    /// Its bytes.
    pub const fn bytes(&self) -> &[u8; 32] {
        &self.0
    }
}

impl fmt::Display for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl FromStr for Hash {
    type Err = NoHash;

    fn from_str(text: &str) -> Result<Hash, NoHash> {
        if text.len() != 64 || !text.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f')) {
            return Err(NoHash);
        }
        let mut bytes = [0; 32];
        for (byte, at) in bytes.iter_mut().zip((0..64).step_by(2)) {
            *byte = u8::from_str_radix(&text[at..at + 2], 16).map_err(|_| NoHash)?;
        }
        Ok(Hash(bytes))
    }
}

impl TryFrom<String> for Hash {
    type Error = NoHash;

    fn try_from(text: String) -> Result<Hash, NoHash> {
        text.parse()
    }
}

impl From<Hash> for String {
    fn from(hash: Hash) -> String {
        hash.to_string()
    }
}
