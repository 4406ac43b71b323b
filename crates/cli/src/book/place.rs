//! Where a book lies: its folder, its SQLite file, its pictures, and the lock of whoever writes.

use crate::failure::Failure;
use book::{Access, Audit, BookError, Hash, Noted, Store};
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

/// The folder of a book.
#[derive(Clone)]
pub struct Place(PathBuf);

/// How many pictures this program has begun to store.
static PARTS: AtomicU64 = AtomicU64::new(0);

/// A book that only this program writes to, as long as it lives.
pub struct Held {
    /// The records.
    pub store: Store,
    _lock: File,
}

impl Place {
    /// The book in a folder.
    pub fn new(folder: &Path) -> Place {
        Place(folder.to_owned())
    }

    fn file(&self) -> PathBuf {
        self.0.join("book.sqlite")
    }

    /// The failure of this book.
    pub fn failure(&self, why: BookError) -> Failure {
        Failure::Book { path: self.0.clone(), why }
    }

    /// Makes an empty book.
    pub fn create(&self, name: &str) -> Result<(), Failure> {
        let written = |e: io::Error| Failure::write_book(&self.0, &e);
        if self.0.is_file() {
            return Err(written(io::ErrorKind::NotADirectory.into()));
        }
        fs::create_dir_all(self.0.join("pictures")).map_err(written)?;
        let _lock = self.lock()?;
        if Store::open(&self.file(), Access::Read).and_then(|store| store.head()).is_ok() {
            return Err(Failure::BookThere { path: self.0.clone() });
        }
        Store::create(&self.file(), name, &noted(Duration::ZERO)).map_err(|why| self.failure(why))?;
        flush(&self.0);
        Ok(())
    }

    /// Opens the book to read.
    pub fn read(&self) -> Result<Store, Failure> {
        self.there()?;
        Store::open(&self.file(), Access::Read).map_err(|why| self.failure(why))
    }

    /// Opens the book to read what it tells, if its records are as they were written: what was changed must not be told as
    /// if it were found. Pictures are left to `verify`.
    pub fn read_whole(&self) -> Result<(Store, Audit), Failure> {
        let store = self.read()?;
        let audit = book::audit(&store).map_err(|why| self.failure(why))?;
        match audit.flaws.first() {
            None => Ok((store, audit)),
            Some(found) => {
                let why = format!("its record {}: {}", found.place, found.flaw);
                Err(Failure::NotWhole { path: self.0.clone(), why })
            }
        }
    }

    /// Opens the book to write, and takes away what a killed run has left among its pictures.
    pub fn hold(&self) -> Result<Held, Failure> {
        self.there()?;
        // Looked at first: what is no book is told before anything is made beside it.
        drop(self.read()?);
        let lock = self.lock()?;
        let store = Store::open(&self.file(), Access::Write).map_err(|why| self.failure(why))?;
        self.sweep();
        Ok(Held { store, _lock: lock })
    }

    /// Whether there is one.
    pub fn is_there(&self) -> bool {
        self.file().is_file()
    }

    fn there(&self) -> Result<(), Failure> {
        match self.is_there() {
            true => Ok(()),
            false => Err(Failure::NoBook { path: self.0.clone() }),
        }
    }

    fn lock(&self) -> Result<File, Failure> {
        let path = self.0.join("lock");
        let file = File::options().create(true).append(true).open(&path);
        let file = file.map_err(|e| Failure::write_book(&path, &e))?;
        match file.try_lock() {
            Err(fs::TryLockError::WouldBlock) => Err(self.failure(BookError::Busy)),
            // Not every file system has locks; SQLite's own still keep the records whole.
            Ok(()) | Err(fs::TryLockError::Error(_)) => Ok(file),
        }
    }

    /// Where a picture of that hash lies.
    pub fn picture(&self, sha256: Hash) -> PathBuf {
        let name = sha256.to_string();
        self.0.join("pictures").join(&name[..2]).join(&name)
    }

    /// Stores a picture under its hash, whole and on the disk before it has its name. One that is there is left alone.
    pub fn keep(&self, sha256: Hash, bytes: &[u8]) -> Result<(), Failure> {
        let path = self.picture(sha256);
        let written = |e: io::Error| Failure::write_book(&path, &e);
        if path.is_file() {
            return Ok(());
        }
        let folder = path.parent().unwrap_or(&self.0);
        fs::create_dir_all(folder).map_err(written)?;
        // One name for each writer: two faces may be shown by copies of one picture.
        let part = path.with_extension(format!("{}.part", PARTS.fetch_add(1, Ordering::Relaxed)));
        let file = File::create_new(&part).map_err(written)?;
        (&file).write_all(bytes).and_then(|()| file.sync_all()).map_err(written)?;
        let mut rights = file.metadata().map_err(written)?.permissions();
        rights.set_readonly(true);
        fs::set_permissions(&part, rights).map_err(written)?;
        fs::rename(&part, &path).map_err(written)?;
        flush(folder);
        flush(&self.0.join("pictures"));
        Ok(())
    }

    fn sweep(&self) {
        let folders = fs::read_dir(self.0.join("pictures")).into_iter().flatten().flatten();
        let files = folders.flat_map(|f| fs::read_dir(f.path()).into_iter().flatten().flatten());
        for file in files.map(|f| f.path()).filter(|p| p.extension().is_some_and(|e| e == "part")) {
            // One that cannot be taken away does no harm.
            let _ = fs::remove_file(file);
        }
    }
}

/// Some file systems cannot flush a folder; the files themselves are flushed already.
fn flush(folder: &Path) {
    let _ = File::open(folder).and_then(|f| f.sync_all());
}

/// What is noted beside a record: the clock, the machine, the time taken.
pub fn noted(took: Duration) -> Noted {
    let host = fs::read_to_string("/proc/sys/kernel/hostname").ok();
    Noted {
        at: now().map(|now| now.to_string()).unwrap_or_default(),
        host: host.map(|h| h.trim().to_owned()).unwrap_or_default(),
        milliseconds: u64::try_from(took.as_millis()).unwrap_or(u64::MAX),
    }
}

/// The clock.
pub fn now() -> Option<book::Moment> {
    moment(SystemTime::now())
}

/// A time that a person states: in UTC or with its distance from it, not before this century and not to come, so that a
/// slip of the pen does not stand at the head of every trace.
pub fn stated(text: &str) -> Result<book::Moment, String> {
    let moment: book::Moment = text.parse().map_err(|why: book::NoMoment| why.to_string())?;
    // A clock may be some hours off, and say the wrong zone.
    let latest = moment_after(SystemTime::now(), Duration::from_secs(24 * 3600));
    match latest {
        Some(latest) if moment > latest => Err(format!("{moment} is still to come, by this machine's clock")),
        _ if moment.text() < "2000" => Err(format!("{moment} lies before the year 2000")),
        _ => Ok(moment),
    }
}

fn moment_after(time: SystemTime, later: Duration) -> Option<book::Moment> {
    moment(time.checked_add(later)?)
}

/// A time of the system's; none before 1970 or after the year 9999.
pub fn moment(time: SystemTime) -> Option<book::Moment> {
    let seconds = time.duration_since(UNIX_EPOCH).ok()?.as_secs();
    book::Moment::from_seconds(i64::try_from(seconds).ok()?).ok()
}
