//! The pictures of a graded face at the size of a report: its row, and the positions that do not pass, or the one that
//! passes by the least. A picture that is gone or changed is a doubt, and nothing is shown in its place.

use super::outline;
use crate::again::{self, Lost, LostFile};
use crate::crops;
use crate::failure::Failure;
use handover::Picture;
use image::ExtendedColorType;
use image::codecs::jpeg::JpegEncoder;
use imaging::Frame;
use report::record::{PositionRecord, Verdict};
use report::{FaceRecord, SourceInfo};
use std::path::{Path, PathBuf};
use survey::FacePicture;

/// Quality of the JPEG: marks of a pixel or two stay, and a row takes some 50 kB.
const QUALITY: u8 = 85;

/// What can be shown of a face, and what is wrong with its pictures.
#[derive(Default)]
pub struct Shown {
    pub row: Option<Picture>,
    pub fibres: Vec<(u16, Picture)>,
    /// The pictures themselves, in the order of the face's sources; none if one of them is lost.
    pub frames: Vec<Frame>,
    pub doubts: Vec<String>,
    /// Whether a picture is there with other bytes than those that were graded.
    pub changed: bool,
    /// Whether a picture cannot be shown, be it changed, gone or unreadable.
    pub lost: bool,
}

impl Shown {
    /// Why the pictures do not prove the verdict; none if they were not changed.
    pub fn unproven(&self) -> Option<String> {
        let why = "its last look is not proven, as the bytes of its picture are not those that were graded; look again";
        self.changed.then(|| why.to_owned())
    }
}

/// The pictures of a face. `find` tells where a source lies, `whole` where the picture of the whole face of a stepped run
/// lies, if it was kept.
pub fn of(
    face: &FaceRecord,
    find: impl Fn(&SourceInfo) -> Option<PathBuf>,
    whole: Option<PathBuf>,
) -> Result<Shown, Failure> {
    let mut shown = Shown::default();
    let (found, lost): (Vec<_>, Vec<_>) =
        again::pictures(&face.sources, find).into_iter().partition(Result::is_ok);
    if !lost.is_empty() {
        let lost: Vec<LostFile> = lost.into_iter().filter_map(Result::err).collect();
        shown.lost = true;
        shown.changed = lost.iter().any(|(_, lost)| matches!(lost, Lost::Changed));
        shown.doubts = lost.into_iter().map(doubt).collect();
        return Ok(shown);
    }
    shown.frames = found.into_iter().flatten().flatten().collect();
    let mut windows = report::map::windows(face);
    let told = to_show(face);
    windows.fibres.retain(|(position, _)| told.contains(position));
    let whole = whole.and_then(|path| face_picture(&path, face, &mut shown));
    let made = crops::pictures(&shown.frames, whole.as_ref(), face, &windows);
    shown.row = made.strip.map(|strip| jpeg(strip.bytes(), strip.width(), strip.height())).transpose()?;
    for (position, crop) in &made.fibres {
        let mut levels = crop.bytes().to_vec();
        let window = windows.fibres.iter().find(|(p, _)| p == position).map(|(_, window)| window);
        let seen = face.positions.iter().find(|p| p.position == *position);
        if let (Some(window), Some(seen)) = (window, seen) {
            outline::draw(&mut levels, window, face, seen);
        }
        shown.fibres.push((*position, jpeg(&levels, crop.width(), crop.height())?));
    }
    Ok(shown)
}

/// Where a source lies that is kept beside its record.
pub fn beside(folder: &Path, source: &SourceInfo) -> Option<PathBuf> {
    source.plain_name().map(|name| folder.join(name))
}

fn doubt((source, lost): LostFile) -> String {
    match lost {
        Lost::Gone | Lost::Unread(_) => {
            format!("its picture {} is not there, or cannot be read", source.file)
        }
        Lost::Changed => {
            format!(
                "its picture {} is not the one that was graded: its bytes changed, they are not those that were stored",
                source.file
            )
        }
    }
}

/// The picture of the whole face of a stepped run.
fn face_picture(path: &Path, face: &FaceRecord, shown: &mut Shown) -> Option<FacePicture> {
    let stitch = face.stitch.as_ref()?;
    let told = [SourceInfo {
        file: stitch.picture.clone()?,
        sha256: stitch.picture_sha256.clone()?,
        page: None,
        ..face.sources.first()?.clone()
    }];
    match again::pictures(&told, |_| Some(path.to_owned())).swap_remove(0) {
        Ok(mut frames) => {
            Some(FacePicture { frame: frames.swap_remove(0), pose: stitch.pose.as_ref()?.pose()? })
        }
        Err(lost) => {
            shown.lost = true;
            shown.changed |= matches!(lost.1, Lost::Changed);
            shown.doubts.push(doubt(lost));
            None
        }
    }
}

fn to_show(face: &FaceRecord) -> Vec<u16> {
    let open: Vec<u16> =
        face.positions.iter().filter(|p| p.verdict != Verdict::Pass).map(|p| p.position).collect();
    if !open.is_empty() {
        return open;
    }
    let sure = |p: &&PositionRecord| p.conformity.unwrap_or(1.0);
    let least = face.positions.iter().min_by(|a, b| sure(a).total_cmp(&sure(b)));
    least.map(|p| p.position).into_iter().collect()
}

fn jpeg(levels: &[u8], width: u32, height: u32) -> Result<Picture, Failure> {
    let mut jpeg = Vec::new();
    JpegEncoder::new_with_quality(&mut jpeg, QUALITY)
        .encode(levels, width, height, ExtendedColorType::L8)
        .map_err(Failure::Jpeg)?;
    Ok(Picture { jpeg, width, height })
}
