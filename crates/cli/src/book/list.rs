//! `pitchline book list`: every face with its last look.

use super::args::ListArgs;
use super::place::Place;
use crate::failure::Failure;
use crate::output;
use book::{Found, Register, Role};
use std::collections::BTreeMap;

/// Prints the list.
pub fn run(args: &ListArgs) -> Result<u8, Failure> {
    let place = Place::new(&args.book);
    let register = Register::read(&place.read()?).map_err(|why| place.failure(why))?;
    output::print(&text(&register))?;
    Ok(0)
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
