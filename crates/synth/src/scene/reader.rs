//! Reads the tables of a scene file key by key, with types checked and every fault gathered with its line.

use crate::check::Wrong;
use crate::error::Fault;
use crate::shape::Spot;
use std::collections::BTreeMap;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

type Value<'i> = Spanned<DeValue<'i>>;

/// One table of the file, whose keys are taken one by one.
pub(super) struct Section<'i> {
    text: &'i str,
    name: String,
    line: usize,
    keys: BTreeMap<String, (usize, &'i Value<'i>)>,
    lines: BTreeMap<String, usize>,
    pub(super) faults: Vec<Fault>,
}

/// The line, from 1, that a byte of the text lies in.
pub(super) fn line_of(text: &str, byte: usize) -> usize {
    1 + text.as_bytes().iter().take(byte).filter(|b| **b == b'\n').count()
}

impl<'i> Section<'i> {
    /// The keys of a table called `name` that starts at the given byte.
    pub(super) fn new(text: &'i str, name: &str, start: usize, table: &'i DeTable<'i>) -> Section<'i> {
        let keys: BTreeMap<String, (usize, &Value)> = table
            .iter()
            .map(|(k, v)| (k.get_ref().to_string(), (line_of(text, k.span().start), v)))
            .collect();
        let lines = keys.iter().map(|(k, v)| (k.clone(), v.0)).collect();
        Section { text, name: name.to_owned(), line: line_of(text, start), keys, lines, faults: Vec::new() }
    }

    /// The line in which this table starts.
    pub(super) fn line(&self) -> usize {
        self.line
    }

    fn take(&mut self, key: &str) -> Option<(usize, &'i Value<'i>)> {
        self.keys.remove(key)
    }

    fn fault(&mut self, line: usize, text: String) {
        self.faults.push(Fault { line: Some(line), text });
    }

    fn wrong_type(&mut self, line: usize, key: &str, wanted: &str, found: &DeValue) {
        let text = format!("`{key}` must be {wanted}, not {}", article(found.type_str()));
        self.fault(line, text);
    }

    /// Says that a key that is needed is not there.
    pub(super) fn missing(&mut self, key: &str, what: &str) {
        let text = format!("{} lacks `{key}`, {what}", self.name);
        self.fault(self.line, text);
    }

    /// Whether the key was in the file.
    pub(super) fn has(&self, key: &str) -> bool {
        self.lines.contains_key(key)
    }

    /// A number into `into`, if the key is there.
    pub(super) fn number(&mut self, key: &str, into: &mut f64) -> bool {
        let Some((line, value)) = self.take(key) else { return false };
        match as_number(value.get_ref()) {
            Some(number) => *into = number,
            None => self.wrong_type(line, key, "a number", value.get_ref()),
        }
        true
    }

    /// A whole number from `low` to `high`, if the key is there.
    pub(super) fn whole(&mut self, key: &str, low: u64, high: u64) -> Option<u64> {
        let (line, value) = self.take(key)?;
        match as_whole(value.get_ref()) {
            Some(n) if (low..=high).contains(&n) => Some(n),
            Some(n) => {
                self.fault(line, format!("`{key}` must be from {low} to {high}, not {n}"));
                None
            }
            None => {
                let wanted = format!("a whole number from {low} to {high}");
                self.wrong_type(line, key, &wanted, value.get_ref());
                None
            }
        }
    }

    /// Yes or no into `into`, if the key is there.
    pub(super) fn flag(&mut self, key: &str, into: &mut bool) {
        let Some((line, value)) = self.take(key) else { return };
        match value.get_ref().as_bool() {
            Some(flag) => *into = flag,
            None => self.wrong_type(line, key, "true or false", value.get_ref()),
        }
    }

    /// A text, if the key is there.
    pub(super) fn text(&mut self, key: &str) -> Option<String> {
        let (line, value) = self.take(key)?;
        match value.get_ref().as_str() {
            Some(text) => Some(text.to_owned()),
            None => {
                self.wrong_type(line, key, "a text in quotes", value.get_ref());
                None
            }
        }
    }

    /// One of some words, if the key is there.
    pub(super) fn word<T: Copy>(&mut self, key: &str, words: &[(&str, T)], into: &mut T) {
        let line = self.lines.get(key).copied().unwrap_or(self.line);
        let Some(text) = self.text(key) else { return };
        match words.iter().find(|(word, _)| *word == text) {
            Some((_, value)) => *into = *value,
            None => {
                let list: Vec<String> = words.iter().map(|(w, _)| format!("\"{w}\"")).collect();
                self.fault(line, format!("`{key}` must be one of {}, not \"{text}\"", list.join(", ")));
            }
        }
    }

    /// A place [x, y] into `into`, if the key is there.
    pub(super) fn place(&mut self, key: &str, into: &mut Spot) -> bool {
        let Some((line, value)) = self.take(key) else { return false };
        match as_place(value.get_ref()) {
            Some(place) => *into = place,
            None => self.wrong_type(line, key, "two numbers [x, y]", value.get_ref()),
        }
        true
    }

    /// A list of places, if the key is there.
    pub(super) fn places(&mut self, key: &str) -> Option<Vec<Spot>> {
        let (line, value) = self.take(key)?;
        let list = value.get_ref().as_array().map(|a| a.iter().map(|v| as_place(v.get_ref())).collect());
        match list {
            Some(Some(places)) => Some(places),
            _ => {
                self.fault(line, format!("`{key}` must be a list of points, each [x, y]"));
                None
            }
        }
    }

    /// A list of position numbers, if the key is there.
    pub(super) fn positions(&mut self, key: &str) -> Option<Vec<u16>> {
        let (line, value) = self.take(key)?;
        let one = |v: &Value| as_whole(v.get_ref()).and_then(|n| u16::try_from(n).ok());
        let list = value.get_ref().as_array().map(|a| a.iter().map(one).collect());
        match list {
            Some(Some(numbers)) => Some(numbers),
            _ => {
                self.fault(line, format!("`{key}` must be a list of position numbers"));
                None
            }
        }
    }

    /// A table within this one, if the key is there.
    pub(super) fn table(&mut self, key: &str) -> Option<Section<'i>> {
        let (line, value) = self.take(key)?;
        match value.get_ref().as_table() {
            Some(table) => Some(Section::new(self.text, &format!("[{key}]"), value.span().start, table)),
            None => {
                self.wrong_type(line, key, "a table", value.get_ref());
                None
            }
        }
    }

    /// The tables of a list `[[key]]`.
    pub(super) fn tables(&mut self, key: &str) -> Vec<Section<'i>> {
        let Some((line, value)) = self.take(key) else { return Vec::new() };
        let of = |v: &'i Value<'i>| {
            let table = v.get_ref().as_table()?;
            Some(Section::new(self.text, "this mark", v.span().start, table))
        };
        let list: Option<Option<Vec<Section>>> =
            value.get_ref().as_array().map(|a| a.iter().map(of).collect());
        match list {
            Some(Some(sections)) => sections,
            _ => {
                self.fault(line, format!("`{key}` must be a list of tables, each headed [[{key}]]"));
                Vec::new()
            }
        }
    }

    /// Notes what a check found wrong, each at the line of its key. A key that was already at fault is not
    /// judged twice.
    pub(super) fn note(&mut self, wrong: Vec<Wrong>) {
        for w in wrong {
            let line = self.lines.get(w.field).copied().unwrap_or(self.line);
            if !self.faults.iter().any(|f| f.line == Some(line)) {
                self.fault(line, w.text);
            }
        }
    }

    /// Ends the table: every key that nothing asked for is a fault.
    pub(super) fn finish(mut self, known: &[&str]) -> Vec<Fault> {
        for (key, (line, _)) in std::mem::take(&mut self.keys) {
            let hint = match nearest(&key, known) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("known here are {}", known.join(", ")),
            };
            self.fault(line, format!("{} has no key `{key}`; {hint}", self.name));
        }
        self.faults
    }
}

fn article(kind: &str) -> String {
    let vowel = kind.starts_with(['a', 'e', 'i', 'o', 'u']);
    format!("{} {kind}", if vowel { "an" } else { "a" })
}

fn as_number(value: &DeValue) -> Option<f64> {
    match value {
        DeValue::Float(f) => f.as_str().replace('_', "").parse().ok(),
        DeValue::Integer(i) => {
            i64::from_str_radix(&i.as_str().replace('_', ""), i.radix()).ok().map(|n| n as f64)
        }
        _ => None,
    }
}

fn as_whole(value: &DeValue) -> Option<u64> {
    let integer = value.as_integer()?;
    u64::from_str_radix(&integer.as_str().replace('_', ""), integer.radix()).ok()
}

fn as_place(value: &DeValue) -> Option<Spot> {
    let list = value.as_array()?;
    match (list.len(), list.first(), list.get(1)) {
        (2, Some(x), Some(y)) => Some((as_number(x.get_ref())?, as_number(y.get_ref())?)),
        _ => None,
    }
}

/// The known key that shares most of its letters in order with this one, if most of them.
fn nearest<'a>(key: &str, known: &[&'a str]) -> Option<&'a str> {
    let common = |other: &str| {
        let mut row = vec![0usize; other.len() + 1];
        for a in key.bytes() {
            let mut left_above = 0;
            for (i, b) in other.bytes().enumerate() {
                let above = row[i + 1];
                row[i + 1] = if a == b { left_above + 1 } else { above.max(row[i]) };
                left_above = above;
            }
        }
        row[other.len()]
    };
    let best = known.iter().max_by_key(|k| (2 * common(k) * 1000) / (k.len() + key.len()))?;
    (4 * common(best) >= 3 * best.len().max(key.len()) - 1).then_some(best)
}
