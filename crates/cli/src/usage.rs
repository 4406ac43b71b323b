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
    help_of(std::env::args().skip(1))
}

/// The longest path of commands that the words begin with.
fn help_of(words: impl Iterator<Item = String>) -> String {
    let (mut command, mut path) = (Cli::command(), "pitchline".to_owned());
    for word in words {
        let Some(next) = command.find_subcommand(&word).cloned() else { break };
        command = next;
        path += &format!(" {word}");
    }
    path + " --help"
}

/// The parser's message without its frame: no "error:", no usage, no pointer to help.
fn one_line(message: &str) -> String {
    let frame = |line: &&str| !line.starts_with("Usage:") && !line.starts_with("For more information");
    let lines = message.lines().map(str::trim).filter(|l| !l.is_empty()).take_while(frame);
    let mut text = String::new();
    for line in lines {
        match line.strip_prefix("tip: ") {
            Some(tip) if is_far(tip, &text) => {}
            Some(tip) => text += &format!("; {tip}"),
            None if text.is_empty() => text += line,
            None => text += &format!(" {line}"),
        }
    }
    text.strip_prefix("error: ").unwrap_or(&text).to_owned()
}

/// Whether a tip names a command that begins with another letter than the one that was written: hardly what was meant.
fn is_far(tip: &str, told: &str) -> bool {
    let first = |text: &str| text.split('\'').nth(1).and_then(|word| word.chars().next());
    tip.contains("subcommand") && first(tip) != first(told)
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
    fn the_help_that_is_pointed_to_is_that_of_the_command() {
        let of = |line: &str| help_of(line.split(' ').map(str::to_owned));
        assert_eq!(of("book mate site"), "pitchline book mate --help");
        assert_eq!(of("book nonsense"), "pitchline book --help");
        assert_eq!(of("grade book"), "pitchline grade --help");
        assert_eq!(of("nonsense"), "pitchline --help");
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
        assert!(message("pitchline grad").starts_with("unrecognized subcommand 'grad'; "));
        assert_eq!(message("pitchline foo"), "unrecognized subcommand 'foo'");
        let unknown = message("pitchline grade --x y");
        assert!(unknown.starts_with("unexpected argument '--x' found; to pass"), "{unknown}");
    }
}
