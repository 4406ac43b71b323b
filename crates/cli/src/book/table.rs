//! A table (CSV) that tells which file shows which face: columns `file` and `connector`, and `end`, `when` and `who`
//! where it has them.

use super::place::stated;
use super::sheet::{Line, Sheet};
use crate::failure::Failure;
use book::{End, Face, Moment};
use std::path::Path;

/// A line of the table.
pub struct Row {
    /// The file or folder, as it stands there.
    pub file: String,
    /// The face.
    pub face: Face,
    /// When, if the line says so.
    pub when: Option<Moment>,
    /// By whom, if the line says so.
    pub who: Option<String>,
}

/// A line that cannot be used: what to call it, and why.
pub type Refused = (String, String);

/// Reads a table; lines that cannot be used stay in their places.
pub fn rows(path: &Path) -> Result<Vec<Result<Row, Refused>>, Failure> {
    Ok(Sheet::read(path, "file,connector,end,when,who", 2)?.lines(|line| row(&line)).collect())
}

fn row(line: &Line<'_>) -> Result<Row, String> {
    let connector = line.text("connector").unwrap_or("");
    let face = match line.value::<End>("end")? {
        Some(end) => Face::new(connector, Some(end)),
        None => connector.parse(),
    };
    Ok(Row {
        file: line.text("file").ok_or("it names no file")?.to_owned(),
        face: face.map_err(|e| e.to_string())?,
        when: line.text("when").map(stated).transpose()?,
        who: line.text("who").map(str::to_owned),
    })
}
