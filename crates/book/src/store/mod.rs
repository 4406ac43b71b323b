//! The book's one file: records chained by hash, the documents that they name, and beside them what is not hashed.
//! SQLite alone touches the disk; where pictures lie is left to others.

mod error;
mod merge;
mod open;
mod read;
mod schema;
mod withdraw;
mod write;

pub use error::BookError;
pub use merge::Seal;
pub use open::Access;
pub use read::{Entry, Recorded};
pub use withdraw::NoWithdrawal;
pub use write::{Added, Noted};

pub(crate) use read::Index;
pub(crate) use write::key;

use rusqlite::Connection;

/// An open book.
pub struct Store {
    db: Connection,
}
