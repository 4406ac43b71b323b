//! `pitchline book list`: every face with its last look, or all that is told of one face.

use super::args::ListArgs;
use super::place::Place;
use super::verify::short;
use crate::failure::Failure;
use crate::output;
use book::{BookError, Face, Found, Moment, Record, Recorded, Register, Role, Store};
use std::collections::BTreeMap;

/// Prints the list.
pub fn run(args: &ListArgs) -> Result<u8, Failure> {
    let place = Place::new(&args.book);
    let (store, _) = place.read_whole()?;
    let failure = |why| place.failure(why);
    let text = match &args.face {
        None => text(&Register::read(&store).map_err(failure)?),
        Some(face) => {
            let told = told_of(&store, face).map_err(failure)?;
            if told.is_empty() {
                return Err(Failure::UnknownFace { face: face.to_string(), path: args.book.clone() });
            }
            told.iter().map(line).collect()
        }
    };
    output::print(&text)?;
    Ok(0)
}

/// Every record that tells of a face, withdrawn ones too, in the order of time.
pub fn told_of(store: &Store, face: &Face) -> Result<Vec<Recorded>, BookError> {
    let mut told: Vec<Recorded> = store.records()?.into_iter().filter(|r| r.record.tells_of(face)).collect();
    told.sort_by(|a, b| when(&a.record).cmp(&when(&b.record)));
    Ok(told)
}

fn when(record: &Record) -> Option<&Moment> {
    match record {
        Record::Inspection(look) => Some(&look.when),
        Record::Mating(mating) => Some(&mating.when),
        Record::Cleaning(cleaning) => Some(&cleaning.when),
        _ => None,
    }
}

fn line(told: &Recorded) -> String {
    // A merged book may hold whatever others wrote.
    format!("{}  {}\n", short(told.link), told.words().replace(char::is_control, " "))
}

fn text(register: &Register) -> String {
    let mut looks: BTreeMap<&book::Face, (usize, Found, &str)> = BTreeMap::new();
    for (when, _, past) in &register.past {
        if let book::Past::Look(look) = past {
            let so_far = looks.get(&look.face).map_or(0, |l| l.0);
            looks.insert(&look.face, (so_far + 1, look.verdict, when.text()));
        }
    }
    let width = register.faces.iter().map(|k| k.face.to_string().chars().count()).max().unwrap_or(0).min(40);
    let count = register.faces.len();
    let mut out = format!("{}: {count} {}\n", register.name, if count == 1 { "face" } else { "faces" });
    for known in &register.faces {
        let name = known.face.to_string();
        let last = match looks.get(&known.face) {
            None => "--- never looked at".to_owned(),
            Some((n, found, when)) => {
                format!("{} {when}, {n} {}", sign(*found), if *n == 1 { "look" } else { "looks" })
            }
        };
        let cord = if known.role == Role::Cord { ", reference cord" } else { "" };
        out += &format!("{name:<width$}  {last}{cord}\n");
    }
    out
}

/// The sign and the word of a verdict.
pub const fn sign(found: Found) -> &'static str {
    match found {
        Found::Pass => "(P) pass    ",
        Found::Fail => "[F] fail    ",
        Found::Ungraded => "<U> ungraded",
    }
}
