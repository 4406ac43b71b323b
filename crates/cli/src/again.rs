//! The pictures of a record, read again from where they lie now.

use crate::failure::Failure;
use crate::inputs::{self, Source};
use imaging::Frame;
use imaging::door::Limits;
use report::SourceInfo;
use std::path::{Path, PathBuf};

/// Why the pictures of a file cannot be shown.
pub enum Lost {
    /// No file where it should lie.
    Gone,
    /// A file of other bytes.
    Changed,
    /// A file that cannot be read.
    Unread(Failure),
}

/// A file that is lost, by its first picture.
pub type LostFile<'s> = (&'s SourceInfo, Lost);

/// The pictures of each file of a record, in the order of its sources; `find` tells where the file lies.
pub fn pictures<'s>(
    sources: &'s [SourceInfo],
    find: impl Fn(&SourceInfo) -> Option<PathBuf>,
) -> Vec<Result<Vec<Frame>, LostFile<'s>>> {
    let file = |pages: &'s [SourceInfo]| {
        let first = pages.first()?;
        let path = find(first).filter(|path| path.is_file());
        let found = path.ok_or(Lost::Gone).and_then(|path| read(&path, &first.sha256));
        Some(found.and_then(|found| chosen(pages, found)).map_err(|lost| (first, lost)))
    };
    SourceInfo::by_file(sources).filter_map(file).collect()
}

/// The pages of a file. One that cannot be read is a changed one if its bytes are not those of the record.
fn read(path: &Path, sha256: &str) -> Result<Vec<Source>, Lost> {
    inputs::pages(path).map_err(|why| match inputs::bytes(path, &Limits::default()) {
        Ok(bytes) if inputs::hash(&bytes) != sha256 => Lost::Changed,
        _ => Lost::Unread(why),
    })
}

fn chosen(pages: &[SourceInfo], mut found: Vec<Source>) -> Result<Vec<Frame>, Lost> {
    let mut frame = |page: &SourceInfo| {
        let at = found.iter().position(|s| s.info.page == page.page && s.info.sha256 == page.sha256);
        at.map(|at| found.swap_remove(at).frame).ok_or(Lost::Changed)
    };
    pages.iter().map(&mut frame).collect()
}
