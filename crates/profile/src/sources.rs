//! The sources that a criteria file lists once and its limits name.

use crate::read::{Page, Section};
use grade::{Faith, Source};
use std::cell::RefCell;

/// One `[sources.NAME]`.
struct Listed {
    name: String,
    at: usize,
    /// None if it has a fault of its own.
    source: Option<Source>,
}

/// Every `[sources.NAME]` of a file, and which of them were named.
pub(crate) struct Sources<'p> {
    page: &'p Page<'p>,
    listed: Vec<Listed>,
    named: RefCell<Vec<String>>,
}

impl<'p> Sources<'p> {
    /// Reads the section `[sources]`.
    pub fn read(page: &'p Page<'p>, root: &Section<'p>) -> Sources<'p> {
        let faiths = Faith::ALL.map(|faith| (faith.word(), faith));
        let read = |(name, section): (String, Section)| {
            let faith = section.word("faith", &faiths);
            let text = section.text("text", "\"the document, and how it is known\"");
            section.no_other_keys();
            let source = faith.zip(text).map(|(faith, text)| Source { faith, text: text.value });
            Listed { name, at: section.at, source }
        };
        let listed = root.named_sections("sources").into_iter().map(read).collect();
        Sources { page, listed, named: RefCell::default() }
    }

    /// The source that a section names by its key `source`.
    pub fn of(&self, section: &Section) -> Option<Source> {
        let name = section.text("source", "\"NAME\"")?;
        let Some(listed) = self.listed.iter().find(|listed| listed.name == name.value) else {
            let text =
                format!("no source \"{0}\" is listed; add [sources.{0}] with `faith` and `text`", name.value);
            self.page.fault(name.at, text);
            return None;
        };
        self.named.borrow_mut().push(name.value);
        listed.source.clone()
    }

    /// Notes every source that nothing named. Called once everything was read.
    pub fn no_others(&self) {
        let named = self.named.borrow();
        for listed in self.listed.iter().filter(|listed| !named.contains(&listed.name)) {
            let text = format!("nothing names the source \"{}\"; remove it", listed.name);
            self.page.fault(listed.at, text);
        }
    }
}
