//! A file of cautions: what to mind, by topic.

use crate::criteria_file::id;
use crate::fault::ProfileError;
use crate::read::{Page, Section};
use crate::sources::Sources;

/// Cautions by topic, in order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cautions(Vec<(String, String)>);

impl Cautions {
    /// What to mind with something: `light`, `solvent`.
    pub fn about(&self, topic: &str) -> Vec<String> {
        self.0.iter().filter(|(of, _)| of == topic).map(|(_, say)| say.clone()).collect()
    }
}

/// Reads and checks a file of cautions; `name` stands in the error.
///
/// # Errors
/// Every fault of the file at once, each with its line and how to mend it.
pub fn parse_cautions(name: &str, text: &str) -> Result<Cautions, ProfileError> {
    Page::read(name, text, |page, root| {
        let sources = Sources::read(page, root);
        let (id, title) = (id(page, root), root.text("title", "\"a line for people\""));
        let sections = root.sections("cautions")?;
        let all: Vec<_> = sections.iter().map(|section| caution(section, &sources)).collect();
        sources.no_others();
        id.zip(title)?;
        all.into_iter().collect::<Option<_>>().map(Cautions)
    })
}

fn caution(section: &Section, sources: &Sources) -> Option<(String, String)> {
    let topic = section.text("topic", "\"light\"");
    let say = section.text("say", "\"Mind it.\"");
    let source = sources.of(section);
    section.no_other_keys();
    source?;
    Some((topic?.value, say?.value))
}
