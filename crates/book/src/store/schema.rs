//! The tables, as steps from each version to the next. A step that was released is never changed.

use super::BookError;
use rusqlite::Connection;

/// Says that a SQLite file is a book of this program: the letters `ptch`.
pub(super) const APPLICATION: i32 = 0x7074_6368;

/// What brings a file of version `n` to `n + 1`.
const STEPS: [&str; 1] = ["
    CREATE TABLE entry (
        link BLOB PRIMARY KEY CHECK (length(link) = 32),
        before BLOB REFERENCES entry (link),
        place INTEGER NOT NULL,
        body BLOB NOT NULL
    ) STRICT;
    CREATE TABLE head (
        one INTEGER PRIMARY KEY CHECK (one = 1),
        link BLOB NOT NULL REFERENCES entry (link)
    ) STRICT;
    CREATE TABLE document (
        sha256 BLOB PRIMARY KEY CHECK (length(sha256) = 32),
        bytes BLOB NOT NULL
    ) STRICT;
    CREATE TABLE known (
        key BLOB PRIMARY KEY CHECK (length(key) = 32),
        link BLOB NOT NULL REFERENCES entry (link)
    ) STRICT;
    CREATE TABLE face (
        name TEXT PRIMARY KEY,
        link BLOB NOT NULL REFERENCES entry (link)
    ) STRICT;
    CREATE TABLE noted (
        link BLOB PRIMARY KEY REFERENCES entry (link),
        at TEXT NOT NULL,
        host TEXT NOT NULL,
        milliseconds INTEGER NOT NULL
    ) STRICT;
    CREATE TABLE seal (
        link BLOB NOT NULL REFERENCES entry (link),
        public_key BLOB NOT NULL CHECK (length(public_key) = 32),
        signature BLOB NOT NULL CHECK (length(signature) = 64),
        PRIMARY KEY (link, public_key)
    ) STRICT;
    "];

/// The version that this program writes.
pub(super) const VERSION: usize = STEPS.len();

/// Brings a file to the version of this program; one that is there already is left as it is.
pub(super) fn migrate(db: &mut Connection) -> Result<(), BookError> {
    let version = version(db)?;
    if version >= VERSION {
        return Ok(());
    }
    let step = db.transaction()?;
    for sql in &STEPS[version..] {
        step.execute_batch(sql)?;
    }
    step.pragma_update(None, "application_id", APPLICATION)?;
    step.pragma_update(None, "user_version", VERSION as i64)?;
    step.commit()?;
    Ok(())
}

/// The version of a file, 0 for an empty one.
pub(super) fn version(db: &Connection) -> Result<usize, BookError> {
    let version: i64 = db.pragma_query_value(None, "user_version", |row| row.get(0))?;
    usize::try_from(version).map_err(|_| BookError::Foreign)
}
