//! What the argument parser has to say: help and version as they are, anything wrong as one line.

use crate::args::Cli;
use crate::output;
use crate::{BAD_INPUT, complain};
use clap::CommandFactory;
use clap::error::{Error, ErrorKind};
use std::process::ExitCode;

/// Prints what the parser says and gives the exit status.
pub fn told(error: &Error) -> ExitCode {
    match error.kind() {
        ErrorKind::DisplayHelp | ErrorKind::DisplayVersion => match error.print() {
            Ok(()) => ExitCode::SUCCESS,
            Err(e) if e.kind() == std::io::ErrorKind::BrokenPipe => ExitCode::SUCCESS,
            Err(e) => {
                complain(&output::stdout_failure(&e).to_string());
                ExitCode::from(BAD_INPUT)
            }
        },
        ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand | ErrorKind::MissingSubcommand => {
            complain("no command was given; try `pitchline demo --out demo`, or see `pitchline --help`");
            ExitCode::from(BAD_INPUT)
        }
        _ => {
            let (message, help) = (one_line(&error.render().to_string()), help());
            complain(&format!("{message}; see `{help}`"));
            ExitCode::from(BAD_INPUT)
        }
    }
}

/// How to ask for the help of the command that was given.
fn help() -> String {
    let named = std::env::args().nth(1).filter(|name| Cli::command().find_subcommand(name).is_some());
    named.map_or_else(|| "pitchline --help".to_owned(), |name| format!("pitchline {name} --help"))
}

/// The parser's message without its frame: no "error:", no usage, no pointer to help.
fn one_line(message: &str) -> String {
    let frame = |line: &&str| !line.starts_with("Usage:") && !line.starts_with("For more information");
    let lines = message.lines().map(str::trim).filter(|l| !l.is_empty()).take_while(frame);
    let text = lines.collect::<Vec<_>>().join(" ");
    text.strip_prefix("error: ").unwrap_or(&text).to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::Parser;

    fn message(line: &str) -> String {
        let error = Cli::try_parse_from(line.split(' ')).err().unwrap();
        one_line(&error.render().to_string())
    }

    #[test]
    fn every_kind_of_misuse_is_one_line() {
        assert_eq!(
            message("pitchline grade a.png --layout mpo-12"),
            "the following required arguments were not provided: --criteria <CRITERIA> --out <DIR>"
        );
        assert_eq!(
            message("pitchline grade a --layout b --criteria c --out d --key left"),
            "invalid value 'left' for '--key <KEY>' [possible values: up, down]"
        );
        assert_eq!(
            message("pitchline grade a --layout b --criteria c --out d --scale wide"),
            "invalid value 'wide' for '--scale <UM_PER_PX>': write a number of micrometres per pixel from 0.01 to \
             10, such as 0.5"
        );
        for wrong in ["0", "-1", "NaN", "inf", "1e-9", "60"] {
            let said = message(&format!("pitchline grade a --layout b --criteria c --out d --scale {wrong}"));
            assert!(said.contains("write a number of micrometres per pixel"), "{said}");
        }
        assert!(message("pitchline grad").starts_with("unrecognized subcommand 'grad' tip: "));
    }
}
