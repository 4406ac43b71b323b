//! Tier 1: a table of loss and length, read by a mapping. A row that cannot be used is left out and named with its
//! line; nothing is guessed and nothing dropped in silence.

use crate::mapping::Mapping;
use crate::number;
use csv::StringRecord;
use std::collections::BTreeMap;

/// What an instrument's file says of a measurement; it is copied, never judged here.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Told {
    /// It says pass.
    Pass,
    /// It says fail.
    Fail,
}

/// One measurement of loss.
#[derive(Clone, Debug, PartialEq)]
pub struct LossRow {
    /// Line of the table, from 1.
    pub line: u64,
    /// Identifier, as it stands there without the spaces about it.
    pub identifier: String,
    /// Number of the fibre; none if the table has none.
    pub fibre: Option<u16>,
    /// Wavelength, nm.
    pub wavelength_nm: Option<f64>,
    /// Loss, dB; a gain is below zero.
    pub loss_db: f64,
    /// Length, m.
    pub length_m: Option<f64>,
    /// The limit that it was held to, dB.
    pub limit_db: Option<f64>,
    /// What the table says.
    pub verdict: Option<Told>,
    /// The direction, in the table's words.
    pub direction: Option<String>,
}

impl LossRow {
    /// Whether it lies over its limit, whatever the table says of it.
    pub fn is_over(&self) -> bool {
        self.limit_db.is_some_and(|limit| self.loss_db > limit)
    }

    /// What the table says against its own limit; none if the two agree or the limit is lacking. A loss over it that
    /// nothing is said of must not be passed over.
    pub fn contradiction(&self) -> Option<&'static str> {
        self.limit_db?;
        match (self.is_over(), self.verdict) {
            (true, None) => Some("nothing, and its loss lies over its limit"),
            (true, Some(Told::Pass)) => Some("pass, and its loss lies over its limit"),
            (false, Some(Told::Fail)) => Some("fail, and its loss lies within its limit"),
            _ => None,
        }
    }
}

/// Something to be told about a line of a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LineNote {
    /// The line, from 1.
    pub line: u64,
    /// One sentence.
    pub text: String,
}

/// A table, and what was wrong in it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LossTable {
    /// The rows that could be used, in order.
    pub rows: Vec<LossRow>,
    /// What could not be used, in order of line.
    pub notes: Vec<LineNote>,
}

/// Why a table cannot be read at all.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TableError {
    /// No line of headings.
    #[error("the table is empty; its first line must hold the headings")]
    Empty,
    /// A column that the mapping names is not there.
    #[error(
        "line 1: the table has no column {}; correct the headings in the mapping, or its delimiter",
        .0.iter().map(|(word, heading)| format!("{heading:?} ({word})")).collect::<Vec<_>>().join(", ")
    )]
    NoColumn(Vec<(&'static str, String)>),
    /// Two columns of one heading.
    #[error("line 1: the heading {0:?} stands over two columns; rename one")]
    Doubled(String),
    /// It is no text of UTF-8 or cannot be split into cells.
    #[error("line {line}: {why}; save the table as comma-separated text in UTF-8")]
    Unreadable {
        /// The line.
        line: u64,
        /// What is wrong.
        why: String,
    },
}

/// Reads a table.
///
/// # Errors
/// [`TableError`] if its headings do not fit the mapping or it is no text.
pub fn read_table(bytes: &[u8], mapping: &Mapping) -> Result<LossTable, TableError> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(mapping.delimiter)
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(bytes);
    let headings = reader.headers().map_err(|e| unreadable(&e))?.clone();
    let places = places(&headings, mapping)?;
    let mut table = LossTable::default();
    strange(&headings, mapping, &mut table.notes);
    let mut seen = BTreeMap::new();
    let mut lines = Lines { bytes, at: 0, line: 1 };
    for record in reader.records() {
        let record = record.map_err(|e| unreadable(&e))?;
        let line = lines.of(record.position().map_or(0, csv::Position::byte));
        if record.iter().all(str::is_empty) {
            continue;
        }
        let row = Cells { record: &record, places: &places, mapping, line, wide: headings.len() }.row();
        match row.and_then(|row| first_of_its_kind(row, &mut seen)) {
            Ok(row) => {
                table.rows.push(row);
            }
            Err(text) => table.notes.push(LineNote { line, text }),
        }
    }
    Ok(table)
}

/// Counts lines up to a record. The reader's own count is one behind where lines end in CR LF, for it takes the LF to
/// the next record.
struct Lines<'a> {
    bytes: &'a [u8],
    at: usize,
    line: u64,
}

impl Lines<'_> {
    /// Line of the record that begins at that byte or behind the line breaks there; asked in rising order.
    fn of(&mut self, byte: u64) -> u64 {
        let byte = usize::try_from(byte).unwrap_or(usize::MAX).min(self.bytes.len());
        let breaks = self.bytes[byte..].iter().take_while(|b| matches!(b, b'\r' | b'\n')).count();
        let start = (byte + breaks).max(self.at);
        self.line += self.bytes[self.at..start].iter().filter(|b| **b == b'\n').count() as u64;
        self.at = start;
        self.line
    }
}

fn unreadable(error: &csv::Error) -> TableError {
    let line = error.position().map_or(1, csv::Position::line);
    let why = match error.kind() {
        csv::ErrorKind::Utf8 { .. } => "the text is not UTF-8".to_owned(),
        _ => error.to_string(),
    };
    TableError::Unreadable { line, why }
}

type Places = BTreeMap<&'static str, usize>;

fn places(headings: &StringRecord, mapping: &Mapping) -> Result<Places, TableError> {
    if headings.iter().all(str::is_empty) {
        return Err(TableError::Empty);
    }
    let (mut places, mut missing) = (Places::new(), Vec::new());
    for (word, heading) in mapping.columns.named() {
        let mut at = headings.iter().enumerate().filter(|(_, h)| *h == heading).map(|(k, _)| k);
        match (at.next(), at.next()) {
            (Some(_), Some(_)) => return Err(TableError::Doubled(heading.to_owned())),
            (Some(k), None) => drop(places.insert(word, k)),
            (None, _) => missing.push((word, heading.to_owned())),
        }
    }
    if missing.is_empty() { Ok(places) } else { Err(TableError::NoColumn(missing)) }
}

/// Columns that the mapping does not know.
fn strange(headings: &StringRecord, mapping: &Mapping, notes: &mut Vec<LineNote>) {
    let named = mapping.columns.named();
    let known =
        |h: &str| named.iter().any(|(_, n)| *n == h) || mapping.columns.ignored.iter().any(|n| n == h);
    for heading in headings.iter().filter(|h| !h.is_empty() && !known(h)) {
        let text = format!("the column {heading:?} is not in the mapping and was not read");
        notes.push(LineNote { line: 1, text });
    }
}

/// The cells of one line.
struct Cells<'a> {
    record: &'a StringRecord,
    places: &'a Places,
    mapping: &'a Mapping,
    line: u64,
    wide: usize,
}

impl Cells<'_> {
    fn row(&self) -> Result<LossRow, String> {
        if self.record.len() != self.wide {
            return Err(format!(
                "{} cells under {} headings; the line was left out",
                self.record.len(),
                self.wide
            ));
        }
        let length = self.number("length")?.map(|v| v * self.mapping.metres);
        if length.is_some_and(|v| v < 0.0) {
            return Err("the length is below zero; the line was left out".to_owned());
        }
        let wavelength = self.number("wavelength")?.map(|v| v * self.mapping.nanometres);
        if wavelength.is_some_and(|v| !(400.0..=2000.0).contains(&v)) {
            return Err(
                "the wavelength is not from 400 to 2000 nm; state its unit, or correct the line".to_owned()
            );
        }
        Ok(LossRow {
            line: self.line,
            identifier: self.cell("identifier").ok_or("no identifier; the line was left out")?.to_owned(),
            fibre: self.fibre()?,
            wavelength_nm: wavelength,
            loss_db: self.number("loss")?.ok_or("no loss; the line was left out")?,
            length_m: length,
            limit_db: self.number("limit")?,
            verdict: self.verdict()?,
            direction: self.cell("direction").map(str::to_owned),
        })
    }

    /// A cell that is not empty.
    fn cell(&self, word: &str) -> Option<&str> {
        self.record.get(*self.places.get(word)?).filter(|cell| !cell.is_empty())
    }

    fn number(&self, word: &str) -> Result<Option<f64>, String> {
        let Some(cell) = self.cell(word) else { return Ok(None) };
        let sign = self.mapping.decimal;
        let wrong = || {
            format!("the {word} {cell:?} is no number with the decimal sign {sign:?}; the line was left out")
        };
        number::read(cell, sign).map(Some).ok_or_else(wrong)
    }

    fn fibre(&self) -> Result<Option<u16>, String> {
        let Some(cell) = self.cell("fibre") else { return Ok(None) };
        let number = cell.parse().ok().filter(|n| *n > 0);
        number
            .map(Some)
            .ok_or_else(|| format!("the fibre {cell:?} is no number from 1; the line was left out"))
    }

    fn verdict(&self) -> Result<Option<Told>, String> {
        let Some(cell) = self.cell("verdict") else { return Ok(None) };
        match self.mapping.verdicts.get(&cell.to_lowercase()) {
            Some(true) => Ok(Some(Told::Pass)),
            Some(false) => Ok(Some(Told::Fail)),
            None => {
                Err(format!("the verdict {cell:?} is not among the mapping's words; the line was left out"))
            }
        }
    }
}

type Key = (String, Option<u16>, Option<u64>, Option<String>);

/// Refuses a second row of one fibre at one wavelength in one direction.
fn first_of_its_kind(row: LossRow, seen: &mut BTreeMap<Key, (u64, f64)>) -> Result<LossRow, String> {
    let wavelength = row.wavelength_nm.map(f64::to_bits);
    let key = (crate::join::folded(&row.identifier), row.fibre, wavelength, row.direction.clone());
    if let Some((line, loss)) = seen.get(&key) {
        let same = if *loss == row.loss_db { "the same" } else { "another" };
        return Err(format!(
            "measured already on line {line}, with {same} loss; the first was kept, check which one counts"
        ));
    }
    seen.insert(key, (row.line, row.loss_db));
    Ok(row)
}
