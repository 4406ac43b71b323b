//! From what was named on the command line to pictures in memory, each with the hash of its file.

use crate::failure::Failure;
use crate::read;
use imaging::Frame;
use imaging::door::{self, DoorError, Format, Limits};
use rayon::prelude::*;
use report::SourceInfo;
use sha2::{Digest, Sha256};
use std::fs::{self, File};
use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

/// A picture with what is told about its file.
pub struct Source {
    /// The file.
    pub path: PathBuf,
    /// The picture.
    pub frame: Frame,
    /// Name, hash and size.
    pub info: SourceInfo,
}

/// The picture files that `inputs` name, several files or those of one folder, in order of name; numbers in
/// names count as numbers, so that 2 comes before 10.
pub fn files(inputs: &[PathBuf]) -> Result<Vec<PathBuf>, Failure> {
    let mut found = match inputs {
        [folder] if folder.is_dir() => match pictures_in(folder)? {
            none if none.is_empty() => return Err(Failure::NoPictures { path: folder.clone() }),
            found => found,
        },
        _ => match inputs.iter().find(|p| p.is_dir()) {
            Some(folder) => return Err(Failure::FolderAmongFiles { path: folder.clone() }),
            None => inputs.to_vec(),
        },
    };
    in_order(&mut found);
    Ok(found)
}

fn in_order(paths: &mut [PathBuf]) {
    paths.sort_by_cached_key(|path| (natural(path), path.clone()));
}

/// A name cut into text and numbers, for sorting; leading zeros do not count.
fn natural(path: &Path) -> Vec<(String, usize, String)> {
    let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let mut parts = Vec::new();
    let mut rest = name.as_str();
    while !rest.is_empty() {
        let (text, tail) = rest.split_at(rest.find(|c: char| c.is_ascii_digit()).unwrap_or(rest.len()));
        let end = tail.find(|c: char| !c.is_ascii_digit()).unwrap_or(tail.len());
        let digits = tail[..end].trim_start_matches('0');
        parts.push((text.to_owned(), digits.len(), digits.to_owned()));
        rest = &tail[end..];
    }
    parts
}

/// The folders in a folder, in order of name.
pub fn folders_in(folder: &Path) -> Result<Vec<PathBuf>, Failure> {
    let mut found = entries(folder)?;
    found.retain(|path| path.is_dir());
    in_order(&mut found);
    Ok(found)
}

/// The files of a folder whose names end in that, whatever the case, in order of name.
pub fn files_in(folder: &Path, ending: &str) -> Result<Vec<PathBuf>, Failure> {
    let mut found = entries(folder)?;
    found.retain(|path| path.is_file() && path.extension().is_some_and(|e| e.eq_ignore_ascii_case(ending)));
    in_order(&mut found);
    Ok(found)
}

fn entries(folder: &Path) -> Result<Vec<PathBuf>, Failure> {
    let unread = |e: std::io::Error| Failure::read(folder, &e);
    let listed = fs::read_dir(folder).map_err(unread)?;
    listed.map(|entry| Ok(entry.map_err(unread)?.path())).collect()
}

/// The files of a folder that begin like a picture, in order of name; anything else in it is passed over, and so are
/// hidden files: what a killed run has left is no picture of the user's.
pub fn pictures_in(folder: &Path) -> Result<Vec<PathBuf>, Failure> {
    chosen(folder, begins_like_a_picture)
}

/// The same, with files that are only named like a picture: a damaged one is to be told, not passed over.
pub fn pictures_or_named_so(folder: &Path) -> Result<Vec<PathBuf>, Failure> {
    chosen(folder, |path| Ok(is_named_so(path) || begins_like_a_picture(path)?))
}

fn chosen(folder: &Path, wanted: impl Fn(&Path) -> Result<bool, Failure>) -> Result<Vec<PathBuf>, Failure> {
    let hidden = |path: &Path| path.file_name().is_some_and(|n| n.as_encoded_bytes().starts_with(b"."));
    let mut found = Vec::new();
    for path in entries(folder)? {
        if !hidden(&path) && path.is_file() && wanted(&path)? {
            found.push(path);
        }
    }
    in_order(&mut found);
    Ok(found)
}

fn is_named_so(path: &Path) -> bool {
    const ENDINGS: [&str; 7] = ["png", "jpg", "jpeg", "tif", "tiff", "bmp", "webp"];
    let ending = path.extension().unwrap_or_default();
    ENDINGS.iter().any(|known| ending.eq_ignore_ascii_case(known))
}

fn begins_like_a_picture(path: &Path) -> Result<bool, Failure> {
    let mut head = Vec::with_capacity(door::HEAD_BYTES);
    let file = File::open(path).map_err(|e| Failure::read(path, &e))?;
    file.take(door::HEAD_BYTES as u64).read_to_end(&mut head).map_err(|e| Failure::read(path, &e))?;
    Ok(Format::of(&head).is_ok())
}

/// Reads and decodes every file; the first that cannot be, or that holds the same as another, is the failure.
pub fn sources(files: &[PathBuf]) -> Result<Vec<Source>, Failure> {
    all_different(within(MOST_PIXELS, files)?)
}

/// Refuses a picture that is given twice.
pub fn all_different(sources: Vec<Source>) -> Result<Vec<Source>, Failure> {
    for (i, again) in sources.iter().enumerate() {
        if let Some(first) = sources[..i].iter().find(|s| s.info.sha256 == again.info.sha256) {
            return Err(Failure::Twice { path: first.path.clone(), again: again.path.clone() });
        }
    }
    Ok(sources)
}

/// Most pixels of all pictures of a face together: forty of 25 million.
const MOST_PIXELS: u64 = 1_000_000_000;

/// Reads and decodes every file, if they hold at most so many pixels together.
fn within(most: u64, files: &[PathBuf]) -> Result<Vec<Source>, Failure> {
    let pixels = AtomicU64::new(0);
    let too_many = || Failure::TooManyPixels { millions: most / 1_000_000 };
    let one = |path: &PathBuf| {
        // Looked at before as well, so that no more is decoded once it is too much.
        let before = pixels.load(Ordering::Relaxed);
        let read = if before > most { Err(too_many()) } else { source(path) }?;
        let own = u64::from(read.info.width_px) * u64::from(read.info.height_px);
        pixels.fetch_add(own, Ordering::Relaxed);
        Ok(read)
    };
    let read: Vec<Result<Source, Failure>> = files.par_iter().map(one).collect();
    // Which file came too late depends on the threads; that they are too many does not.
    match pixels.into_inner() > most {
        true => Err(too_many()),
        false => read.into_iter().collect(),
    }
}

/// Reads and decodes one file.
pub fn source(path: &Path) -> Result<Source, Failure> {
    let limits = Limits::default();
    Source::decoded(path, &bytes(path, &limits)?, &limits)
}

impl Source {
    /// The picture in `bytes`, the content of the file `path`.
    pub fn decoded(path: &Path, bytes: &[u8], limits: &Limits) -> Result<Source, Failure> {
        let (sha256, frame) = rayon::join(|| hash(bytes), || door::open(bytes, limits));
        let frame = frame.map_err(|why| Failure::Picture { path: path.to_owned(), why })?;
        let info = SourceInfo {
            file: path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned(),
            sha256,
            width_px: frame.width() as u32,
            height_px: frame.height() as u32,
        };
        Ok(Source { path: path.to_owned(), frame, info })
    }
}

/// The bytes of a picture file, never more than allowed.
pub fn bytes(path: &Path, limits: &Limits) -> Result<Vec<u8>, Failure> {
    let why = DoorError::FileTooLarge { limit_mib: limits.file_bytes >> 20 };
    read::bytes(path, limits.file_bytes, || Failure::Picture { path: path.to_owned(), why: why.clone() })
}

/// SHA-256 (FIPS 180-4) in lower-case hexadecimal.
pub fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_in_names_count_as_numbers() {
        let order = ["f1.png", "f02.png", "f2b.png", "f10.png", "f010b.png", "g1.png"];
        let mut names: Vec<PathBuf> = order.iter().rev().map(PathBuf::from).collect();
        names = files(&names).unwrap();
        assert_eq!(names, order.map(PathBuf::from));
    }

    /// However small each of them is.
    #[test]
    fn pictures_are_limited_together() {
        let folder = tempfile::tempdir().unwrap();
        let files: Vec<PathBuf> = (0..8u8)
            .map(|n| {
                let frame = Frame::new(10, 10, imaging::Samples::Eight(vec![n; 100])).unwrap();
                let path = folder.path().join(format!("{n}.png"));
                fs::write(&path, crate::picture::encoded(&frame).unwrap()).unwrap();
                path
            })
            .collect();
        assert_eq!(within(800, &files).map(|s| s.len()).ok(), Some(8));
        assert!(matches!(within(799, &files), Err(Failure::TooManyPixels { .. })));
    }

    /// FIPS 180-2, appendix B.1.
    #[test]
    fn the_hash_is_the_standards_own_example() {
        assert_eq!(hash(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }
}
