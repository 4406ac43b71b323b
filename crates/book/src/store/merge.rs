//! Taking over another book, and seals. A link stands for a record and all before it, so a merged book is the union of
//! two sets: nothing is lost, nothing is there twice, and merging again changes nothing.

use super::read::hash;
use super::withdraw::index_anew;
use super::write::{append, insert, keep};
use super::{BookError, Noted, Store};
use crate::chain::{Link, link};
use crate::record::Record;
use rusqlite::{Row, Transaction, TransactionBehavior, params};
use std::collections::BTreeSet;

/// A signature over a link.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Seal {
    /// The last link of the chain that it stands for.
    pub link: Link,
    /// The key that it can be verified by (Ed25519).
    pub public_key: [u8; 32],
    /// The signature (Ed25519).
    pub signature: [u8; 64],
}

impl Store {
    /// Takes over every record that is not here yet, with its documents and its seals, and records that: all in one step.
    /// Gives how many records came.
    ///
    /// # Errors
    /// [`BookError`]; the book is as it was then.
    pub fn merge(&mut self, other: &Store, noted: &Noted) -> Result<usize, BookError> {
        let (entries, head, seals) = (other.entries()?, other.head()?, other.seals()?);
        let step = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let mut came = 0;
        let mut documents = BTreeSet::new();
        for entry in &entries {
            if link(entry.before, &entry.body) != entry.link {
                return Err(BookError::Missing(entry.link));
            }
            let record = entry.record()?;
            if insert(&step, entry.link, entry.before, entry.place, &entry.body)? {
                came += 1;
                if let Record::Inspection(look) = record {
                    documents.extend([look.by.layout, look.by.criteria, look.document]);
                }
            }
        }
        for sha256 in documents {
            let bytes = other.document(sha256)?.ok_or(BookError::Missing(sha256))?;
            keep(&step, &bytes)?;
        }
        if came > 0 {
            append(&step, &Record::Merge { head }, noted)?;
            index_anew(&step)?;
        }
        seals.iter().try_for_each(|seal| stamp(&step, seal))?;
        step.commit()?;
        Ok(came)
    }

    /// Stores a seal.
    ///
    /// # Errors
    /// [`BookError`].
    pub fn seal(&mut self, seal: &Seal) -> Result<(), BookError> {
        let step = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        stamp(&step, seal)?;
        step.commit()?;
        Ok(())
    }

    /// Every seal, in order of link and key.
    ///
    /// # Errors
    /// [`BookError`].
    pub fn seals(&self) -> Result<Vec<Seal>, BookError> {
        let mut query =
            self.db.prepare("SELECT link, public_key, signature FROM seal ORDER BY link, public_key")?;
        let seal =
            |row: &Row<'_>| Ok(Seal { link: hash(row, 0)?, public_key: row.get(1)?, signature: row.get(2)? });
        let seals = query.query_map([], seal)?.collect::<Result<_, _>>()?;
        Ok(seals)
    }
}

fn stamp(step: &Transaction<'_>, seal: &Seal) -> Result<(), BookError> {
    step.execute(
        "INSERT OR REPLACE INTO seal (link, public_key, signature) VALUES (?1, ?2, ?3)",
        params![seal.link.bytes(), seal.public_key, seal.signature],
    )?;
    Ok(())
}
