//! `pitchline book`: the record of a whole job. Here is what touches files and the clock; what is recorded and what
//! follows from it is the crate `book`.

pub mod args;
mod enter;
mod intake;
mod list;
mod pattern;
mod place;
mod table;
mod work;
mod worker;

use crate::failure::Failure;
use args::{BookArgs, BookCommand};

/// Does what was asked for; the exit status is that of the command.
pub fn run(args: &BookArgs) -> Result<u8, Failure> {
    match &args.command {
        BookCommand::New(args) => enter::new(args),
        BookCommand::Expect(args) => enter::expect(args),
        BookCommand::Add(args) => work::add(args),
        BookCommand::Mate(args) => enter::mate(args),
        BookCommand::Clean(args) => enter::clean(args),
        BookCommand::List(args) => list::run(args),
    }
}
