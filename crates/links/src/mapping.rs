//! The mapping file: which column of a table holds what, in which unit and with which signs. Checked here as a whole,
//! with every fault named at once; reading the table is `loss`.

use serde::Deserialize;
use std::collections::BTreeMap;

/// Name and version of the format of a mapping file.
pub const FORMAT: &str = "pitchline.losses/1";

/// A checked mapping.
#[derive(Clone, Debug, PartialEq)]
pub struct Mapping {
    pub(crate) delimiter: u8,
    pub(crate) decimal: char,
    /// Heading of each column that is read.
    pub(crate) columns: Columns,
    /// Metres to the unit of length.
    pub(crate) metres: f64,
    /// Nanometres to the unit of wavelength.
    pub(crate) nanometres: f64,
    /// Words of the verdict column, lower case, and whether they mean a pass.
    pub(crate) verdicts: BTreeMap<String, bool>,
}

/// The headings, as they stand in the table.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Columns {
    pub identifier: String,
    pub loss: String,
    pub fibre: Option<String>,
    pub wavelength: Option<String>,
    pub length: Option<String>,
    pub limit: Option<String>,
    pub verdict: Option<String>,
    pub direction: Option<String>,
    /// Known and not read.
    #[serde(default)]
    pub ignored: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Raw {
    format: String,
    #[serde(default = "comma")]
    delimiter: String,
    #[serde(default = "point")]
    decimal: String,
    columns: Columns,
    #[serde(default)]
    units: Units,
    #[serde(default)]
    words: Words,
}

#[derive(Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct Units {
    length: Option<String>,
    wavelength: Option<String>,
}

#[derive(Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct Words {
    #[serde(default)]
    pass: Vec<String>,
    #[serde(default)]
    fail: Vec<String>,
}

fn comma() -> String {
    ",".to_owned()
}

fn point() -> String {
    ".".to_owned()
}

/// Why a mapping cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MappingError {
    /// It is no TOML, or lacks a key, or has one too many.
    #[error("the mapping does not read: {0}")]
    Toml(String),
    /// Every fault of what it says.
    #[error("the mapping is wrong: {}", .0.join("; "))]
    Faults(Vec<String>),
}

impl Mapping {
    /// Reads and checks the text of a mapping file.
    ///
    /// # Errors
    /// [`MappingError`] with every fault.
    pub fn parse(text: &str) -> Result<Mapping, MappingError> {
        let raw: Raw = toml::from_str(text).map_err(|e| MappingError::Toml(unread(text, &e)))?;
        let mut faults = Vec::new();
        if raw.format != FORMAT {
            faults.push(format!("format is {:?} and must be {FORMAT:?}", raw.format));
        }
        let delimiter = sign(&raw.delimiter, &[",", ";", "\t", "|"], "delimiter", &mut faults);
        let decimal = sign(&raw.decimal, &[".", ","], "decimal", &mut faults);
        if delimiter == decimal && delimiter == ',' {
            faults.push("delimiter and decimal are both a comma; state another delimiter".to_owned());
        }
        let metres =
            unit(raw.units.length, &[("m", 1.0), ("km", 1000.0), ("ft", 0.3048)], "length", &mut faults);
        let nanometres =
            unit(raw.units.wavelength, &[("nm", 1.0), ("um", 1000.0)], "wavelength", &mut faults);
        doubled(&raw.columns, &mut faults);
        let verdicts = words(&raw.words, &mut faults);
        if faults.is_empty() {
            let delimiter = u8::try_from(delimiter).unwrap_or(b',');
            return Ok(Mapping { delimiter, decimal, columns: raw.columns, metres, nanometres, verdicts });
        }
        Err(MappingError::Faults(faults))
    }
}

/// "line 2: unclosed table, expected `]`".
fn unread(text: &str, error: &toml::de::Error) -> String {
    let at =
        error.span().and_then(|span| text.get(..span.start)).map(|before| 1 + before.matches('\n').count());
    let why = error.message().split_whitespace().collect::<Vec<_>>().join(" ");
    at.map_or_else(|| why.clone(), |line| format!("line {line}: {why}"))
}

fn sign(stated: &str, allowed: &[&str], name: &str, faults: &mut Vec<String>) -> char {
    if !allowed.contains(&stated) {
        faults.push(format!("{name} is {stated:?} and must be one of {allowed:?}"));
    }
    stated.chars().next().unwrap_or(' ')
}

fn unit(stated: Option<String>, known: &[(&str, f64)], name: &str, faults: &mut Vec<String>) -> f64 {
    let Some(stated) = stated else { return 1.0 };
    known.iter().find(|(word, _)| *word == stated).map_or_else(
        || {
            let words: Vec<&str> = known.iter().map(|(word, _)| *word).collect();
            faults.push(format!("the unit of {name} is {stated:?} and must be one of {words:?}"));
            1.0
        },
        |(_, factor)| *factor,
    )
}

/// One heading cannot be two things.
fn doubled(columns: &Columns, faults: &mut Vec<String>) {
    let mut names: Vec<&str> = columns.named().into_iter().map(|(_, heading)| heading).collect();
    names.extend(columns.ignored.iter().map(String::as_str));
    names.sort_unstable();
    for pair in names.windows(2).filter(|pair| pair[0] == pair[1]) {
        faults.push(format!("the column {:?} is named twice", pair[0]));
    }
}

fn words(words: &Words, faults: &mut Vec<String>) -> BTreeMap<String, bool> {
    let mut known = BTreeMap::from([("pass".to_owned(), true), ("fail".to_owned(), false)]);
    let both = [(&words.pass, true), (&words.fail, false)];
    for (word, passes) in both.iter().flat_map(|(list, passes)| list.iter().map(move |w| (w, *passes))) {
        if known.insert(word.trim().to_lowercase(), passes).is_some_and(|before| before != passes) {
            faults.push(format!("the word {word:?} cannot mean both a pass and a fail"));
        }
    }
    known
}

impl Columns {
    /// What each heading is, by our word for it.
    pub(crate) fn named(&self) -> Vec<(&'static str, &str)> {
        let optional = [
            ("fibre", &self.fibre),
            ("wavelength", &self.wavelength),
            ("length", &self.length),
            ("limit", &self.limit),
            ("verdict", &self.verdict),
            ("direction", &self.direction),
        ];
        let mut all = vec![("identifier", self.identifier.as_str()), ("loss", self.loss.as_str())];
        all.extend(optional.into_iter().filter_map(|(word, heading)| Some((word, heading.as_deref()?))));
        all
    }
}
