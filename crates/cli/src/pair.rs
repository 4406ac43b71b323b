//! The two faces of `compare` and `mated`: each a picture to be graded, or a face.json written earlier.

use crate::again::{self, Lost, LostFile};
use crate::crops;
use crate::failure::Failure;
use crate::folder::NamedFile;
use crate::inputs;
use crate::pipeline::{self, Job, Looked};
use crate::progress::Progress;
use crate::read;
use grade::Acceptance;
use imaging::Frame;
use rayon::prelude::*;
use report::pairs::PairMap;
use report::{FaceRecord, SourceInfo};
use std::path::Path;

/// What the pictures beside a face.json are wanted for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pictures {
    /// They are drawn, and must be there.
    Drawn,
    /// They tell more if they are there.
    Helpful,
    /// Nothing.
    Unused,
}

/// The face that an argument names; with the pictures of a face.json where they are wanted.
pub fn face(input: &Path, job: &Job, wanted: Pictures, progress: &Progress) -> Result<Looked, Failure> {
    if !is_record(input) {
        progress.step("reading");
        let sources = inputs::sources(&inputs::files(&[input.to_owned()])?)?;
        return pipeline::look(sources, job, progress);
    }
    progress.step("reading");
    let record = record(input, job)?;
    let frames = match wanted {
        Pictures::Drawn => beside(input, &record.sources)?,
        Pictures::Helpful => beside(input, &record.sources).unwrap_or_default(),
        Pictures::Unused => Vec::new(),
    };
    Ok(Looked { record, frames, whole: None })
}

/// Refuses two faces that were seen in the same picture, be it the same file or the same samples in another: no two
/// exposures have the same noise.
pub fn apart([(one, a), (other, b)]: [(&Path, &Looked); 2]) -> Result<(), Failure> {
    let same = |i: usize, j: usize| {
        let is_one_file = a.record.sources[i].sha256 == b.record.sources[j].sha256;
        is_one_file || a.frames.get(i).is_some_and(|frame| b.frames.get(j) == Some(frame))
    };
    let file = |input: &Path, source: &SourceInfo| match input.is_dir() {
        true => input.join(&source.file).as_path().into(),
        false => input.into(),
    };
    let sources = |face: &Looked| 0..face.record.sources.len();
    match sources(a).find_map(|i| Some((i, sources(b).find(|j| same(i, *j))?))) {
        Some((i, j)) => Err(Failure::Twice {
            first: file(one, &a.record.sources[i]),
            again: file(other, &b.record.sources[j]),
        }),
        None => Ok(()),
    }
}

/// The map of two faces, or of one at several looks, as files.
pub fn drawn(map: &PairMap, faces: &[&Looked]) -> Result<Vec<NamedFile>, Failure> {
    let crops =
        |face: &&Looked| crops::fibres(&face.frames, &face.record, &report::pairs::windows(&face.record));
    let pictures: Vec<_> = faces.par_iter().map(crops).collect();
    let pictures: Vec<&[_]> = pictures.iter().map(Vec::as_slice).collect();
    pipeline::drawn(&report::pairs::compose(map, &pictures))
}

/// Whether an argument names a face.json: by its name, or by its first sign, which no picture begins with.
fn is_record(input: &Path) -> bool {
    let named = input.extension().is_some_and(|e| e.eq_ignore_ascii_case("json"));
    named || begins_like_a_record(input).unwrap_or(false)
}

fn begins_like_a_record(input: &Path) -> std::io::Result<bool> {
    use std::io::Read;
    // Only a file can be read twice; a pipe is taken for a picture.
    if !std::fs::metadata(input)?.is_file() {
        return Ok(false);
    }
    let mut first = [0];
    std::fs::File::open(input)?.read_exact(&mut first)?;
    Ok(first == *b"{")
}

/// The record in a file, if it was written under the options that are stated now.
fn record(path: &Path, job: &Job) -> Result<FaceRecord, Failure> {
    let (record, _) = read::record(path)?;
    let other = |option, written: &str, stated: &str| Failure::OtherOption {
        path: path.to_owned(),
        option,
        written: written.to_owned(),
        stated: stated.to_owned(),
    };
    let (layout, criteria) = (&job.layout, &job.criteria.criteria);
    let places = record.positions.iter().map(|p| p.position);
    if record.layout != layout.id {
        return Err(other("layout", &record.layout, &layout.id));
    }
    if !places.eq(layout.places.iter().map(|p| p.position)) {
        let (path, layout) = (path.to_owned(), layout.id.clone());
        return Err(Failure::OtherPositions { path, layout });
    }
    if record.criteria.id != criteria.id {
        return Err(other("criteria", &record.criteria.id, &criteria.id));
    }
    let stated = match job.acceptance {
        Acceptance::Simple => None,
        Acceptance::Guarded(risk) => Some(risk.get()),
    };
    if record.guard_risk != stated {
        let word = |risk: Option<f64>| risk.map_or_else(|| "left out".to_owned(), |r| r.to_string());
        return Err(other("guard", &word(record.guard_risk), &word(stated)));
    }
    Ok(record)
}

/// A record's pictures, which lie beside it.
fn beside(record: &Path, sources: &[SourceInfo]) -> Result<Vec<Frame>, Failure> {
    let find = |source: &SourceInfo| source.plain_name().map(|name| record.with_file_name(name));
    let failure = |(source, lost): LostFile| {
        let (path, file) = (record.to_owned(), source.file.clone());
        match lost {
            Lost::Gone => Failure::PictureGone { path, file },
            Lost::Changed => Failure::PictureChanged { path, file },
            Lost::Unread(why) => why,
        }
    };
    let files: Result<Vec<_>, _> = again::pictures(sources, find).into_iter().collect();
    Ok(files.map_err(failure)?.concat())
}
