//! Records chained by hash: each link is SHA-256 over a fixed word, the link before it, and the record's length and
//! bytes, so that no byte, order or end of a chain changes unseen once its head is known.

use crate::hash::Hash;
use sha2::{Digest, Sha256};

/// The link of a record: it stands for the record and for all that was recorded before it.
pub type Link = Hash;

/// The link of a record that follows `before`, or is the first if there is none.
pub fn link(before: Option<Link>, record: &[u8]) -> Link {
    let mut hash = Sha256::new();
    hash.update(b"pitchline.chain/1\n");
    hash.update(before.map_or([0; 32], |before| *before.bytes()));
    hash.update((record.len() as u64).to_be_bytes());
    hash.update(record);
    Hash::from_bytes(hash.finalize().into())
}
