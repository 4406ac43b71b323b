//! `pitchline completions` and `pitchline man`: both made from the definitions of the arguments.

use crate::args::Cli;
use crate::failure::Failure;
use crate::output;
use clap::{Command, CommandFactory};
use clap_complete::Shell;

/// Prints a completion script.
pub fn completions(shell: Shell) -> Result<u8, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Cli::command(), "pitchline", &mut script);
    output::print(&String::from_utf8_lossy(&script))?;
    Ok(0)
}

/// Prints the man page of the program or of one command.
pub fn man(name: Option<&str>) -> Result<u8, Failure> {
    let mut page = Vec::new();
    // Writing into memory cannot fail.
    let _ = clap_mangen::Man::new(command(name)?).render(&mut page);
    output::print(&String::from_utf8_lossy(&page))?;
    Ok(0)
}

fn command(name: Option<&str>) -> Result<Command, Failure> {
    let mut all = Cli::command();
    all.build();
    let Some(name) = name else { return Ok(all) };
    let found = all.find_subcommand(name).cloned();
    found.ok_or_else(|| Failure::NoCommand { name: name.to_owned() })
}
