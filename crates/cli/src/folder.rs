//! Writes a set of files into a folder, all or none: under temporary names first, then renamed. Whatever goes
//! wrong before the end, the folder is left as it was found, or is not there if it was not.

use crate::failure::Failure;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// One file to be written: its name in the folder, which may lead into folders of its own, and its bytes.
pub type NamedFile = (String, Vec<u8>);

/// Files that lie in their folder under temporary names. Dropped before [`Staged::commit`], they vanish.
pub struct Staged {
    folder: PathBuf,
    /// Folders that were made, outermost first.
    made: Vec<PathBuf>,
    /// Temporary and final path of each file.
    files: Vec<(PathBuf, PathBuf)>,
}

impl Staged {
    /// Makes the folder if need be and writes the files into it under temporary names.
    pub fn new(folder: &Path, files: &[NamedFile]) -> Result<Staged, Failure> {
        let mut staged = Staged { folder: folder.to_owned(), made: Vec::new(), files: Vec::new() };
        staged.make(folder)?;
        for (name, bytes) in files {
            let path = folder.join(name);
            staged.make(path.parent().unwrap_or(folder))?;
            staged.add(&path, bytes)?;
        }
        Ok(staged)
    }

    /// Gives every file its name and takes away the files called `stale`, which an earlier run may have left and
    /// which would tell of another face.
    pub fn commit(mut self, stale: &[&str]) -> Result<(), Failure> {
        for path in stale.iter().map(|name| self.folder.join(name)).filter(|p| p.is_file()) {
            fs::remove_file(&path).map_err(|e| Failure::write(&path, &e))?;
        }
        for (temporary, path) in &self.files {
            fs::rename(temporary, path).map_err(|e| Failure::write(path, &e))?;
        }
        // Some file systems cannot flush a folder; the files themselves are flushed already.
        let _ = File::open(&self.folder).and_then(|f| f.sync_all());
        self.files.clear();
        self.made.clear();
        Ok(())
    }

    /// Makes a folder and those above it where they are missing.
    fn make(&mut self, folder: &Path) -> Result<(), Failure> {
        let missing: Vec<&Path> =
            folder.ancestors().take_while(|p| !p.as_os_str().is_empty() && !p.exists()).collect();
        for path in missing.into_iter().rev() {
            fs::create_dir(path).map_err(|e| Failure::write(path, &e))?;
            self.made.push(path.to_owned());
        }
        match folder.is_dir() || folder.as_os_str().is_empty() {
            true => Ok(()),
            false => Err(Failure::write(folder, &io::ErrorKind::NotADirectory.into())),
        }
    }

    fn add(&mut self, path: &Path, bytes: &[u8]) -> Result<(), Failure> {
        if path.is_dir() {
            return Err(Failure::write(path, &io::ErrorKind::IsADirectory.into()));
        }
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        let temporary = path.with_file_name(format!(".{name}.{}.part", std::process::id()));
        let written = File::create_new(&temporary).and_then(|mut file| {
            self.files.push((temporary, path.to_owned()));
            file.write_all(bytes)?;
            file.sync_all()
        });
        written.map_err(|e| Failure::write(path, &e))
    }
}

impl Drop for Staged {
    fn drop(&mut self) {
        for (temporary, _) in &self.files {
            let _ = fs::remove_file(temporary);
        }
        for folder in self.made.iter().rev() {
            let _ = fs::remove_dir(folder);
        }
    }
}

/// The maps, which are stale where none are written beside a new document.
pub const fn stale_maps(with_map: bool) -> &'static [&'static str] {
    if with_map { &[] } else { &["map.svg", "map.png"] }
}
