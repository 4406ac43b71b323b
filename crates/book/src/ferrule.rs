//! Whether the last two looks at a face show one ferrule: by the ferrule's own errors, which no other shares.

use crate::face::Face;
use crate::record::Inspection;
use crate::register::Register;
use crate::store::{BookError, Store};
use grade::compare::{Flip, compare};
use report::FaceRecord;

/// A face whose last look does not show what the one before showed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stranger {
    /// The face.
    pub face: Face,
    /// What differs, and what to do, in a sentence without its end.
    pub why: String,
}

/// The faces of a book whose last look differs from the one before it, in the order of the faces. A further look that
/// agrees with the last settles it, as it must where a connector was replaced.
///
/// # Errors
/// [`BookError`] if a document cannot be read from the file; one that is damaged is for `audit` to tell.
pub fn strangers(store: &Store, register: &Register) -> Result<Vec<Stranger>, BookError> {
    let mut found = Vec::new();
    for known in &register.faces {
        let mut looks = register.looks(&known.face).rev();
        let Some(last) = looks.next() else { continue };
        let Some(before) = looks.find(|look| look.shown() != last.shown()) else { continue };
        let (Some(a), Some(b)) = (record(store, before)?, record(store, last)?) else { continue };
        let face = &known.face;
        found.extend(differ(&a, &b).map(|what| Stranger {
            face: face.clone(),
            why: format!("its looks {} and {} {what}", before.when, last.when),
        }));
    }
    Ok(found)
}

fn record(store: &Store, look: &Inspection) -> Result<Option<FaceRecord>, BookError> {
    let bytes = store.document(look.document)?;
    Ok(bytes.and_then(|bytes| FaceRecord::parse(&String::from_utf8_lossy(&bytes)).ok()))
}

fn differ(before: &FaceRecord, last: &FaceRecord) -> Option<String> {
    if before.layout != last.layout {
        return Some(format!("were graded as {} and {}", before.layout, last.layout));
    }
    match compare(&before.seen(), &last.seen()) {
        Err(another) => Some(format!(
            "show two different ferrules (fibres lie {:.2} um elsewhere): look at it again, even if it was replaced",
            another.apart
        )),
        Ok(found) if found.sameness.certain && found.sameness.flip != Flip::None => Some(
            "show it turned or mirrored against each other: grade one of them again by the right --key and --mirrored"
                .to_owned(),
        ),
        Ok(_) => None,
    }
}
