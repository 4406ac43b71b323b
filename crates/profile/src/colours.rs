//! The names of fibres' colours by their number.

use crate::fault::ProfileError;
use crate::read::Page;
use crate::sources::Sources;
use grade::Source;

/// Colours by the number of the fibre.
#[derive(Clone, Debug, PartialEq)]
pub struct Colours {
    /// A line for people.
    pub title: String,
    /// Where they come from.
    pub source: Source,
    names: Vec<String>,
}

impl Colours {
    /// All of them in order of number, from 1.
    pub fn names(&self) -> &[String] {
        &self.names
    }

    /// The colour of the fibre of that number, from 1.
    pub fn name(&self, number: u16) -> Option<&str> {
        self.names.get(usize::from(number).checked_sub(1)?).map(String::as_str)
    }
}

/// Reads and checks a file of colours; `name` stands in the error.
///
/// # Errors
/// Every fault of the file at once.
pub fn parse_colours(name: &str, text: &str) -> Result<Colours, ProfileError> {
    Page::read(name, text, |page, root| {
        let sources = Sources::read(page, root);
        let id = crate::criteria_file::id(page, root);
        let title = root.text("title", "\"a line for people\"");
        let names = root.texts("names", "[\"blue\", \"orange\"]");
        let source = sources.of(root);
        sources.no_others();
        id?;
        Some(Colours { title: title?.value, source: source?, names: names?.value })
    })
}
