//! The commands that record what no picture shows: a new book, faces to expect, matings, cleanings.

use super::args::{CleanArgs, CleanedHow, ExpectArgs, MateArgs, NewArgs, Told, WithdrawArgs};
use super::list::told_of;
use super::place::{self, Place, noted};
use super::sheet::{Line, Sheet};
use crate::args::Meets;
use crate::failure::Failure;
use crate::output;
use book::{
    Adapter, Added, Cleaning, Face, How, Mating, Moment, NoWithdrawal, Record, Register, Role, Withdrawal,
};
use clap::ValueEnum;
use handover::of;
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
    let (mut matings, mut wrong) = (Vec::new(), Vec::new());
    for line in sheet.lines(one) {
        match line {
            Ok(mating) => matings.push(mating),
            Err((line, why)) => wrong.push(format!("{line}: {why}")),
        }
    }
    if wrong.is_empty() {
        return Ok(matings);
    }
    const TOLD: usize = 5;
    let more = wrong.len().saturating_sub(TOLD);
    wrong.truncate(TOLD);
    wrong.extend((more > 0).then(|| format!("and {}", of(more, "more line", "more lines"))));
    Err(Failure::Table { path: table.to_owned(), columns: COLUMNS, why: wrong.join("; ") })
}

/// Records cleanings.
pub fn clean(args: &CleanArgs) -> Result<u8, Failure> {
    let how = args.how.map(|how| match how {
        CleanedHow::Dry => How::Dry,
        CleanedHow::Wet => How::Wet,
    });
    let when = when(&args.told)?;
    let one = |face: &Face| {
        let (when, who) = (when.clone(), args.told.who.clone());
        Record::Cleaning(Cleaning { face: face.clone(), how, when, who })
    };
    enter(&args.book, args.faces.iter().map(one))
}

/// Takes back a record, and says what is left of the faces that it told of.
pub fn withdraw(args: &WithdrawArgs) -> Result<u8, Failure> {
    let place = Place::new(&args.book);
    let mut held = place.hold()?;
    let failure = |why| match why {
        NoWithdrawal::Book(why) => place.failure(why),
        why => Failure::NotWithdrawn { record: args.record.clone(), path: args.book.clone(), why },
    };
    let found = held.store.find(&args.record).map_err(failure)?;
    let link = found.link;
    let (why, when, who) = (args.why.clone(), place::now().ok_or(Failure::NoClock)?, args.who.clone());
    held.store
        .withdraw(&Withdrawal { record: link, why, when, who }, &noted(Duration::ZERO))
        .map_err(failure)?;
    let withdrawn = format!("Withdrawn: {}. It stays in the book and counts no more.", found.words());
    let mut text = output::wrapped(&withdrawn, 0);
    for face in found.record.faces() {
        let left = told_of(&held.store, face).map_err(|why| place.failure(why))?;
        if left.iter().all(|told| told.withdrawn.is_some() || told.record.faces().is_empty()) {
            text += &output::wrapped(
                &format!(
                    "Nothing else is told of {face}. If it does not belong to the job, withdraw that it is known, \
                     too: `pitchline book list BOOK FACE` tells that record."
                ),
                2,
            );
        }
    }
    output::print(&text)?;
    Ok(0)
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
