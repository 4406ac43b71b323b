//! Opening: a new file, one to write to, one to read only. Whatever is no book is refused before anything is done.

use super::schema::{self, APPLICATION, VERSION};
use super::{BookError, Noted, Store};
use crate::record::Record;
use rusqlite::{Connection, OpenFlags};
use std::path::Path;

/// What an open book is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Access {
    /// Nothing is changed.
    Read,
    /// Records may be added.
    Write,
}

impl Store {
    /// Makes a book in a file that is not there yet or was begun and is empty, with its first record.
    ///
    /// # Errors
    /// [`BookError`]; none is made where a book is already.
    pub fn create(path: &Path, name: &str, noted: &Noted) -> Result<Store, BookError> {
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE;
        let mut db = Connection::open_with_flags(path, flags)?;
        let application: i32 = db.pragma_query_value(None, "application_id", |row| row.get(0))?;
        let tables: i64 = db.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
        if application != APPLICATION && tables > 0 {
            return Err(BookError::Foreign);
        }
        settle(&db)?;
        schema::migrate(&mut db)?;
        let mut store = Store { db };
        store.begin(&Record::Book { name: name.to_owned() }, noted)?;
        Ok(store)
    }

    /// Opens a book.
    ///
    /// # Errors
    /// [`BookError`] if there is none or it is none.
    pub fn open(path: &Path, access: Access) -> Result<Store, BookError> {
        let mut db = connect(path, access)?;
        let application: i32 = db.pragma_query_value(None, "application_id", |row| row.get(0))?;
        if application != APPLICATION {
            return Err(BookError::Foreign);
        }
        let found = schema::version(&db)?;
        if found > VERSION {
            return Err(BookError::Newer { found, known: VERSION });
        }
        if access == Access::Write {
            settle(&db)?;
            schema::migrate(&mut db)?;
        }
        Ok(Store { db })
    }
}

/// Every commit is on the disk before it is told: WAL (SQLite's write-ahead log) with full flushing.
fn settle(db: &Connection) -> Result<(), BookError> {
    db.pragma_update(None, "journal_mode", "wal")?;
    db.pragma_update(None, "synchronous", "full")?;
    db.pragma_update(None, "foreign_keys", true)?;
    Ok(())
}

fn connect(path: &Path, access: Access) -> Result<Connection, BookError> {
    let plain = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_WRITE).map_err(BookError::from);
    let readable = |db: Connection| -> Result<Connection, BookError> {
        db.pragma_update(None, "busy_timeout", 10_000)?;
        db.pragma_update(None, "query_only", access == Access::Read)?;
        // The first look at the file, so that what is no database is known at once.
        db.query_row("SELECT count(*) FROM sqlite_schema", [], |_| Ok(()))?;
        Ok(db)
    };
    match plain.and_then(readable) {
        // A book on a disk that nobody can write to has no log beside it, and none can be made.
        Err(BookError::Closed) if access == Access::Read => {
            let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI;
            let db = Connection::open_with_flags(unchanging(path), flags)?;
            db.query_row("SELECT count(*) FROM sqlite_schema", [], |_| Ok(()))?;
            Ok(db)
        }
        other => other,
    }
}

/// The name of a file that does not change while it is read (SQLite, "URI filenames").
fn unchanging(path: &Path) -> String {
    let mut uri = "file:".to_owned();
    for byte in path.to_string_lossy().bytes() {
        match byte {
            b'/' | b'.' | b'-' | b'_' | b'0'..=b'9' | b'a'..=b'z' | b'A'..=b'Z' => uri.push(char::from(byte)),
            other => uri.push_str(&format!("%{other:02X}")),
        }
    }
    uri + "?immutable=1"
}
