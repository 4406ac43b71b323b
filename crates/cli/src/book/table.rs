//! A table (CSV) that tells which file shows which face: columns `file` and `connector`, and `end`, `when` and `who`
//! where it has them.

use crate::failure::Failure;
use crate::read;
use book::{End, Face, Moment};
use csv::StringRecord;
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

/// Most bytes of a table: some hundred thousand lines.
const MOST: u64 = 32 << 20;

/// Where the columns stand.
struct Columns {
    file: usize,
    connector: usize,
    end: Option<usize>,
    when: Option<usize>,
    who: Option<usize>,
}

/// Reads a table; lines that cannot be used stay in their places.
pub fn rows(path: &Path) -> Result<Vec<Result<Row, Refused>>, Failure> {
    let wrong = |why: String| Failure::NameTable { path: path.to_owned(), why };
    let bytes = read::bytes(path, MOST, || Failure::LongText { path: path.to_owned(), limit: "32 MiB" })?;
    let text = bytes.strip_prefix("\u{feff}".as_bytes()).unwrap_or(&bytes);
    let mut reader = csv::ReaderBuilder::new().flexible(true).trim(csv::Trim::All).from_reader(text);
    let headings = reader.headers().map_err(|e| wrong(e.to_string()))?.clone();
    let column = |name: &str| headings.iter().position(|h| h.eq_ignore_ascii_case(name));
    let (Some(file), Some(connector)) = (column("file"), column("connector")) else {
        return Err(wrong("its first line names no column `file` or no column `connector`".to_owned()));
    };
    let columns = Columns { file, connector, end: column("end"), when: column("when"), who: column("who") };
    let row = |record: Result<StringRecord, csv::Error>| match record {
        Ok(record) => columns.row(&record),
        Err(e) => Err((path.display().to_string(), e.to_string())),
    };
    Ok(reader.records().map(row).collect())
}

impl Columns {
    fn row(&self, record: &StringRecord) -> Result<Row, Refused> {
        let line = record.position().map_or(0, csv::Position::line);
        let cell = |at: usize| record.get(at).filter(|text| !text.is_empty());
        let refused = |why: String| (format!("line {line} of the table"), why);
        let file = cell(self.file).ok_or_else(|| refused("it names no file".to_owned()))?;
        let connector = cell(self.connector).unwrap_or("");
        let end = self.end.and_then(cell).map(str::parse::<End>).transpose();
        let end = end.map_err(|e| refused(e.to_string()))?;
        let face = match end {
            Some(end) => Face::new(connector, Some(end)),
            None => connector.parse(),
        };
        let when = self.when.and_then(cell).map(str::parse::<Moment>).transpose();
        Ok(Row {
            file: file.to_owned(),
            face: face.map_err(|e| refused(e.to_string()))?,
            when: when.map_err(|e| refused(e.to_string()))?,
            who: self.who.and_then(cell).map(str::to_owned),
        })
    }
}
