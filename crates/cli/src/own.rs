//! Which files of a folder the program wrote: only these may it replace or take away.

use crate::failure::Failure;
use crate::folder::NamedFile;
use crate::inputs;
use crate::read;
use imaging::door::Limits;
use report::{FACE_PICTURE, map};
use serde_json::Value;
use std::path::Path;

/// The documents that a command writes under names of its own.
const DOCUMENTS: [&str; 4] = ["face.json", "compare.json", "mated.json", "study.json"];
/// Most bytes of a document that is looked at.
const MOST: u64 = 32 << 20;

/// Refuses to write where a file of that name is another's.
pub fn spare_strangers(out: &Path, files: &[NamedFile]) -> Result<(), Failure> {
    let stranger = files.iter().find(|(name, _)| out.join(name).is_file() && !is_own(out, name));
    stranger.map_or(Ok(()), |(name, _)| Err(Failure::OverStranger { path: out.join(name) }))
}

/// Whether the file of that name shows itself to be the program's own.
pub fn is_own(out: &Path, name: &str) -> bool {
    let path = out.join(name);
    match name {
        FACE_PICTURE => is_composed(out) || is_drawn(&path),
        _ if name.ends_with(".json") => is_document(&path),
        // A map belongs to a document; without one and without its mark it is the user's own.
        _ => is_drawn(&path) || DOCUMENTS.into_iter().any(|document| is_document(&out.join(document))),
    }
}

/// Whether a picture bears the mark of this program.
fn is_drawn(path: &Path) -> bool {
    inputs::bytes(path, &Limits::default()).is_ok_and(|bytes| map::is_own(&bytes))
}

/// Whether a file says of itself that it is a document of this program.
fn is_document(path: &Path) -> bool {
    if !path.is_file() {
        return false;
    }
    let too_long = || crate::failure::Failure::LongFile { path: path.to_owned(), mib: MOST >> 20 };
    let document = read::bytes(path, MOST, too_long).ok();
    let document: Option<Value> = document.and_then(|bytes| serde_json::from_slice(&bytes).ok());
    document.is_some_and(|document| {
        document["schema"].as_str().is_some_and(|schema| schema.starts_with("pitchline."))
            && document["tool"]["name"] == "pitchline"
    })
}

/// Whether the folder holds the composed picture that its `face.json` names by hash. Any other file of that name is the
/// user's own.
fn is_composed(out: &Path) -> bool {
    let path = out.join(FACE_PICTURE);
    if !path.is_file() {
        return false;
    }
    let record = read::record(&out.join("face.json")).ok();
    let named = record.and_then(|(record, _)| record.stitch?.picture_sha256);
    let found = inputs::bytes(&path, &Limits::default()).ok().map(|bytes| inputs::hash(&bytes));
    named.is_some() && named == found
}
