//! From what was named on the command line to pictures in memory, each with the hash of its file.

use crate::failure::Failure;
use crate::read;
use imaging::Frame;
use imaging::door::{self, DoorError, Format, Limits};
use rayon::prelude::*;
use report::{SourceInfo, map};
use sha2::{Digest, Sha256};
use std::fmt;
use std::fs::{self, File};
use std::io::Read;
use std::num::NonZeroU32;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

/// Where a picture comes from.
#[derive(Clone, Debug)]
pub struct Origin {
    /// The file.
    pub path: PathBuf,
    /// Its page, from 1, where the file has several.
    pub page: Option<NonZeroU32>,
}

impl From<&Path> for Origin {
    fn from(path: &Path) -> Origin {
        Origin { path: path.to_owned(), page: None }
    }
}

impl fmt::Display for Origin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.path.display())?;
        self.page.map_or(Ok(()), |page| write!(f, ", page {page}"))
    }
}

/// A picture with what is told about its file.
pub struct Source {
    /// Where it comes from.
    pub origin: Origin,
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
            none if none.is_empty() => return Err(no_pictures(folder)?),
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

/// Most folders that are named in place of one that holds no picture.
const NAMED: usize = 3;

/// A folder without a picture; those in it that hold some are named.
fn no_pictures(folder: &Path) -> Result<Failure, Failure> {
    let path = folder.to_owned();
    let holding =
        folders_in(folder)?.into_iter().filter(|inner| pictures_in(inner).is_ok_and(|p| !p.is_empty()));
    let names: Vec<String> = holding.take(NAMED).map(|inner| inner.display().to_string()).collect();
    Ok(match names.is_empty() {
        true => Failure::NoPictures { path },
        false => Failure::PicturesBelow(path, names.join(", ")),
    })
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

/// The pictures of a folder in order of name: the files that begin like one, and those only named like one, since a
/// damaged picture is to be told and not passed over. Anything else is passed over, and so are hidden files: what a
/// killed run has left is no picture of the user's, and neither is a map that was drawn beside one.
pub fn pictures_in(folder: &Path) -> Result<Vec<PathBuf>, Failure> {
    let hidden = |path: &Path| path.file_name().is_some_and(|n| n.as_encoded_bytes().starts_with(b"."));
    let mut found = Vec::new();
    for path in entries(folder)? {
        if hidden(&path) || !path.is_file() {
            continue;
        }
        let head = beginning(&path)?;
        if (is_named_so(&path) || Format::of(&head).is_ok()) && !map::is_map(&head) {
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

/// As many bytes as tell what a file is.
fn beginning(path: &Path) -> Result<Vec<u8>, Failure> {
    let most = door::HEAD_BYTES.max(map::BEGINNING);
    let mut head = Vec::with_capacity(most);
    let file = File::open(path).map_err(|e| Failure::read(path, &e))?;
    file.take(most as u64).read_to_end(&mut head).map_err(|e| Failure::read(path, &e))?;
    Ok(head)
}

/// Reads and decodes every picture of every file, each once; the first that cannot be is the failure, and so is one that
/// was given again and again.
pub fn sources(files: &[PathBuf]) -> Result<Vec<Source>, Failure> {
    let limits = Limits::default();
    let budget = Budget::new(MOST_PIXELS);
    let read = |path: &PathBuf| budget.left().and_then(|()| decoded(path, &bytes(path, &limits)?, &budget));
    budget.kept(files.par_iter().map(read).collect())
}

/// Decodes every picture of files whose bytes are known.
pub fn known_sources(files: &[(&Path, &[u8])]) -> Result<Vec<Source>, Failure> {
    let budget = Budget::new(MOST_PIXELS);
    budget.kept(files.par_iter().map(|(path, bytes)| decoded(path, bytes, &budget)).collect())
}

/// Most pixels of all pictures of a face together: forty of 25 million.
const MOST_PIXELS: u64 = 1_000_000_000;

/// The pixels that the pictures of a face may have together.
struct Budget {
    most: u64,
    taken: AtomicU64,
}

impl Budget {
    const fn new(most: u64) -> Budget {
        Budget { most, taken: AtomicU64::new(0) }
    }

    /// Fails once it is too much, so that no more is decoded.
    fn left(&self) -> Result<(), Failure> {
        match self.taken.load(Ordering::Relaxed) > self.most {
            true => Err(Failure::TooManyPixels { millions: self.most / 1_000_000 }),
            false => Ok(()),
        }
    }

    fn take(&self, frame: &Frame) {
        self.taken.fetch_add((frame.width() * frame.height()) as u64, Ordering::Relaxed);
    }

    /// The pictures, each once, if they are not too much.
    fn kept(&self, read: Vec<Result<Vec<Source>, Failure>>) -> Result<Vec<Source>, Failure> {
        // Which file came too late depends on the threads; that they are too many does not.
        self.left()?;
        let files: Vec<Vec<Source>> = read.into_iter().collect::<Result<_, _>>()?;
        once(files.into_iter().flatten().collect())
    }
}

/// Leaves out what a run holds twice, as a file or as a page: it says nothing new, and what its sensor saw by chance would
/// be taken for dirt on the optics. Where nothing else was given it is a mistake, and refused.
fn once(sources: Vec<Source>) -> Result<Vec<Source>, Failure> {
    let mut kept: Vec<Source> = Vec::with_capacity(sources.len());
    let mut twice = None;
    for again in sources {
        let same = |s: &&Source| {
            let one_file = s.info.sha256 == again.info.sha256;
            one_file && (s.info.page == again.info.page || s.frame == again.frame)
        };
        match kept.iter().find(same) {
            Some(first) => twice = twice.or(Some((first.origin.clone(), again.origin))),
            None => kept.push(again),
        }
    }
    match (twice, kept.len()) {
        (Some((first, again)), 1) => Err(Failure::Twice { first, again }),
        _ => Ok(kept),
    }
}

/// Decodes every picture of a file.
fn decoded(path: &Path, bytes: &[u8], budget: &Budget) -> Result<Vec<Source>, Failure> {
    if map::is_map(bytes) {
        return Err(Failure::OwnMap(path.to_owned()));
    }
    let pictures = door::pictures(bytes, &Limits::default());
    let pictures = pictures.map_err(|why| Failure::Picture { origin: path.into(), why })?;
    let several = pictures.len() > 1;
    let open = |(i, picture): (usize, &door::Picture)| {
        let page = several.then(|| NonZeroU32::MIN.saturating_add(i as u32));
        let origin = Origin { path: path.to_owned(), page };
        budget.left()?;
        match picture.open() {
            Ok(frame) => {
                budget.take(&frame);
                Ok((origin, frame))
            }
            Err(why) => Err(Failure::Picture { origin, why }),
        }
    };
    let open_all = || pictures.par_iter().enumerate().map(open).collect::<Vec<Result<_, Failure>>>();
    let (sha256, opened) = rayon::join(|| hash(bytes), open_all);
    opened.into_iter().map(|o| o.map(|(origin, frame)| Source::new(origin, frame, &sha256))).collect()
}

/// Every picture of one file.
pub fn pages(path: &Path) -> Result<Vec<Source>, Failure> {
    decoded(path, &bytes(path, &Limits::default())?, &Budget::new(MOST_PIXELS))
}

/// Reads and decodes a file that holds one picture.
pub fn source(path: &Path) -> Result<Source, Failure> {
    let limits = Limits::default();
    let bytes = bytes(path, &limits)?;
    let (sha256, frame) = rayon::join(|| hash(&bytes), || door::open(&bytes, &limits));
    let origin = Origin::from(path);
    match frame {
        Ok(frame) => Ok(Source::new(origin, frame, &sha256)),
        Err(why) => Err(Failure::Picture { origin, why }),
    }
}

impl Source {
    fn new(origin: Origin, frame: Frame, sha256: &str) -> Source {
        let name = origin.path.file_name().unwrap_or(origin.path.as_os_str());
        let info = SourceInfo {
            file: name.to_string_lossy().into_owned(),
            page: origin.page,
            sha256: sha256.to_owned(),
            width_px: frame.width() as u32,
            height_px: frame.height() as u32,
        };
        Source { origin, frame, info }
    }
}

/// The bytes of a picture file, never more than allowed.
pub fn bytes(path: &Path, limits: &Limits) -> Result<Vec<u8>, Failure> {
    let why = DoorError::FileTooLarge { limit_mib: limits.file_bytes >> 20 };
    read::bytes(path, limits.file_bytes, || Failure::Picture { origin: path.into(), why: why.clone() })
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
        let within = |most| {
            let budget = Budget::new(most);
            let read = |path: &PathBuf| decoded(path, &fs::read(path).unwrap(), &budget);
            budget.kept(files.par_iter().map(read).collect())
        };
        assert_eq!(within(800).map(|s| s.len()).ok(), Some(8));
        assert!(matches!(within(799), Err(Failure::TooManyPixels { .. })));
    }

    /// FIPS 180-2, appendix B.1.
    #[test]
    fn the_hash_is_the_standards_own_example() {
        assert_eq!(hash(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }
}
