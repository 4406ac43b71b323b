//! What an earlier run of the program left in a folder and what would tell of another face beside a new document: maps,
//! the picture that a new `face.json` no longer names, the steps of another series. Only a file that shows itself to be
//! the program's own is stale, and never one that is an input of this run. The document of another command stays: it
//! names its pictures by their hashes, and may be the only one of that look.

use crate::folder::NamedFile;
use crate::inputs;
use crate::read;
use imaging::door::Limits;
use report::FACE_PICTURE;
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};

/// The documents that a command writes under names of its own.
const DOCUMENTS: [&str; 3] = ["face.json", "compare.json", "mated.json"];
/// Most bytes of a document that is looked at.
const MOST: u64 = 32 << 20;

/// The names of stale files in `out`, where `written` are to be written from `inputs`.
pub fn stale(out: &Path, written: &[NamedFile], inputs: &[PathBuf]) -> Vec<String> {
    let itself = |path: &Path| path.canonicalize().ok();
    let inputs: Vec<PathBuf> = inputs.iter().filter_map(|path| itself(path)).collect();
    let writes = |name: &str| written.iter().any(|(new, _)| new == name);
    // Only what this run leaves in place is looked into.
    let left = |name: &String| !writes(name) && out.join(name).is_file();
    let maps = ["map.svg", "map.png"].map(str::to_owned);
    let steps = steps(out).into_iter().filter(|_| writes("compare.json"));
    let composed = writes("face.json").then(|| FACE_PICTURE.to_owned());
    let is_input = |name: &String| {
        let itself = itself(&out.join(name));
        let folder = itself.as_ref().and_then(|path| path.parent());
        inputs.iter().any(|input| Some(input) == itself.as_ref() || Some(input.as_path()) == folder)
    };
    let is_own = |name: &String| match name.as_str() {
        // A map belongs to a document; without one it is the user's own.
        "map.svg" | "map.png" => DOCUMENTS.into_iter().any(|document| is_document(&out.join(document))),
        FACE_PICTURE => is_composed(out),
        _ => is_document(&out.join(name)),
    };
    let all = maps.into_iter().chain(steps).chain(composed);
    all.filter(|name| left(name) && !is_input(name) && is_own(name)).collect()
}

/// The steps of a series that lie in a folder, by name.
fn steps(out: &Path) -> Vec<String> {
    let entries = fs::read_dir(out).into_iter().flatten().flatten();
    let names = entries.filter_map(|entry| entry.file_name().into_string().ok());
    let number = |name: &String| {
        let number = name.strip_prefix("step-").and_then(|rest| rest.strip_suffix(".json"));
        number.is_some_and(|n| !n.is_empty() && n.bytes().all(|b| b.is_ascii_digit()))
    };
    let mut steps: Vec<String> = names.filter(number).collect();
    steps.sort();
    steps
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
