//! From what was named on the command line to a list of looks: which pictures show which face, taken when and by whom.
//! What cannot be used keeps its place in the list, with its reason.

use super::args::{Inputs, Shard};
use super::pattern::Pattern;
use super::table::{self, Refused};
use crate::failure::Failure;
use crate::inputs;
use book::{Face, Moment};
use std::path::{Path, PathBuf};

/// One look to be graded.
pub struct Look {
    /// The face.
    pub face: Face,
    /// Its pictures in order of step; at least one.
    pub files: Vec<PathBuf>,
    /// When, if it was told.
    pub when: Option<Moment>,
    /// By whom, if it was told.
    pub who: Option<String>,
}

/// Folders inside folders that are looked into; links are not followed.
const DEEPEST: usize = 32;

/// Every look that the arguments name, in order.
pub fn looks(args: &Inputs, shard: Option<Shard>) -> Result<Vec<Result<Look, Refused>>, Failure> {
    std::fs::metadata(&args.input).map_err(|why| Failure::read(&args.input, &why))?;
    let looks = match (&args.face, &args.table, &args.pattern) {
        (Some(face), ..) => vec![Ok(look(face.clone(), inputs::files(std::slice::from_ref(&args.input))?))],
        (_, Some(table), _) => tabled(&args.input, table)?,
        (.., Some(pattern)) => patterned(&args.input, &Pattern::parse(pattern)?)?,
        _ => named(&args.input)?,
    };
    if looks.is_empty() {
        return Err(Failure::NoPictures { path: args.input.clone() });
    }
    let ours = |n: usize| shard.is_none_or(|shard| n % shard.of == shard.index);
    let told = |look: Look| Look {
        when: look.when.or_else(|| args.told.when.clone()),
        who: look.who.or_else(|| args.told.who.clone()),
        ..look
    };
    let mine = looks.into_iter().enumerate().filter(|(n, _)| ours(*n));
    Ok(mine.map(|(_, look)| look.map(told)).collect())
}

fn look(face: Face, files: Vec<PathBuf>) -> Look {
    Look { face, files, when: None, who: None }
}

/// Each picture in the folder itself is a face of that name, each folder below with pictures in it is one too.
fn named(input: &Path) -> Result<Vec<Result<Look, Refused>>, Failure> {
    if !input.is_dir() {
        return Ok(vec![called(input, &stem(input), vec![input.to_owned()])]);
    }
    let mut looks = Vec::new();
    for (folder, files) in tree(input)? {
        if folder == input {
            looks.extend(files.into_iter().map(|file| called(&file, &stem(&file), vec![file.clone()])));
        } else {
            looks.push(called(&folder, &below(input, &folder), files));
        }
    }
    Ok(looks)
}

fn called(path: &Path, name: &str, files: Vec<PathBuf>) -> Result<Look, Refused> {
    match name.parse() {
        Ok(face) => Ok(look(face, files)),
        Err(why) => Err((path.display().to_string(), format!("{why}"))),
    }
}

/// Each picture is called by its path; those that a `{step}` tells apart are one look.
fn patterned(input: &Path, pattern: &Pattern) -> Result<Vec<Result<Look, Refused>>, Failure> {
    let mut looks: Vec<Result<Look, Refused>> = Vec::new();
    let mut last = None;
    for file in tree(input)?.into_iter().flat_map(|(_, files)| files) {
        let refused = |why: &str| Err((file.display().to_string(), why.to_owned()));
        let Some(read) = pattern.read(&below(input, &file.with_extension(""))) else {
            looks.push(refused("its path does not fit the pattern"));
            continue;
        };
        let (key, same) = (Some((read.connector.clone(), read.end, read.any.clone())), pattern.has_steps());
        match (looks.last_mut(), read.face()) {
            (Some(Ok(look)), Ok(_)) if same && last == key => look.files.push(file),
            (_, Ok(face)) => looks.push(Ok(look(face, vec![file]))),
            (_, Err(why)) => looks.push(refused(&why.to_string())),
        }
        last = key;
    }
    Ok(looks)
}

/// Each line of a table is a look.
fn tabled(input: &Path, table: &Path) -> Result<Vec<Result<Look, Refused>>, Failure> {
    let one = |row: Result<table::Row, Refused>| {
        let row = row?;
        let path = input.join(&row.file);
        let files = inputs::files(&[path]).map_err(|why| (row.file.clone(), why.to_string()))?;
        Ok(Look { face: row.face, files, when: row.when, who: row.who })
    };
    Ok(table::rows(table)?.into_iter().map(one).collect())
}

/// The folders that hold pictures, each with them, in order of name: a folder before those in it.
fn tree(input: &Path) -> Result<Vec<(PathBuf, Vec<PathBuf>)>, Failure> {
    let mut found = Vec::new();
    walk(input, DEEPEST, &mut found)?;
    Ok(found)
}

fn walk(folder: &Path, deeper: usize, found: &mut Vec<(PathBuf, Vec<PathBuf>)>) -> Result<(), Failure> {
    let pictures = inputs::pictures_in(folder)?;
    if !pictures.is_empty() {
        found.push((folder.to_owned(), pictures));
    }
    if deeper > 0 {
        for inner in inputs::folders_in(folder)?.iter().filter(|inner| !inner.is_symlink()) {
            walk(inner, deeper - 1, found)?;
        }
    }
    Ok(())
}

fn stem(file: &Path) -> String {
    file.file_stem().unwrap_or_default().to_string_lossy().into_owned()
}

/// A path below another, its parts divided by `/` on every system.
fn below(folder: &Path, path: &Path) -> String {
    let path = path.strip_prefix(folder).unwrap_or(path);
    let parts: Vec<_> = path.iter().map(|part| part.to_string_lossy()).collect();
    parts.join("/")
}
