//! The end of a command that writes a document and what belongs to it.

use crate::args::Print;
use crate::failure::Failure;
use crate::folder::{NamedFile, Staged};
use crate::output;
use crate::own::spare_strangers;
use crate::progress::Progress;
use std::path::Path;

/// Puts the files beside their names, prints, then gives them their names and takes the `stale` away: if any step
/// fails, nothing changes in the folder. The first file is the document; `text` tells it to people, given the paths
/// of all files. A file of another that bears one of the names is not replaced.
pub fn finish(
    out: &Path,
    files: &[NamedFile],
    stale: &[String],
    print: &Print,
    progress: Progress,
    text: impl FnOnce(&[String]) -> String,
) -> Result<(), Failure> {
    progress.step("writing");
    spare_strangers(out, files)?;
    let staged = Staged::new(out, files)?;
    drop(progress);
    if print.json {
        let document = files.first().map(|(_, bytes)| String::from_utf8_lossy(bytes));
        output::print(&document.unwrap_or_default())?;
    } else if !print.quiet {
        let written: Vec<String> = files.iter().map(|(name, _)| output::word(&out.join(name))).collect();
        output::print(&text(&written))?;
    }
    staged.commit(stale)
}
