//! What is in the book.

use super::{BookError, Store};
use crate::chain::Link;
use crate::hash::Hash;
use crate::record::Record;
use rusqlite::{OptionalExtension, Row, params};

/// A record as it is stored.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// The link that was stored for it.
    pub link: Link,
    /// The link of the record before it; none for the first of a chain.
    pub before: Option<Link>,
    /// Its place in its chain, 0 for the first.
    pub place: i64,
    /// Its bytes.
    pub body: Vec<u8>,
}

impl Entry {
    /// What its bytes say.
    ///
    /// # Errors
    /// [`BookError::Record`].
    pub fn record(&self) -> Result<Record, BookError> {
        Record::parse(&self.body).map_err(|why| BookError::Record { link: self.link, why })
    }
}

impl Store {
    /// The link of the last record of this book's own chain.
    ///
    /// # Errors
    /// [`BookError`].
    pub fn head(&self) -> Result<Link, BookError> {
        Ok(self.db.query_row("SELECT link FROM head", [], |row| hash(row, 0))?)
    }

    /// Every record, its own chain's and those of merged books, in order of place and then of link.
    ///
    /// # Errors
    /// [`BookError`].
    pub fn entries(&self) -> Result<Vec<Entry>, BookError> {
        let mut query =
            self.db.prepare("SELECT link, before, place, body FROM entry ORDER BY place, link")?;
        let entry = |row: &Row<'_>| {
            let before: Option<[u8; 32]> = row.get(1)?;
            Ok(Entry {
                link: hash(row, 0)?,
                before: before.map(Hash::from_bytes),
                place: row.get(2)?,
                body: row.get(3)?,
            })
        };
        let entries = query.query_map([], entry)?.collect::<Result<_, _>>()?;
        Ok(entries)
    }

    /// The bytes of a document that a record names.
    ///
    /// # Errors
    /// [`BookError`].
    pub fn document(&self, sha256: Hash) -> Result<Option<Vec<u8>>, BookError> {
        let found = self.db.query_row(
            "SELECT bytes FROM document WHERE sha256 = ?1",
            params![sha256.bytes()],
            |row| row.get(0),
        );
        Ok(found.optional()?)
    }

    /// Whether a look is in the book already, by [`crate::Inspection::key`].
    ///
    /// # Errors
    /// [`BookError`].
    pub fn knows(&self, key: Hash) -> Result<bool, BookError> {
        let found = self.db.query_row("SELECT 1 FROM known WHERE key = ?1", params![key.bytes()], |_| Ok(()));
        Ok(found.optional()?.is_some())
    }
}

/// A hash in a column.
pub(super) fn hash(row: &Row<'_>, column: usize) -> rusqlite::Result<Hash> {
    row.get(column).map(Hash::from_bytes)
}
