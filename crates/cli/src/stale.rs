//! What an earlier run of the program left in a folder and what would tell of another face beside a new document: maps,
//! the picture that a new `face.json` no longer names, the steps of another series. Only a file that shows itself to be
//! the program's own is stale, and never one that is an input of this run. The document of another command stays: it
//! names its pictures by their hashes, and may be the only one of that look.

use crate::folder::NamedFile;
use crate::own::is_own;
use report::FACE_PICTURE;
use std::fs;
use std::path::{Path, PathBuf};

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
    let all = maps.into_iter().chain(steps).chain(composed);
    all.filter(|name| left(name) && !is_input(name) && is_own(&out.join(name))).collect()
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
