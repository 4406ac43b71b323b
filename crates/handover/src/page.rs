//! A page as parts in order, the same for every way of showing it: what is told stands here once, how it looks in
//! `html` and `pdf`.

use crate::job::Picture;
use report::markup::with_sign;
use report::record::Verdict;

/// One page of the hand-over.
#[derive(Clone, Debug, PartialEq)]
pub struct Page {
    /// Its title.
    pub title: String,
    /// A line below it.
    pub subtitle: String,
    /// The line at its foot.
    pub foot: String,
    /// The date stated for the hand-over.
    pub date: String,
    /// The program that writes it.
    pub version: String,
    /// Its parts.
    pub parts: Vec<Part>,
}

/// One part of a page.
#[derive(Clone, Debug, PartialEq)]
pub enum Part {
    /// A heading of the second or third level.
    Heading(Level, String),
    /// A paragraph.
    Text(String),
    /// Sentences, one below the other.
    List(Vec<String>),
    /// A table.
    Table(Table),
    /// The positions of a face as they lie, key up.
    Map(Map),
    /// Pictures side by side, each with its line.
    Pictures(Vec<(String, Picture)>),
    /// Counts as bars, each with what chance would give.
    Bars(Bars),
}

/// How deep a heading lies below the title.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Level {
    /// A section.
    Two,
    /// A part of a section.
    Three,
}

/// A table whose first column names the row.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// What it shows.
    pub caption: String,
    /// Headings of the columns.
    pub head: Vec<String>,
    /// Rows, each as long as `head`.
    pub rows: Vec<Vec<Cell>>,
    /// Relative width of each column, for paper.
    pub widths: Vec<f32>,
}

/// One cell.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Words or numbers.
    Words(String),
    /// A verdict with a few words behind it.
    Mark(Standing, String),
    /// Words that lead to another page of the hand-over, by its file stem.
    Link(String, String),
}

/// A verdict, the lack of one, or a loss that asks for a look.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// As graded.
    Graded(Verdict),
    /// Never looked at.
    Unseen,
    /// A loss over the limit that its table has.
    Over,
}

impl Standing {
    /// Of a connector.
    pub fn of(verdict: Option<Verdict>) -> Standing {
        verdict.map_or(Standing::Unseen, Standing::Graded)
    }

    /// The word.
    pub const fn word(self) -> &'static str {
        match self {
            Standing::Graded(verdict) => verdict.word(),
            Standing::Unseen => "not inspected",
            Standing::Over => "over its limit",
        }
    }

    /// The word of the style.
    pub const fn class(self) -> &'static str {
        match self {
            Standing::Graded(verdict) => verdict.word(),
            Standing::Unseen => "unseen",
            Standing::Over => "over",
        }
    }
}

/// The positions of a face.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Map {
    /// In words, for those who do not see it.
    pub words: String,
    /// Position, row, column and verdict of each.
    pub places: Vec<(u16, u16, u16, Verdict)>,
}

/// Bars.
#[derive(Clone, Debug, PartialEq)]
pub struct Bars {
    /// What they show.
    pub caption: String,
    /// Label, count, and what chance would give.
    pub bars: Vec<(String, f64, f64)>,
}

/// Whether a sentence of a list begins with its own number: it stands without a bullet.
pub(crate) fn is_numbered(item: &str) -> bool {
    let number = item.split_once(". ").map_or("", |(number, _)| number);
    !number.is_empty() && number.bytes().all(|b| b.is_ascii_digit())
}

impl Part {
    fn with_signs(self) -> Part {
        match self {
            Part::Text(text) => Part::Text(with_sign(&text)),
            Part::List(items) => Part::List(items.iter().map(|item| with_sign(item)).collect()),
            Part::Table(table) => Part::Table(Table {
                rows: table
                    .rows
                    .into_iter()
                    .map(|row| row.into_iter().map(Cell::with_sign).collect())
                    .collect(),
                ..table
            }),
            other => other,
        }
    }
}

impl From<String> for Cell {
    fn from(words: String) -> Cell {
        Cell::Words(words)
    }
}

impl From<&str> for Cell {
    fn from(words: &str) -> Cell {
        Cell::Words(words.to_owned())
    }
}

impl Cell {
    fn with_sign(self) -> Cell {
        match self {
            Cell::Words(words) => Cell::Words(with_sign(&words)),
            Cell::Mark(standing, more) => Cell::Mark(standing, with_sign(&more)),
            link @ Cell::Link(..) => link,
        }
    }

    /// What it says.
    pub fn words(&self) -> String {
        match self {
            Cell::Words(words) | Cell::Link(words, _) => words.clone(),
            Cell::Mark(standing, more) if more.is_empty() => standing.word().to_owned(),
            Cell::Mark(standing, more) => format!("{}: {more}", standing.word()),
        }
    }
}

impl Page {
    /// The page with lengths written as on every drawn page, in `µm`.
    pub(crate) fn with_signs(self) -> Page {
        Page { parts: self.parts.into_iter().map(Part::with_signs).collect(), ..self }
    }

    /// A section's heading.
    pub(crate) fn section(&mut self, text: &str) {
        self.parts.push(Part::Heading(Level::Two, text.to_owned()));
    }

    /// A heading inside a section.
    pub(crate) fn part(&mut self, text: &str) {
        self.parts.push(Part::Heading(Level::Three, text.to_owned()));
    }

    /// A paragraph.
    pub(crate) fn text(&mut self, text: impl Into<String>) {
        self.parts.push(Part::Text(text.into()));
    }

    /// Sentences, or the one that stands where there are none.
    pub(crate) fn list(&mut self, items: Vec<String>, none: &str) {
        match items.is_empty() {
            true => self.text(none),
            false => self.parts.push(Part::List(items)),
        }
    }
}
