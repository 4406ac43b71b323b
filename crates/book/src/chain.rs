//! Records chained by hash: each link is SHA-256 over a fixed word, the link before it, and the record's length and
//! bytes, so that no byte, order or end of a chain changes unseen once its head is known.

use sha2::{Digest, Sha256};

/// One link of a chain.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Link([u8; 32]);

/// Where a chain is broken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "record {place} of the chain is not the one that was written there: it, or the order before it, was changed"
)]
pub struct Broken {
    /// Index of the first record whose link does not fit.
    pub place: usize,
}

impl Link {
    /// What the first record is chained to.
    pub const START: Self = Self([0; 32]);

    /// The link of a record that follows this one.
    pub fn next(self, record: &[u8]) -> Self {
        let mut hash = Sha256::new();
        hash.update(b"pitchline.chain/1\n");
        hash.update(self.0);
        hash.update((record.len() as u64).to_be_bytes());
        hash.update(record);
        Self(hash.finalize().into())
    }

    /// Its bytes.
    pub const fn bytes(self) -> [u8; 32] {
        self.0
    }
}

/// Walks a chain of records with the links stored beside them and gives its head.
///
/// # Errors
/// The first place whose stored link is not that of its record. Records cut off the end are found only by holding the
/// head against one that was kept or sealed elsewhere.
pub fn walk<'a>(chain: impl IntoIterator<Item = (&'a [u8], Link)>) -> Result<Link, Broken> {
    chain.into_iter().enumerate().try_fold(Link::START, |before, (place, (record, stored))| {
        let link = before.next(record);
        if link == stored { Ok(link) } else { Err(Broken { place }) }
    })
}
