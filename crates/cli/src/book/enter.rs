//! The commands that record what no picture shows: a new book, faces to expect, matings, cleanings.

use super::args::{CleanArgs, CleanedHow, ExpectArgs, MateArgs, NewArgs, Told};
use super::place::{self, Place, noted};
use crate::args::Meets;
use crate::failure::Failure;
use crate::output;
use book::{Adapter, Added, How, Mating, Moment, Record, Role};
use std::path::Path;
use std::time::Duration;

/// Makes an empty book.
pub fn new(args: &NewArgs) -> Result<u8, Failure> {
    let folder_name = args.book.file_name().map(|name| name.to_string_lossy().into_owned());
    let name = args.name.clone().or(folder_name).unwrap_or_default();
    Place::new(&args.book).create(&name)?;
    output::print(&format!("Made the book {} in {}.\n", name, args.book.display()))?;
    Ok(0)
}

/// Makes faces known.
pub fn expect(args: &ExpectArgs) -> Result<u8, Failure> {
    let role = if args.cord { Role::Cord } else { Role::Connector };
    let records = args.faces.iter().map(|face| Record::Connector { face: face.clone(), role });
    enter(&args.book, records)
}

/// Records a mating.
pub fn mate(args: &MateArgs) -> Result<u8, Failure> {
    if args.face_a == args.face_b {
        return Err(Failure::SelfMated { face: args.face_a.to_string() });
    }
    let adapter = args.adapter.map(|how| match how {
        Meets::TypeA => Adapter::TypeA,
        Meets::TypeB => Adapter::TypeB,
    });
    let (when, who) = (when(&args.told)?, args.told.who.clone());
    let mating = Mating { a: args.face_a.clone(), b: args.face_b.clone(), adapter, when, who };
    enter(&args.book, [Record::Mating(mating)])
}

/// Records cleanings.
pub fn clean(args: &CleanArgs) -> Result<u8, Failure> {
    let how = args.how.map(|how| match how {
        CleanedHow::Dry => How::Dry,
        CleanedHow::Wet => How::Wet,
    });
    let when = when(&args.told)?;
    let one = |face: &book::Face| Record::Cleaning {
        face: face.clone(),
        how,
        when: when.clone(),
        who: args.told.who.clone(),
    };
    enter(&args.book, args.faces.iter().map(one))
}

fn when(told: &Told) -> Result<Moment, Failure> {
    told.when.clone().or_else(place::now).ok_or(Failure::NoClock)
}

fn enter(folder: &Path, records: impl IntoIterator<Item = Record>) -> Result<u8, Failure> {
    let place = Place::new(folder);
    let mut held = place.hold()?;
    let (mut new, mut known) = (0, 0);
    for record in records {
        match held.store.add(&record, Role::Connector, &[], &noted(Duration::ZERO)) {
            Ok(Added::New) => new += 1,
            Ok(Added::Known) => known += 1,
            Err(why) => return Err(place.failure(why)),
        }
    }
    let before = if known > 0 { format!(", {known} in the book already") } else { String::new() };
    output::print(&format!("{new} recorded{before}.\n"))?;
    Ok(0)
}
