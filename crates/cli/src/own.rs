//! Which files of a folder the program wrote: only these may it replace or take away.

use crate::failure::Failure;
use crate::folder::NamedFile;
use crate::inputs;
use crate::read;
use imaging::door::Limits;
use rayon::iter::{IntoParallelRefIterator, ParallelIterator};
use report::{FACE_PICTURE, map};
use serde_json::Value;
use std::fs;
use std::path::Path;

/// Most bytes of a document that is looked at.
const MOST: u64 = 32 << 20;

/// Refuses to write where a file of that name is another's, unless it holds what is to be written.
pub fn spare_strangers(out: &Path, files: &[NamedFile]) -> Result<(), Failure> {
    let is_strange = |(name, new): &&NamedFile| {
        let path = out.join(name);
        path.is_file() && !is_own(&path) && !holds(&path, new)
    };
    let stranger = files.par_iter().find_first(is_strange);
    stranger.map_or(Ok(()), |(name, _)| Err(Failure::OverStranger { path: out.join(name) }))
}

/// Whether a file shows itself to be the program's own.
pub fn is_own(path: &Path) -> bool {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    match name.as_ref() {
        FACE_PICTURE => is_composed(path) || is_drawn(path),
        _ if name.ends_with(".truth.json") => {
            document(path).is_some_and(|document| document["schema"] == synth::SCHEMA)
        }
        _ if name.ends_with(".json") => is_document(path),
        _ => is_drawn(path),
    }
}

/// Whether a file holds these bytes.
fn holds(path: &Path, bytes: &[u8]) -> bool {
    let as_long = path.metadata().is_ok_and(|about| about.len() == bytes.len() as u64);
    as_long && fs::read(path).is_ok_and(|old| old == bytes)
}

/// Whether a picture bears the mark of this program.
fn is_drawn(path: &Path) -> bool {
    inputs::bytes(path, &Limits::default()).is_ok_and(|bytes| map::is_own(&bytes))
}

/// Whether a file says of itself that it is a document of this program.
fn is_document(path: &Path) -> bool {
    document(path).is_some_and(|document| {
        document["schema"].as_str().is_some_and(|schema| schema.starts_with("pitchline."))
            && document["tool"]["name"] == "pitchline"
    })
}

fn document(path: &Path) -> Option<Value> {
    let too_long = || Failure::LongFile { path: path.to_owned(), mib: MOST >> 20 };
    let bytes = path.is_file().then(|| read::bytes(path, MOST, too_long).ok())?;
    serde_json::from_slice(&bytes?).ok()
}

/// Whether a file is the composed picture that the `face.json` beside it names by hash. Any other file of that name is
/// the user's own.
fn is_composed(path: &Path) -> bool {
    if !path.is_file() {
        return false;
    }
    let record = read::record(&path.with_file_name("face.json")).ok();
    let named = record.and_then(|(record, _)| record.stitch?.picture_sha256);
    let found = inputs::bytes(path, &Limits::default()).ok().map(|bytes| inputs::hash(&bytes));
    named.is_some() && named == found
}
