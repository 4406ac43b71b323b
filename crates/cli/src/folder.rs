//! Writes a set of files into a folder, all or none: under temporary names first, then renamed. Whatever goes
//! wrong before the end, the folder is left as it was found, or is not there if it was not. A run that is killed leaves
//! every file whole, old or new; what it leaves beside them the next run takes away.

use crate::failure::Failure;
use rayon::prelude::*;
use std::collections::BTreeSet;
use std::fs::{self, File, TryLockError};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// One file to be written: its name in the folder, which may lead into folders of its own, and its bytes.
pub type NamedFile = (String, Vec<u8>);

/// Files that lie in their folder under temporary names. Dropped before [`Staged::commit`], they vanish.
pub struct Staged {
    folder: PathBuf,
    /// Folders that were made, outermost first.
    made: Vec<PathBuf>,
    /// Temporary and final path of each file, locked so that another run does not take it for a leftover.
    files: Vec<(PathBuf, PathBuf, File)>,
}

impl Staged {
    /// Makes the folder if need be and writes the files into it under temporary names.
    pub fn new(folder: &Path, files: &[NamedFile]) -> Result<Staged, Failure> {
        let mut staged = Staged { folder: folder.to_owned(), made: Vec::new(), files: Vec::new() };
        staged.make(folder)?;
        let paths: Vec<PathBuf> = files.iter().map(|(name, _)| folder.join(name)).collect();
        for inner in folders_of(&paths) {
            staged.make(inner)?;
            sweep(inner);
        }
        for path in &paths {
            staged.add(path)?;
        }
        // Side by side, so that a disk flushes one while the next is written.
        let write = |((.., file), (_, bytes)): (&(_, _, File), &NamedFile)| -> io::Result<()> {
            let mut file = file;
            file.write_all(bytes)?;
            file.sync_all()
        };
        let written: Vec<io::Result<()>> = staged.files.par_iter().zip(files).map(write).collect();
        for ((_, path, _), written) in staged.files.iter().zip(written) {
            written.map_err(|e| Failure::write(path, &e))?;
        }
        Ok(staged)
    }

    /// Gives every file its name, the first one last, and takes away the files called `stale`, which an earlier run
    /// may have left and which would tell of another face. If one of them cannot be, the folder is put back as it was.
    pub fn commit(mut self, stale: &[String]) -> Result<(), Failure> {
        let away = stale.iter().map(|name| self.folder.join(name)).filter(|p| p.is_file()).map(|p| (None, p));
        let named = self.files.iter().rev().map(|(from, path, _)| (Some(from.as_path()), path.clone()));
        let mut steps: Vec<Step> = Vec::new();
        for (temporary, path) in away.chain(named) {
            match Step::take(temporary, &path) {
                Ok(step) => steps.push(step),
                Err(error) => {
                    steps.iter().rev().for_each(Step::undo);
                    return Err(Failure::write(&path, &error));
                }
            }
        }
        // Side by side: a disk takes its time to let go of a large file.
        steps.par_iter().for_each(Step::settle);
        let paths: Vec<PathBuf> = self.files.drain(..).map(|(_, path, _)| path).collect();
        let above = self.made.iter().filter_map(|made| made.parent());
        for folder in folders_of(&paths).into_iter().chain(above) {
            let here = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
            // Some file systems cannot flush a folder; the files themselves are flushed already.
            let _ = File::open(here).and_then(|f| f.sync_all());
        }
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

    /// Makes the empty file under its temporary name.
    fn add(&mut self, path: &Path) -> Result<(), Failure> {
        if path.is_dir() {
            return Err(Failure::write(path, &io::ErrorKind::IsADirectory.into()));
        }
        let temporary = hidden(path, "part");
        // A run of the same number that was killed may have left one; in a container all have the same number.
        let _ = fs::remove_file(&temporary);
        let file = File::create_new(&temporary).map_err(|e| Failure::write(path, &e))?;
        // Not every file system has locks.
        let _ = file.try_lock();
        self.files.push((temporary, path.to_owned(), file));
        Ok(())
    }
}

impl Drop for Staged {
    fn drop(&mut self) {
        for (temporary, ..) in &self.files {
            let _ = fs::remove_file(temporary);
        }
        for folder in self.made.iter().rev() {
            let _ = fs::remove_dir(folder);
        }
    }
}

/// One file that was given its name, or taken away, and what was there before under a name of its own.
struct Step {
    path: PathBuf,
    before: Option<PathBuf>,
}

impl Step {
    /// Puts `temporary`, or nothing, in the place of `path`.
    fn take(temporary: Option<&Path>, path: &Path) -> io::Result<Step> {
        let mut step = Step { path: path.to_owned(), before: None };
        if let Ok(there) = path.symlink_metadata() {
            if there.is_dir() {
                return Err(io::ErrorKind::IsADirectory.into());
            }
            let before = hidden(path, "old");
            let _ = fs::remove_file(&before);
            // A second name, or a copy where a file system has no second names, keeps the first in place throughout.
            if temporary.is_none() {
                fs::rename(path, &before)?;
            } else if fs::hard_link(path, &before).is_err() {
                fs::copy(path, &before)?;
            }
            step.before = Some(before);
        }
        match temporary.map_or(Ok(()), |temporary| fs::rename(temporary, path)) {
            Ok(()) => Ok(step),
            Err(error) => {
                step.put_back();
                Err(error)
            }
        }
    }

    /// Makes the place what it was before.
    fn undo(&self) {
        match self.before {
            Some(_) => self.put_back(),
            None => drop(fs::remove_file(&self.path)),
        }
    }

    /// Nothing better can be done if this fails: what was there before keeps its hidden name then.
    fn put_back(&self) {
        let back = self.before.as_ref().filter(|before| fs::rename(before, &self.path).is_ok());
        if let Some(before) = back {
            // Renaming between two names of one file leaves both.
            let _ = fs::remove_file(before);
        }
    }

    /// Lets go of what was there before.
    fn settle(&self) {
        if let Some(before) = &self.before {
            let _ = fs::remove_file(before);
        }
    }
}

/// A hidden name of this run's beside a path.
fn hidden(path: &Path, ending: &str) -> PathBuf {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    path.with_file_name(format!(".{name}.{}.pitchline-{ending}", std::process::id()))
}

/// The run that gave a file a name as [`hidden`] makes them, by its number; none for any other name.
fn run_of(path: &Path) -> Option<u32> {
    let name = path.file_name()?.to_str()?.strip_prefix('.')?;
    let (rest, ending) = name.rsplit_once('.')?;
    let (_, run) = rest.rsplit_once('.')?;
    matches!(ending, "pitchline-part" | "pitchline-old").then(|| run.parse().ok())?
}

/// Takes away what killed runs have left in a folder: hidden files of every run that holds none of them locked.
fn sweep(folder: &Path) {
    let here = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let Ok(entries) = fs::read_dir(here) else { return };
    let files = entries.filter_map(|entry| Some(entry.ok()?.path()));
    let hidden: Vec<(u32, PathBuf)> = files.filter_map(|path| Some((run_of(&path)?, path))).collect();
    let held =
        |path: &Path| matches!(File::open(path).map(|f| f.try_lock()), Ok(Err(TryLockError::WouldBlock)));
    let alive: BTreeSet<u32> = hidden.iter().filter(|(_, path)| held(path)).map(|(run, _)| *run).collect();
    for (_, path) in hidden.iter().filter(|(run, _)| !alive.contains(run)) {
        // One that cannot be taken away does no harm.
        let _ = fs::remove_file(path);
    }
}

/// The folders that hold these files, each once.
fn folders_of(paths: &[PathBuf]) -> BTreeSet<&Path> {
    paths.iter().filter_map(|path| path.parent()).collect()
}

/// Refuses a folder in which writing one of `names`, or taking it away, would cost an input: a file, or a folder
/// of pictures.
pub fn spare(out: &Path, names: &[&str], inputs: &[PathBuf]) -> Result<(), Failure> {
    let Ok(out_itself) = out.canonicalize() else { return Ok(()) };
    for name in names {
        let path = out_itself.join(name);
        let costs = |input: &PathBuf| {
            let itself = input.canonicalize().ok();
            let in_folder = itself.as_ref() == Some(&out_itself) && path.is_file();
            in_folder || itself.as_ref() == Some(&path) || place(input).as_ref() == Some(&path)
        };
        if inputs.iter().any(costs) {
            return Err(Failure::OverInput { input: out.join(name) });
        }
    }
    Ok(())
}

/// Where a file itself lies, even if it is a link to another.
fn place(file: &Path) -> Option<PathBuf> {
    let folder = file.parent()?;
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    Some(folder.canonicalize().ok()?.join(file.file_name()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let entries = fs::read_dir(folder).unwrap();
        let mut names: Vec<String> =
            entries.map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect();
        names.sort();
        names
    }

    fn two() -> [NamedFile; 2] {
        ["a", "b"].map(|name| (name.to_owned(), b"new".to_vec()))
    }

    /// A folder that appears under a file's name after the files were staged: its rename fails.
    #[test]
    fn what_was_renamed_is_put_back_if_a_later_rename_fails() {
        let folder = tempfile::tempdir().unwrap();
        for (name, was) in [("b", "earlier"), ("stale", "older")] {
            fs::write(folder.path().join(name), was).unwrap();
        }
        let staged = Staged::new(folder.path(), &two()).unwrap();
        fs::create_dir_all(folder.path().join("a/in the way")).unwrap();
        assert!(staged.commit(&["stale".to_owned()]).is_err());
        assert_eq!(names(folder.path()), ["a", "b", "stale"]);
        assert_eq!(fs::read_to_string(folder.path().join("b")).unwrap(), "earlier");
        assert_eq!(fs::read_to_string(folder.path().join("stale")).unwrap(), "older");
        assert!(folder.path().join("a/in the way").is_dir());
    }

    #[test]
    fn what_was_not_there_is_taken_back_if_a_later_rename_fails() {
        let folder = tempfile::tempdir().unwrap();
        let staged = Staged::new(folder.path(), &two()).unwrap();
        fs::create_dir_all(folder.path().join("a/in the way")).unwrap();
        assert!(staged.commit(&[]).is_err());
        assert_eq!(names(folder.path()), ["a"]);
    }

    #[test]
    fn nothing_is_left_of_what_was_replaced() {
        let folder = tempfile::tempdir().unwrap();
        for name in ["a", "stale"] {
            fs::write(folder.path().join(name), "earlier").unwrap();
        }
        // What a killed run of the same number would have left.
        fs::write(hidden(&folder.path().join("a"), "part"), "half").unwrap();
        Staged::new(folder.path(), &two()).unwrap().commit(&["stale".to_owned()]).unwrap();
        assert_eq!(names(folder.path()), ["a", "b"]);
        assert_eq!(fs::read_to_string(folder.path().join("a")).unwrap(), "new");
    }

    /// A file of another run is left alone while that run lives, and so is any name that is not one of ours.
    #[test]
    fn leftovers_of_killed_runs_are_taken_away_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let path = |name: &str| folder.path().join(name);
        let not_ours = [".a.7.part", ".a.pitchline-part", ".b.7.pitchline-old.txt", "a.7.pitchline-part"];
        let living = [".b.8.pitchline-old", ".b.8.pitchline-part"];
        let left = [".a.7.pitchline-part", ".x.7.pitchline-old"];
        for name in left.iter().chain(&living).chain(&not_ours) {
            fs::write(path(name), "half").unwrap();
        }
        let other_run = File::open(path(living[1])).unwrap();
        other_run.lock().unwrap();
        Staged::new(folder.path(), &two()).unwrap().commit(&[]).unwrap();
        let mut kept = [&not_ours[..], &living, &["a", "b"]].concat();
        kept.sort_unstable();
        assert_eq!(names(folder.path()), kept);
    }

    #[test]
    fn folders_inside_are_written_and_swept_too() {
        let folder = tempfile::tempdir().unwrap();
        fs::create_dir(folder.path().join("in")).unwrap();
        fs::write(folder.path().join("in/.a.7.pitchline-part"), "half").unwrap();
        let files = [("in/a".to_owned(), b"new".to_vec()), ("deep/er/b".to_owned(), b"new".to_vec())];
        Staged::new(folder.path(), &files).unwrap().commit(&[]).unwrap();
        assert_eq!(names(&folder.path().join("in")), ["a"]);
        assert_eq!(names(&folder.path().join("deep/er")), ["b"]);
    }
}
