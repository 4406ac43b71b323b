//! `pitchline book`: the record of a whole job. Here is what touches files and the clock; what is recorded and what
//! follows from it is the crate `book`.

pub mod args;
mod enter;
mod in_order;
mod intake;
mod list;
mod merge;
mod pattern;
pub mod place;
mod seal;
mod sheet;
mod table;
mod trace;
mod verify;
mod watch;
pub mod whole;
mod work;
mod worker;

pub use trace::owed_by;

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
        BookCommand::Withdraw(args) => enter::withdraw(args),
        BookCommand::Watch(args) => watch::run(args),
        BookCommand::List(args) => list::run(args),
        BookCommand::Trace(args) => trace::run(args),
        BookCommand::Owed(args) => trace::owed(args),
        BookCommand::Verify(args) => verify::run(args),
        BookCommand::Seal(args) => seal::run(args),
        BookCommand::Merge(args) => merge::run(args),
    }
}
