//! Whether the last look at a face can be taken for what it says: whether it shows the ferrule of the one before, by the
//! ferrule's own errors, which no other shares, and clears what failed before.

use crate::face::Face;
use crate::record::{Found, Inspection};
use crate::register::Register;
use crate::store::{BookError, Store};
use grade::compare::{Flip, compare};
use report::FaceRecord;

/// A face whose last look cannot be taken for what it says: it does not show what the one before showed, or another
/// look at the same pictures says otherwise.
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
        let earlier: Vec<&Inspection> = looks.collect();
        found.extend(doubtful(last, &earlier).map(|why| Stranger { face: known.face.clone(), why }));
        let Some(before) = earlier.into_iter().find(|look| look.shown() != last.shown()) else { continue };
        let (Some(a), Some(b)) = (record(store, before)?, record(store, last)?) else { continue };
        let face = &known.face;
        found.extend(differ(&a, &b).map(|what| Stranger {
            face: face.clone(),
            why: format!("its looks {} and {} {what}", before.when, last.when),
        }));
    }
    Ok(found)
}

/// Why a last look that does not fail clears no earlier one that does: it shows the same pictures, graded otherwise, or
/// nothing tells which of the two was first.
fn doubtful(last: &Inspection, earlier: &[&Inspection]) -> Option<String> {
    let failing = |look: &&&Inspection| look.verdict == Found::Fail && last.verdict != Found::Fail;
    let again = |look: &&&Inspection| look.shown() == last.shown();
    let when = &last.when;
    if earlier.iter().filter(failing).any(|look| again(&look)) {
        return Some(format!(
            "its picture of {when} does not fail as it was graded last, and fails as it was graded before: withdraw the \
             look whose layout, criteria or view does not hold"
        ));
    }
    let same_time = earlier.iter().filter(failing).any(|look| look.when == last.when);
    same_time.then(|| {
        format!(
            "of its looks of {when} one fails and the last does not, and nothing tells which was first: withdraw one, and \
             enter it again with its own --when"
        )
    })
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
