//! The `pitchline` program: arguments in, exit status out. Everything that can go wrong becomes one line on
//! stderr here and nowhere else.

mod again;
mod args;
mod book;
mod commands;
mod compared;
mod crops;
mod failure;
mod finish;
mod folder;
mod handover;
mod held;
mod inputs;
mod output;
mod own;
mod pair;
mod picture;
mod pipeline;
mod profiles;
mod progress;
mod read;
mod stale;
mod study;
mod usage;
mod whole_faces;

use args::{Cli, Command};
use clap::Parser;
use failure::Failure;
use std::process::ExitCode;

/// Exit status of anything that is not a graded face.
const BAD_INPUT: u8 = 2;

fn main() -> ExitCode {
    std::panic::set_hook(Box::new(|fault| {
        let place = fault.location().map(ToString::to_string).unwrap_or_default();
        complain(&format!("a fault of the program itself at {place}; please report it with the picture"));
    }));
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => return usage::told(&error),
    };
    match std::panic::catch_unwind(|| run(cli.command)) {
        Ok(Ok(status)) => ExitCode::from(status),
        Ok(Err(failure)) => {
            complain(&failure.to_string());
            ExitCode::from(BAD_INPUT)
        }
        Err(_) => ExitCode::from(BAD_INPUT),
    }
}

fn run(command: Command) -> Result<u8, Failure> {
    match command {
        Command::Grade(args) => commands::grade::run(&args),
        Command::Compare(args) => commands::compare::run(&args),
        Command::Mated(args) => commands::mated::run(&args),
        Command::Chain(args) => commands::chain::run(&args),
        Command::Polarity(args) => commands::polarity::run(&args),
        Command::Criteria(args) => commands::criteria::run(&args),
        Command::Demo(args) => commands::demo::run(&args),
        Command::Study(args) => commands::study::run(&args),
        Command::Handover(args) => commands::handover::run(&args),
        Command::Book(args) => book::run(&args),
        Command::Synth(args) => commands::synth::run(&args),
        Command::Completions { shell } => commands::extras::completions(shell),
        Command::Man { command } => commands::extras::man(command.as_deref()),
    }
}

/// Writes one line to stderr, whatever line breaks the text holds.
fn complain(text: &str) {
    let line: Vec<&str> = text.split(['\n', '\r']).map(str::trim).filter(|l| !l.is_empty()).collect();
    eprintln!("pitchline: {}", output::harmless(&line.join("; ")));
}
