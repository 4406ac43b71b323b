//! What is in the book.

use super::{BookError, Store};
use crate::chain::Link;
use crate::hash::Hash;
use crate::record::{Record, Withdrawal};
use rusqlite::{Connection, OptionalExtension, Row, params};
use std::collections::BTreeMap;

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

/// What a record says, and whether it still counts.
#[derive(Clone, Debug, PartialEq)]
pub struct Recorded {
    /// Its link.
    pub link: Link,
    /// What it says.
    pub record: Record,
    /// How it was withdrawn, if it was.
    pub withdrawn: Option<Withdrawal>,
}

/// What the book's tables say to be known, each with the record that made it so: what must not be entered twice, by
/// its key, and faces, by their names.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Index {
    pub keys: BTreeMap<Hash, Link>,
    pub faces: BTreeMap<String, Link>,
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
        entries(&self.db)
    }

    /// The name that this book was begun with: that of a merged one stands at the root of another chain.
    ///
    /// # Errors
    /// [`BookError`].
    pub fn name(&self) -> Result<String, BookError> {
        let mut query = self.db.prepare("SELECT link, before, place, body FROM entry WHERE link = ?1")?;
        let (mut link, mut above) = (self.head()?, i64::MAX);
        loop {
            let found = query.query_row(params![link.bytes()], entry).optional()?;
            // A book that was tampered with may lead in a circle.
            let here = found.filter(|here| here.place < above).ok_or(BookError::Missing(link))?;
            match (here.before, here.record()?) {
                (None, Record::Book { name }) => return Ok(name),
                (None, _) => return Ok(String::new()),
                (Some(before), _) => (link, above) = (before, here.place),
            }
        }
    }

    /// What every record says, in the order of [`Store::entries`].
    ///
    /// # Errors
    /// [`BookError`], of the first record that cannot be read.
    pub fn records(&self) -> Result<Vec<Recorded>, BookError> {
        records(&self.db)
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

    /// The tables that follow from the records.
    pub(crate) fn index(&self) -> Result<Index, BookError> {
        let mut keys = self.db.prepare("SELECT key, link FROM known")?;
        let mut faces = self.db.prepare("SELECT name, link FROM face")?;
        Ok(Index {
            keys: keys.query_map([], |row| Ok((hash(row, 0)?, hash(row, 1)?)))?.collect::<Result<_, _>>()?,
            faces: faces.query_map([], |row| Ok((row.get(0)?, hash(row, 1)?)))?.collect::<Result<_, _>>()?,
        })
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

fn entries(db: &Connection) -> Result<Vec<Entry>, BookError> {
    let mut query = db.prepare("SELECT link, before, place, body FROM entry ORDER BY place, link")?;
    let entries = query.query_map([], entry)?.collect::<Result<_, _>>()?;
    Ok(entries)
}

fn entry(row: &Row<'_>) -> rusqlite::Result<Entry> {
    let before: Option<[u8; 32]> = row.get(1)?;
    Ok(Entry {
        link: hash(row, 0)?,
        before: before.map(Hash::from_bytes),
        place: row.get(2)?,
        body: row.get(3)?,
    })
}

/// What every record says. In a merged book a withdrawal may have a lower place than what it names.
pub(super) fn records(db: &Connection) -> Result<Vec<Recorded>, BookError> {
    let mut withdrawals: BTreeMap<Link, Withdrawal> = BTreeMap::new();
    let mut records = Vec::new();
    for entry in entries(db)? {
        let record = entry.record()?;
        if let Record::Withdrawal(withdrawal) = &record {
            withdrawals.entry(withdrawal.record).or_insert_with(|| withdrawal.clone());
        }
        records.push(Recorded { link: entry.link, record, withdrawn: None });
    }
    for recorded in &mut records {
        recorded.withdrawn = withdrawals.get(&recorded.link).cloned();
    }
    Ok(records)
}

/// A hash in a column.
pub(super) fn hash(row: &Row<'_>, column: usize) -> rusqlite::Result<Hash> {
    row.get(column).map(Hash::from_bytes)
}
