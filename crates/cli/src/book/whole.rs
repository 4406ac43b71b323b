//! The picture of the whole face that the pictures of a stepped run were put together to. It is stored as they are, and
//! named by the look's face.json.

use book::{Inspection, Pictured, Store};
use report::{FACE_PICTURE, FaceRecord};

/// That of a look; none if it has a single picture, or its face.json cannot be read.
pub fn whole(store: &Store, look: &Inspection) -> Option<Pictured> {
    let bytes = store.document(look.document).ok()??;
    of(&FaceRecord::parse(&String::from_utf8_lossy(&bytes)).ok()?)
}

/// That of a face.
pub fn of(record: &FaceRecord) -> Option<Pictured> {
    let sha256 = record.stitch.as_ref()?.picture_sha256.as_ref()?.parse().ok()?;
    Some(Pictured { file: FACE_PICTURE.to_owned(), sha256 })
}
