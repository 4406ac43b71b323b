//! Why a book cannot be used, each one sentence; the file is named by whoever opened it.

use crate::chain::Link;
use rusqlite::ErrorCode;

/// Why a book cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BookError {
    /// No SQLite file.
    #[error("it is no book of pitchline; make one with `pitchline book new`")]
    NoBook,
    /// Somebody else's SQLite file.
    #[error(
        "it is a database of another program and no book; name the folder that `pitchline book new` made"
    )]
    Foreign,
    /// Written by a later program.
    #[error("it is of version {found}, and this program reads up to {known}; use a newer pitchline")]
    Newer {
        /// Its version.
        found: usize,
        /// Ours.
        known: usize,
    },
    /// SQLite cannot make sense of it.
    #[error("it is damaged ({0}); go back to a copy, and `pitchline book verify` that")]
    Damaged(String),
    /// Another program holds it.
    #[error("another program is writing to it; wait until that is done")]
    Busy,
    /// No room.
    #[error("the disk is full; free some space, and run the same command again")]
    Full,
    /// The file cannot be opened or written.
    #[error("it cannot be opened or written; check that it is there, and your rights to its folder")]
    Closed,
    /// A record cannot be told.
    #[error("a record cannot be told as JSON ({0}), a fault of the program itself; please report it")]
    Untold(String),
    /// A record that is named is not there.
    #[error("its record {0} is missing or damaged; `pitchline book verify` says what else is wrong")]
    Missing(Link),
    /// A record is there and cannot be read.
    #[error("its record {link} cannot be read: {why}")]
    Record {
        /// Which.
        link: Link,
        /// Why not.
        why: crate::record::NoRecord,
    },
}

impl From<rusqlite::Error> for BookError {
    fn from(error: rusqlite::Error) -> BookError {
        match error.sqlite_error_code() {
            Some(ErrorCode::NotADatabase) => BookError::NoBook,
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => BookError::Busy,
            Some(ErrorCode::DiskFull) => BookError::Full,
            Some(ErrorCode::CannotOpen | ErrorCode::ReadOnly | ErrorCode::PermissionDenied) => {
                BookError::Closed
            }
            _ => BookError::Damaged(error.to_string()),
        }
    }
}

impl From<serde_json::Error> for BookError {
    fn from(error: serde_json::Error) -> BookError {
        BookError::Untold(error.to_string())
    }
}
