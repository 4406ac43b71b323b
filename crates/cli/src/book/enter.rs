//! The commands that record what no picture shows: a new book, faces to expect, matings, cleanings.

use super::args::{CleanArgs, CleanedHow, ExpectArgs, MateArgs, NewArgs, Told};
use super::place::{self, Place, noted};
use super::sheet::{Line, Sheet};
use crate::args::Meets;
use crate::failure::Failure;
use crate::output;
use book::{Adapter, Added, Face, How, Mating, Moment, Record, Register, Role};
use clap::ValueEnum;
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
    let place = Place::new(&args.book);
    let new = place.hold()?.store.declare(&args.faces, role, &noted(Duration::ZERO));
    let new = new.map_err(|why| place.failure(why))?;
    told(new, args.faces.len() - new)
}

/// Records matings: the two faces that are named, or every line of a table.
pub fn mate(args: &MateArgs) -> Result<u8, Failure> {
    let matings = match (&args.face_a, &args.face_b) {
        (Some(a), Some(b)) if a == b => return Err(Failure::SelfMated { face: a.to_string() }),
        (Some(a), Some(b)) => {
            let (when, who) = (when(&args.told)?, args.told.who.clone());
            vec![Mating { a: a.clone(), b: b.clone(), adapter: args.adapter.map(adapter), when, who }]
        }
        _ => args.table.as_deref().map(|table| tabled(table, args)).transpose()?.unwrap_or_default(),
    };
    enter(&args.book, matings.into_iter().map(Record::Mating))
}

fn adapter(how: Meets) -> Adapter {
    match how {
        Meets::TypeA => Adapter::TypeA,
        Meets::TypeB => Adapter::TypeB,
    }
}

/// The matings of a table. Each has its time, so that a table that is entered twice says the same twice.
fn tabled(table: &Path, args: &MateArgs) -> Result<Vec<Mating>, Failure> {
    const COLUMNS: &str = "face_a,face_b,when,adapter,who";
    let needed = if args.told.when.is_some() { 2 } else { 3 };
    let sheet = Sheet::read(table, COLUMNS, needed)?;
    let face = |line: &Line<'_>, column| {
        line.value::<Face>(column)?.ok_or_else(|| format!("it names no face in the column `{column}`"))
    };
    let one = |line: Line<'_>| {
        let (a, b) = (face(&line, "face_a")?, face(&line, "face_b")?);
        if a == b {
            return Err(format!("{a} cannot meet itself"));
        }
        let when = line.text("when").map(place::stated).transpose()?.or_else(|| args.told.when.clone());
        let told = line.text("adapter").map(|text| Meets::from_str(text, true)).transpose();
        Ok(Mating {
            adapter: told
                .map_err(|_| "its adapter is neither type-a nor type-b")?
                .or(args.adapter)
                .map(adapter),
            when: when.ok_or("it tells no time in the column `when`")?,
            who: line.text("who").map(str::to_owned).or_else(|| args.told.who.clone()),
            a,
            b,
        })
    };
    let wrong = |(line, why)| Failure::Table {
        path: table.to_owned(),
        columns: COLUMNS,
        why: format!("{line}: {why}"),
    };
    sheet.lines(one).map(|line| line.map_err(wrong)).collect()
}

/// Records cleanings.
pub fn clean(args: &CleanArgs) -> Result<u8, Failure> {
    let how = args.how.map(|how| match how {
        CleanedHow::Dry => How::Dry,
        CleanedHow::Wet => How::Wet,
    });
    let when = when(&args.told)?;
    let one = |face: &Face| Record::Cleaning {
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
    let before = Register::read(&held.store).map_err(|why| place.failure(why))?;
    let (mut new, mut known) = (0, 0);
    let mut strange: Vec<Face> = Vec::new();
    for record in records {
        strange.extend(record.faces().into_iter().filter(|face| !before.knows(face)).cloned());
        match held.store.add(&record, Role::Connector, &[], &noted(Duration::ZERO)) {
            Ok(Added::New) => new += 1,
            Ok(Added::Known) => known += 1,
            Err(why) => return Err(place.failure(why)),
        }
    }
    told(new, known)?;
    strange.sort();
    strange.dedup();
    let text: String = strange.iter().map(|face| output::wrapped(&is_new(face, &before), 2)).collect();
    output::print(&text)?;
    Ok(0)
}

/// A name that the book did not know may be a slip of the pen.
fn is_new(face: &Face, before: &Register) -> String {
    let alike = before.faces.iter().find(|known| folded(&known.face) == folded(face));
    let meant = alike.map_or_else(String::new, |known| format!("; was {} meant?", known.face));
    format!("{face} is new to the book{meant}")
}

/// A name as the eye takes it: O for 0, I and l for 1, cases alike, what stands between left out.
fn folded(face: &Face) -> String {
    let sign = |c: char| match c.to_ascii_lowercase() {
        'o' => '0',
        'i' | 'l' => '1',
        other => other,
    };
    face.to_string().chars().filter(|c| c.is_alphanumeric() || *c == '@').map(sign).collect()
}

fn told(new: usize, known: usize) -> Result<u8, Failure> {
    let before = if known > 0 { format!(", {known} in the book already") } else { String::new() };
    output::print(&format!("{new} recorded{before}.\n"))?;
    Ok(0)
}
