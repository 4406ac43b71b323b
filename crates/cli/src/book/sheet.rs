//! A table that people keep (CSV, headings in the first line, whatever case and order), read cell by cell.

use crate::failure::Failure;
use crate::read;
use csv::StringRecord;
use std::path::Path;
use std::str::FromStr;

/// Most bytes of a table: some hundred thousand lines.
const MOST: u64 = 32 << 20;

/// A table.
pub struct Sheet {
    headings: StringRecord,
    lines: Vec<Result<StringRecord, String>>,
}

/// One line of it.
pub struct Line<'s> {
    headings: &'s StringRecord,
    cells: &'s StringRecord,
}

impl Sheet {
    /// Reads a table whose first columns, `needed` of them, must be there in whatever order.
    pub fn read(path: &Path, columns: &'static str, needed: usize) -> Result<Sheet, Failure> {
        let wrong = |why: String| Failure::Table { path: path.to_owned(), columns, why };
        let bytes = read::bytes(path, MOST, || Failure::LongText { path: path.to_owned(), limit: "32 MiB" })?;
        let text = bytes.strip_prefix("\u{feff}".as_bytes()).unwrap_or(&bytes);
        std::str::from_utf8(text)
            .map_err(|_| wrong("its text is not UTF-8, as of \"CSV UTF-8\"".to_owned()))?;
        let mut how = csv::ReaderBuilder::new();
        let mut reader = how.flexible(true).trim(csv::Trim::All).delimiter(delimiter(text)).from_reader(text);
        let headings = reader.headers().map_err(|e| wrong(e.to_string()))?.clone();
        let mut needed = columns.split(',').take(needed);
        let lacking = needed.find(|name| !headings.iter().any(|h| h.eq_ignore_ascii_case(name)));
        if let Some(name) = lacking {
            return Err(wrong(format!("its first line names no column `{name}`")));
        }
        let lines = reader.records().map(|line| line.map_err(|e| e.to_string())).collect();
        Ok(Sheet { headings, lines })
    }

    /// Its lines in order; one that cannot be read is told in words, as is each cell that cannot be used.
    pub fn lines<T>(
        &self,
        of: impl Fn(Line<'_>) -> Result<T, String>,
    ) -> impl Iterator<Item = Result<T, (String, String)>> {
        self.lines.iter().map(move |line| match line {
            Err(why) => Err(("the table".to_owned(), why.clone())),
            Ok(cells) => {
                let number = cells.position().map_or(0, csv::Position::line);
                of(Line { headings: &self.headings, cells })
                    .map_err(|why| (format!("line {number} of the table"), why))
            }
        })
    }
}

/// Where a comma marks the decimals, spreadsheets write semicolons between cells; what is copied from one has tabs.
fn delimiter(text: &[u8]) -> u8 {
    let first = text.split(|b| *b == b'\n').next().unwrap_or_default();
    b",;\t".iter().copied().find(|sign| first.contains(sign)).unwrap_or(b',')
}

impl Line<'_> {
    /// The text of a cell; none if it is empty or there is no such column.
    pub fn text(&self, column: &str) -> Option<&str> {
        let at = self.headings.iter().position(|h| h.eq_ignore_ascii_case(column))?;
        self.cells.get(at).filter(|text| !text.is_empty())
    }

    /// What a cell says.
    pub fn value<T: FromStr<Err: ToString>>(&self, column: &str) -> Result<Option<T>, String> {
        self.text(column).map(str::parse).transpose().map_err(|e: T::Err| e.to_string())
    }
}
