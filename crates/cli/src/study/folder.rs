//! A study of pictures in a folder: those that lie in it, each of a face of its own, and those in its sub-folders,
//! one sub-folder a face. `NAME.truth.json` beside `NAME.png` is the truth of that picture.

use super::{Done, Face, Picture, look, truth};
use crate::args::{Key, StudyArgs};
use crate::failure::Failure;
use crate::inputs;
use crate::profiles;
use crate::progress::Progress;
use crate::read;
use rayon::prelude::*;
use std::path::{Path, PathBuf};
use study::against::Counted;
use synth::Truth;
use terms::View;

/// Most bytes of a truth; that of a filthy face takes one or two million.
const MOST_TRUTH: u64 = 64 << 20;

/// Looks at every face of the folder, in order of name.
pub fn faces(folder: &Path, args: &StudyArgs, progress: &Progress) -> Result<Vec<Face>, Failure> {
    let (single, together) = listed(folder)?;
    let alone = single.into_iter().map(|path| vec![path]);
    let files: Vec<Vec<PathBuf>> = alone.chain(together).collect();
    let done = Done::new(progress, files.len());
    let looked: Vec<Result<Face, Failure>> = files
        .par_iter()
        .map(|files| {
            let face = face(files, args);
            done.one();
            face
        })
        .collect();
    looked.into_iter().collect()
}

/// The pictures of a folder, and those of each of its sub-folders.
fn listed(folder: &Path) -> Result<(Vec<PathBuf>, Vec<Vec<PathBuf>>), Failure> {
    let single = inputs::pictures_in(folder)?;
    let mut together = Vec::new();
    for inner in inputs::folders_in(folder)? {
        let pictures = inputs::pictures_in(&inner)?;
        if !pictures.is_empty() {
            together.push(pictures);
        }
    }
    let several = together.iter().any(|pictures| pictures.len() > 1);
    let known = single.iter().chain(together.iter().flatten()).any(|path| truth_path(path).is_file());
    match several || known {
        true => Ok((single, together)),
        false => Err(Failure::NothingToStudy { path: folder.to_owned() }),
    }
}

/// Where the truth of a picture would lie.
fn truth_path(picture: &Path) -> PathBuf {
    picture.with_extension("truth.json")
}

fn face(files: &[PathBuf], args: &StudyArgs) -> Result<Face, Failure> {
    let truths: Vec<Option<Truth>> = files.iter().map(|path| read_truth(path)).collect::<Result<_, _>>()?;
    let first = truths.iter().flatten().next();
    let named = |stated: &Option<String>, truth: Option<String>, option| {
        let name = stated.clone().or(truth);
        name.ok_or_else(|| Failure::NotStated { path: files[0].clone(), option })
    };
    let layout = profiles::layout(&named(&args.layout, first.map(|t| t.layout.clone()), "layout")?)?;
    let criteria =
        profiles::criteria(&named(&args.criteria, first.and_then(|t| t.criteria.clone()), "criteria")?)?;
    let stated = View { key: args.key.unwrap_or(Key::Up).into(), mirrored: args.mirrored };
    let mut pictures = Vec::new();
    for (path, known) in files.iter().zip(&truths) {
        let source = inputs::source(path)?;
        let view = known.as_ref().map_or(stated, truth::view);
        pictures.push(Picture {
            name: path.display().to_string(),
            truth: known.as_ref().map(|t| truth::true_face(t, &[])),
            seen: look(source.frame, &layout, view, &criteria),
        });
    }
    Ok(Face { criteria: criteria.criteria, counted: Counted::All, looks: vec![pictures] })
}

fn read_truth(picture: &Path) -> Result<Option<Truth>, Failure> {
    let path = truth_path(picture);
    if !path.is_file() {
        return Ok(None);
    }
    let too_large = || Failure::Truth { path: path.clone(), why: "it is over 64 MiB".to_owned() };
    let bytes = read::bytes(&path, MOST_TRUTH, too_large)?;
    let truth: Result<Truth, _> = serde_json::from_slice(&bytes);
    match truth {
        Ok(truth) if truth.schema == synth::SCHEMA => Ok(Some(truth)),
        Ok(truth) => Err(Failure::Truth { path, why: format!("its schema is {}", truth.schema) }),
        Err(why) => Err(Failure::Truth { path, why: why.to_string() }),
    }
}
