//! Adding records: each in one transaction with all that belongs to it, so that a book that is cut off at any moment
//! holds the record whole or not at all.

use super::read::hash;
use super::{BookError, Store};
use crate::chain::{Link, link};
use crate::face::Face;
use crate::hash::Hash;
use crate::record::{Inspection, Record, Role};
use crate::register::Register;
use rusqlite::{OptionalExtension, Transaction, TransactionBehavior, params};
use std::collections::BTreeMap;

/// What is noted beside a record and not hashed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Noted {
    /// When it was written, as a text.
    pub at: String,
    /// The machine.
    pub host: String,
    /// How long the work behind it took.
    pub milliseconds: u64,
}

/// What became of a record that was to be added.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Added {
    /// It is in the book now.
    New,
    /// It was there before.
    Known,
}

impl Store {
    /// The first record of an empty book.
    pub(super) fn begin(&mut self, record: &Record, noted: &Noted) -> Result<(), BookError> {
        let step = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let begun = step.query_row("SELECT 1 FROM head", [], |_| Ok(())).optional()?;
        if begun.is_none() {
            append(&step, record, noted)?;
        }
        step.commit()?;
        Ok(())
    }

    /// Adds a look with its documents; a face that was not known becomes one of that role.
    ///
    /// # Errors
    /// [`BookError`]; the book is as it was then.
    pub fn inspect(
        &mut self,
        look: &Inspection,
        role: Role,
        documents: &[&[u8]],
        noted: &Noted,
    ) -> Result<Added, BookError> {
        self.add(&Record::Inspection(look.clone()), role, documents, noted)
    }

    /// Makes faces known by a role, all in one step; gives for how many that is new. What was said last counts, so that a
    /// role that was mistaken can be set right, and set back.
    ///
    /// # Errors
    /// [`BookError`]; the book is as it was then.
    pub fn declare(&mut self, faces: &[Face], role: Role, noted: &Noted) -> Result<usize, BookError> {
        let mut roles: BTreeMap<Face, Role> =
            Register::read(self)?.faces.into_iter().map(|known| (known.face, known.role)).collect();
        let step = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let mut new = 0;
        for face in faces {
            if roles.insert(face.clone(), role) != Some(role) {
                append(&step, &Record::Connector { face: face.clone(), role }, noted)?;
                new += 1;
            }
        }
        step.commit()?;
        Ok(new)
    }

    /// Makes a face known by a role, unless it is known by whatever role; says whether that is new.
    ///
    /// # Errors
    /// [`BookError`]; the book is as it was then.
    pub fn know(&mut self, face: &Face, role: Role, noted: &Noted) -> Result<bool, BookError> {
        let step = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let new = !is_declared(&step, face)?;
        if new {
            append(&step, &Record::Connector { face: face.clone(), role }, noted)?;
        }
        step.commit()?;
        Ok(new)
    }

    /// Adds a record; a face in it that was not known becomes one of that role.
    ///
    /// # Errors
    /// [`BookError`]; the book is as it was then.
    pub fn add(
        &mut self,
        record: &Record,
        role: Role,
        documents: &[&[u8]],
        noted: &Noted,
    ) -> Result<Added, BookError> {
        let step = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        if is_known(&step, key(record)?)? {
            return Ok(Added::Known);
        }
        for bytes in documents {
            keep(&step, bytes)?;
        }
        for face in record.faces() {
            if !is_declared(&step, face)? {
                append(&step, &Record::Connector { face: face.clone(), role }, noted)?;
            }
        }
        append(&step, record, noted)?;
        step.commit()?;
        Ok(Added::New)
    }
}

/// By what a record is known to be in the book already.
pub(crate) fn key(record: &Record) -> Result<Hash, BookError> {
    Ok(match record {
        Record::Inspection(look) => Inspection::key(&look.face, &look.pictures, &look.by)?,
        other => Hash::of(&other.bytes()?),
    })
}

pub(super) fn is_known(step: &Transaction<'_>, key: Hash) -> Result<bool, BookError> {
    let found = step.query_row("SELECT 1 FROM known WHERE key = ?1", params![key.bytes()], |_| Ok(()));
    Ok(found.optional()?.is_some())
}

fn is_declared(step: &Transaction<'_>, face: &Face) -> Result<bool, BookError> {
    let found = step.query_row("SELECT 1 FROM face WHERE name = ?1", params![face.to_string()], |_| Ok(()));
    Ok(found.optional()?.is_some())
}

/// Stores a document by its hash.
pub(super) fn keep(step: &Transaction<'_>, bytes: &[u8]) -> Result<(), BookError> {
    let sha256 = Hash::of(bytes);
    step.execute(
        "INSERT OR IGNORE INTO document (sha256, bytes) VALUES (?1, ?2)",
        params![sha256.bytes(), bytes],
    )?;
    Ok(())
}

/// Chains a record to the book's own head.
pub(super) fn append(step: &Transaction<'_>, record: &Record, noted: &Noted) -> Result<Link, BookError> {
    let head = step
        .query_row("SELECT entry.link, place FROM head JOIN entry USING (link)", [], |row| {
            Ok((hash(row, 0)?, row.get::<_, i64>(1)?))
        })
        .optional()?;
    let (before, place) = (head.map(|h| h.0), head.map_or(0, |h| h.1 + 1));
    let body = record.bytes()?;
    let next = link(before, &body);
    insert(step, next, before, place, &body)?;
    index(step, next, record)?;
    step.execute("INSERT OR REPLACE INTO head (one, link) VALUES (1, ?1)", params![next.bytes()])?;
    step.execute(
        "INSERT OR REPLACE INTO noted (link, at, host, milliseconds) VALUES (?1, ?2, ?3, ?4)",
        params![next.bytes(), noted.at, noted.host, i64::try_from(noted.milliseconds).unwrap_or(i64::MAX)],
    )?;
    Ok(next)
}

/// Stores a record under its link, if it is not there.
pub(super) fn insert(
    step: &Transaction<'_>,
    link: Link,
    before: Option<Link>,
    place: i64,
    body: &[u8],
) -> Result<bool, BookError> {
    let before = before.map(|before| *before.bytes());
    let rows = step.execute(
        "INSERT OR IGNORE INTO entry (link, before, place, body) VALUES (?1, ?2, ?3, ?4)",
        params![link.bytes(), before, place, body],
    )?;
    Ok(rows > 0)
}

/// Notes what a record makes known.
pub(super) fn index(step: &Transaction<'_>, link: Link, record: &Record) -> Result<(), BookError> {
    step.execute(
        "INSERT OR IGNORE INTO known (key, link) VALUES (?1, ?2)",
        params![key(record)?.bytes(), link.bytes()],
    )?;
    if let Record::Connector { face, .. } = record {
        step.execute(
            "INSERT OR IGNORE INTO face (name, link) VALUES (?1, ?2)",
            params![face.to_string(), link.bytes()],
        )?;
    }
    Ok(())
}
