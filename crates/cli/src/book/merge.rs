//! `pitchline book merge`: takes over the records, documents, seals and pictures of other books, each once.

use super::args::MergeArgs;
use super::place::{Held, Place, noted};
use super::verify::gone;
use super::whole::whole;
use crate::failure::Failure;
use crate::inputs;
use crate::output;
use book::{Hash, Inspection};
use handover::of;
use imaging::door::Limits;
use std::path::Path;
use std::time::Duration;

/// Merges books into the first.
pub fn run(args: &MergeArgs) -> Result<u8, Failure> {
    let place = Place::new(&args.book);
    let mut held = place.hold()?;
    let mut text = String::new();
    for other in &args.others {
        let new = one(&place, &mut held, other)?;
        text +=
            &output::wrapped(&format!("{}: {}.", other.display(), of(new, "new record", "new records")), 0);
    }
    output::print(&text)?;
    Ok(0)
}

/// Takes over one book whose chain is whole: its pictures first, so that no record is there without them.
fn one(place: &Place, held: &mut Held, folder: &Path) -> Result<usize, Failure> {
    let other = Place::new(folder);
    let (store, audit) = other.read_whole()?;
    let pictures =
        |look: &Inspection| look.pictures.iter().cloned().chain(whole(&store, look)).collect::<Vec<_>>();
    for told in audit.looks.iter().flat_map(|(_, _, look)| pictures(look)) {
        if !place.picture(told.sha256).is_file() {
            let stored = other.picture(told.sha256);
            if !stored.exists() {
                return Err(Failure::NotWhole { path: folder.to_owned(), why: gone(&told.file, &stored) });
            }
            let bytes = inputs::bytes(&stored, &Limits::default())?;
            if Hash::of(&bytes) != told.sha256 {
                let why = format!("its picture {} was changed", told.sha256);
                return Err(Failure::NotWhole { path: folder.to_owned(), why });
            }
            place.keep(told.sha256, &bytes)?;
        }
    }
    held.store.merge(&store, &noted(Duration::ZERO)).map_err(|why| place.failure(why))
}
