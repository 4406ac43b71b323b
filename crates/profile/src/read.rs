//! Reading a TOML file key by key, noting every fault with its line instead of stopping at the first: a
//! missing key, an unknown one, a value of the wrong type. What values mean is checked by those who ask.

use crate::fault::{Fault, ProfileError};
use std::cell::RefCell;
use std::cmp::Ordering;
use terms::Um;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Faults of a file that are told.
const MOST_FAULTS: usize = 200;

/// A value and where it stands in the file (byte offset).
#[derive(Clone, Debug)]
pub(crate) struct At<T> {
    pub value: T,
    pub at: usize,
}

/// One file that is being read, and its faults so far.
pub(crate) struct Page<'t> {
    file: &'t str,
    text: &'t str,
    faults: RefCell<Vec<Fault>>,
}

impl<'t> Page<'t> {
    /// Reads a file's text by `read`, which notes faults and gives what it could make of the rest.
    ///
    /// # Errors
    /// All faults noted; where the text is no TOML, those of its syntax alone.
    pub fn read<T>(
        file: &'t str,
        text: &'t str,
        read: impl FnOnce(&Page<'t>, &Section) -> Option<T>,
    ) -> Result<T, ProfileError> {
        let page = Page { file, text, faults: RefCell::default() };
        let (root, errors) = DeTable::parse_recoverable(text);
        for error in errors {
            let at = error.span().map_or(0, |span| span.start);
            page.fault(at, format!("this is no TOML: {}", error.message().replace('\n', ", ")));
        }
        if !page.faults.borrow().is_empty() {
            return Err(page.refused());
        }
        let root = Section::new(&page, String::new(), root.span().start, root.get_ref());
        let value = read(&page, &root);
        root.no_other_keys();
        match value {
            Some(value) if page.faults.borrow().is_empty() => Ok(value),
            _ => Err(page.refused()),
        }
    }

    fn refused(&self) -> ProfileError {
        ProfileError::new(self.file, self.faults.take())
    }

    /// Notes a fault at a byte offset; of more than anybody mends at once, that there are more.
    pub fn fault(&self, at: usize, text: String) {
        let text = match self.faults.borrow().len().cmp(&MOST_FAULTS) {
            Ordering::Less => text,
            Ordering::Equal => "there are more faults than these; mend them first".to_owned(),
            Ordering::Greater => return,
        };
        let line = 1 + self.text.bytes().take(at).filter(|&byte| byte == b'\n').count();
        self.faults.borrow_mut().push(Fault { line, text });
    }
}

/// One table of a file. Keys are asked for by name; the rest are faults.
pub(crate) struct Section<'p> {
    page: &'p Page<'p>,
    /// As it is written: "[class]"; empty for the file itself.
    name: String,
    /// Where it stands (byte offset).
    pub at: usize,
    table: &'p DeTable<'p>,
    asked: RefCell<Vec<&'static str>>,
}

impl<'p> Section<'p> {
    fn new(page: &'p Page<'p>, name: String, at: usize, table: &'p DeTable<'p>) -> Section<'p> {
        Section { page, name, at, table, asked: RefCell::default() }
    }

    /// Notes every key that was not asked for. Called once all keys were.
    pub fn no_other_keys(&self) {
        let asked = self.asked.borrow();
        for key in self.table.keys().filter(|key| !asked.contains(&key.get_ref().as_ref())) {
            let text = format!(
                "unknown key `{}`{}; the keys here are {}",
                key.get_ref(),
                self.place(),
                asked.join(", ")
            );
            self.page.fault(key.span().start, text);
        }
    }

    /// Where a table that is missing would be added: after the last line for the file itself.
    fn end(&self) -> usize {
        if self.name.is_empty() { self.page.text.trim_end().len() } else { self.at }
    }

    fn place(&self) -> String {
        if self.name.is_empty() { String::new() } else { format!(" in {}", self.name) }
    }

    fn get(&self, key: &'static str) -> Option<&'p Spanned<DeValue<'p>>> {
        let mut asked = self.asked.borrow_mut();
        if !asked.contains(&key) {
            asked.push(key);
        }
        self.table.get(key)
    }

    /// The value of a key that must be there; `example` shows how it is written.
    fn must(&self, key: &'static str, example: &str) -> Option<&'p Spanned<DeValue<'p>>> {
        let value = self.get(key);
        if value.is_none() {
            let text = format!("`{key}` is missing{}; add `{key} = {example}`", self.place());
            self.page.fault(self.at, text);
        }
        value
    }

    /// Notes that the value of `key` at `at` is not what it must be.
    fn wrong<T>(&self, key: &str, at: usize, is: &str, write: &str) -> Option<T> {
        self.page.fault(at, format!("`{key}`{} is {is}; write {write}", self.place()));
        None
    }

    /// A text of one line that is not empty.
    pub fn text(&self, key: &'static str, example: &str) -> Option<At<String>> {
        let value = self.must(key, example)?;
        let at = value.span().start;
        match value.get_ref().as_str() {
            Some(text) if text.trim().is_empty() => {
                self.wrong(key, at, "empty", &format!("a text such as {example}"))
            }
            Some(text) if text.chars().any(char::is_control) => {
                self.wrong(key, at, "a text with a line break or the like", "it in one line")
            }
            Some(text) => Some(At { value: text.to_owned(), at }),
            None => self.wrong(key, at, &described(value.get_ref()), &format!("a text such as {example}")),
        }
    }

    /// One of a list of words.
    pub fn word<T: Copy>(&self, key: &'static str, words: &[(&str, T)]) -> Option<T> {
        let names: Vec<String> = words.iter().map(|(name, _)| format!("\"{name}\"")).collect();
        let value = self.must(key, &names.join(" or "))?;
        let found = value.get_ref().as_str().and_then(|text| words.iter().find(|(name, _)| *name == text));
        if let Some((_, meant)) = found {
            return Some(*meant);
        }
        self.wrong(key, value.span().start, &described(value.get_ref()), &names.join(" or "))
    }

    /// `true` or `false`.
    pub fn flag(&self, key: &'static str) -> Option<bool> {
        let value = self.must(key, "false")?;
        let is = || described(value.get_ref());
        value.get_ref().as_bool().or_else(|| self.wrong(key, value.span().start, &is(), "true or false"))
    }

    /// A finite number that `allowed` lets pass; `what` says in words what that is.
    pub fn number(
        &self,
        key: &'static str,
        example: &str,
        what: &str,
        allowed: impl Fn(f64) -> bool,
    ) -> Option<At<f64>> {
        let value = self.must(key, example)?;
        let at = value.span().start;
        match number(value.get_ref()) {
            Some(value) if value.is_finite() && allowed(value) => Some(At { value, at }),
            _ => self.wrong(key, at, &described(value.get_ref()), &format!("{what}, such as {example}")),
        }
    }

    /// A length in micrometres, 0 or above.
    pub fn length(&self, key: &'static str, example: &str) -> Option<At<Um>> {
        let what = "a number of micrometres without a unit, 0 or above";
        self.number(key, example, what, |um| um >= 0.0).map(|At { value, at }| At { value: Um(value), at })
    }

    /// A length in micrometres above 0.
    pub fn positive_length(&self, key: &'static str, example: &str) -> Option<At<Um>> {
        let what = "a number of micrometres without a unit, above 0";
        self.number(key, example, what, |um| um > 0.0).map(|At { value, at }| At { value: Um(value), at })
    }

    /// Where the value of a key that may be missing stands (byte offset).
    pub fn at_of(&self, key: &'static str) -> Option<usize> {
        self.get(key).map(|value| value.span().start)
    }

    /// The value of a key as it stands, for those who read it in a way of their own.
    pub fn value(&self, key: &'static str, example: &str) -> Option<&'p Spanned<DeValue<'p>>> {
        self.must(key, example)
    }

    /// Notes that the value of a key, which stands at `at`, is not what it must be.
    pub fn refuse<T>(&self, key: &str, value: &Spanned<DeValue>, write: &str) -> Option<T> {
        self.wrong(key, value.span().start, &described(value.get_ref()), write)
    }

    /// A list whose items are whole numbers from 0 to 65535.
    pub fn positions(&self, key: &'static str, example: &str) -> Option<At<Vec<u16>>> {
        let value = self.must(key, example)?;
        let list = whole_numbers(value.get_ref());
        let write = format!("a list of whole numbers such as {example}");
        match list {
            Some(list) => Some(At { value: list, at: value.span().start }),
            None => self.refuse(key, value, &write),
        }
    }

    /// A list of texts, none of them empty.
    pub fn texts(&self, key: &'static str, example: &str) -> Option<At<Vec<String>>> {
        let value = self.must(key, example)?;
        let text =
            |item: &Spanned<DeValue>| item.get_ref().as_str().filter(|t| !t.is_empty()).map(str::to_owned);
        match value.get_ref().as_array().and_then(|list| list.iter().map(text).collect()) {
            Some(list) => Some(At { value: list, at: value.span().start }),
            None => self.refuse(key, value, &format!("a list of texts such as {example}")),
        }
    }

    /// A list of lists of whole numbers from 0 to 65535.
    pub fn grid(&self, key: &'static str, example: &str) -> Option<At<Vec<Vec<u16>>>> {
        let value = self.must(key, example)?;
        let rows = value.get_ref().as_array();
        let rows = rows.and_then(|rows| rows.iter().map(|row| whole_numbers(row.get_ref())).collect());
        match rows {
            Some(rows) => Some(At { value: rows, at: value.span().start }),
            None => self.refuse(key, value, &format!("lists of whole numbers such as {example}")),
        }
    }

    /// The table under a key.
    pub fn section(&self, key: &'static str) -> Option<Section<'p>> {
        let Some(value) = self.get(key) else {
            self.page.fault(self.end(), format!("the section [{key}] is missing; add it"));
            return None;
        };
        match value.get_ref().as_table() {
            Some(table) => Some(Section::new(self.page, format!("[{key}]"), value.span().start, table)),
            None => self.refuse(key, value, &format!("it as a section [{key}]")),
        }
    }

    /// The tables of a list, of which there is at least one.
    pub fn sections(&self, key: &'static str) -> Option<Vec<Section<'p>>> {
        let Some(value) = self.get(key) else {
            let text = match self.name.is_empty() {
                true => format!("the list of [[{key}]] is missing; add at least one table [[{key}]]"),
                false => format!("`{key}` is missing{}; add a list of at least one table", self.place()),
            };
            self.page.fault(self.end(), text);
            return None;
        };
        let list = value.get_ref().as_array().filter(|list| !list.is_empty());
        let tables = list.and_then(|list| list.iter().map(|item| self.item(key, item)).collect());
        tables.or_else(|| self.refuse(key, value, &format!("it as a list of tables, at least one [[{key}]]")))
    }

    fn item(&self, key: &str, item: &'p Spanned<DeValue<'p>>) -> Option<Section<'p>> {
        let table = item.get_ref().as_table()?;
        Some(Section::new(self.page, format!("[[{key}]]"), item.span().start, table))
    }

    /// The tables under a key by their own names, such as [sources.NAME].
    pub fn named_sections(&self, key: &'static str) -> Vec<(String, Section<'p>)> {
        let Some(section) = self.section(key) else { return vec![] };
        let named = section.table.iter().filter_map(|(name, value)| {
            let (name, at) = (name.get_ref().to_string(), name.span().start);
            let Some(table) = value.get_ref().as_table() else {
                return section.refuse(&name, value, &format!("it as a section [{key}.{name}]"));
            };
            let label = format!("[{key}.{name}]");
            Some((name, Section::new(self.page, label, at, table)))
        });
        named.collect()
    }

    /// Notes a fault of the section as a whole.
    pub fn fault(&self, text: String) {
        self.page.fault(self.at, text);
    }
}

/// A number, whole or not; NaN and infinities as they are.
fn number(value: &DeValue) -> Option<f64> {
    match value {
        DeValue::Float(float) => float.as_str().parse().ok(),
        DeValue::Integer(integer) => {
            i64::from_str_radix(integer.as_str(), integer.radix()).ok().map(|n| n as f64)
        }
        _ => None,
    }
}

/// A whole number from 0 up.
pub(crate) fn whole_number<N: TryFrom<i64>>(value: &DeValue) -> Option<N> {
    let integer = value.as_integer()?;
    i64::from_str_radix(integer.as_str(), integer.radix()).ok()?.try_into().ok()
}

fn whole_numbers(value: &DeValue) -> Option<Vec<u16>> {
    value.as_array()?.iter().map(|item| whole_number(item.get_ref())).collect()
}

/// What a value is, in a few words.
fn described(value: &DeValue) -> String {
    match value {
        DeValue::String(text) if text.chars().count() <= 40 => format!("the text {:?}", text.as_ref()),
        DeValue::String(_) => "a long text".to_owned(),
        DeValue::Integer(integer) => integer.to_string(),
        DeValue::Float(float) => float.to_string(),
        DeValue::Boolean(flag) => flag.to_string(),
        DeValue::Datetime(_) => "a date".to_owned(),
        DeValue::Array(list) if list.is_empty() => "an empty list".to_owned(),
        DeValue::Array(_) => "a list".to_owned(),
        DeValue::Table(_) => "a table".to_owned(),
    }
}
