//! `pitchline criteria`: lists the built-in files, shows one with its sources, checks one of the user's.

use crate::args::CriteriaArgs;
use crate::failure::Failure;
use crate::output::{self, wrapped};
use crate::profiles;
use crate::read;
use profile::CriteriaFile;
use std::path::Path;

/// Prints the list, a table, or a file.
pub fn run(args: &CriteriaArgs) -> Result<u8, Failure> {
    match &args.criteria {
        None => output::print(&list())?,
        Some(name) if args.toml => output::print(&text(name)?)?,
        Some(name) => output::print(&table(&checked(name)?))?,
    }
    Ok(0)
}

fn list() -> String {
    let mut out = "Built-in criteria; give the id to `pitchline grade --criteria`:\n".to_owned();
    for choice in profile::guide() {
        out.push_str(&format!("\n  {}\n", choice.id));
        out.push_str(&wrapped(&choice.title, 6));
        out.push_str(&wrapped(&choice.use_for, 6));
    }
    out.push_str("\n`pitchline criteria ID` shows one with the source of every limit.\n");
    out
}

fn table(file: &CriteriaFile) -> String {
    let mut out = report::terminal::criteria(&file.criteria, output::style());
    out.push_str("\nUse it for\n");
    out.push_str(&wrapped(&file.use_for, 2));
    out.push_str("\nSettings, by their keys in the file\n");
    for row in profile::setting_rows(file) {
        out.push_str(&format!("  {} = {}\n", row.name, row.value));
        out.push_str(&wrapped(row.meaning, 6));
    }
    out
}

/// The file of that id or path. Faults of a file of the user's are printed, all of them: they are what was
/// asked for.
fn checked(name: &str) -> Result<CriteriaFile, Failure> {
    profiles::criteria(name).map_err(|failure| {
        let Failure::Profile(error) = failure else { return failure };
        match output::print(&format!("{error}\n")) {
            Ok(()) => Failure::Checked { file: error.file().to_owned(), count: error.faults().len() },
            Err(unprinted) => unprinted,
        }
    })
}

/// The text of the file of that id or path.
fn text(name: &str) -> Result<String, Failure> {
    match profile::criteria_text(name) {
        Some(text) => Ok(text.to_owned()),
        None => profiles::criteria(name).and_then(|_| read::text(Path::new(name))),
    }
}
