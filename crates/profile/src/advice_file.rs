//! An advice file: what to do about what was found, by kind, size, place and history.

use crate::criteria_file::id;
use crate::fault::ProfileError;
use crate::read::{Page, Section};
use crate::sources::Sources;
use grade::Source;
use grade::advice::{Course, History, Matter, Remedy, Spot};
use terms::{Kind, Um};

/// Rules of advice, and when to stop.
#[derive(Clone, Debug, PartialEq)]
pub struct AdviceFile {
    /// What the file calls itself.
    pub id: String,
    /// Wet cleanings after which to stop.
    pub tries: usize,
    /// Whose word comes before this advice, as a sentence.
    pub defers: String,
    /// Where these two come from.
    pub source: Source,
    /// The rules, in order.
    pub rules: Vec<Remedy>,
}

const MATTERS: [(&str, Matter); 6] = [
    ("scratch", Matter::Mark(Kind::Scratch)),
    ("particle", Matter::Mark(Kind::Particle)),
    ("pit", Matter::Mark(Kind::Pit)),
    ("film", Matter::Mark(Kind::Film)),
    ("chip", Matter::Mark(Kind::Chip)),
    ("dirt", Matter::Dirt),
];

const SPOTS: [(&str, Spot); 4] =
    [("core", Spot::Core), ("fibre", Spot::Fibre), ("ferrule", Spot::Ferrule), ("guide", Spot::Guide)];

const HISTORIES: [(&str, History); 7] = [
    ("first", History::First),
    ("dry", History::Dry),
    ("wet", History::Wet),
    ("both", History::Both),
    ("stayed", History::Stayed),
    ("new", History::New),
    ("tried", History::Tried),
];

const COURSES: [(&str, Course); 4] = [
    ("clean", Course::Clean),
    ("doubt", Course::Doubt),
    ("replace", Course::Replace),
    ("warn", Course::Warn),
];

/// Topics that cautions are written for.
const TOPICS: [(&str, &str); 2] = [("light", "light"), ("solvent", "solvent")];

/// Reads and checks an advice file; `name` stands in the error.
///
/// # Errors
/// Every fault of the file at once, each with its line and how to mend it.
pub fn parse_advice(name: &str, text: &str) -> Result<AdviceFile, ProfileError> {
    Page::read(name, text, |page, root| {
        let sources = Sources::read(page, root);
        let (id, title) = (id(page, root), root.text("title", "\"a line for people\""));
        let tries = root.number("tries", "3", "a whole number from 1 to 100", |n| {
            n.fract() == 0.0 && (1.0..=100.0).contains(&n)
        });
        let defers = root.text("defers", "\"The cable owner's procedure comes first.\"");
        let source = sources.of(root);
        let rules: Vec<_> = root.sections("rules")?.iter().map(|s| rule(page, s, &sources)).collect();
        sources.no_others();
        title?;
        Some(AdviceFile {
            id: id?,
            tries: tries?.value as usize,
            defers: defers?.value,
            source: source?,
            rules: rules.into_iter().collect::<Option<_>>()?,
        })
    })
}

fn rule(page: &Page, section: &Section, sources: &Sources) -> Option<Remedy> {
    let matters = words(page, section, "kinds", &MATTERS);
    let spots = optional(page, section, "places", &SPOTS);
    let history = optional(page, section, "history", &HISTORIES);
    let mind = optional(page, section, "mind", &TOPICS);
    let over = match section.at_of("over") {
        Some(_) => section.positive_length("over", "20").map(|over| over.value),
        None => Some(Um(0.0)),
    };
    let course = match section.at_of("course") {
        Some(_) => course(page, section),
        None => Some(Course::default()),
    };
    let say = section.text("say", "\"Clean {at} ({what}).\"");
    let source = sources.of(section);
    section.no_other_keys();
    Some(Remedy {
        matters: matters?,
        over: over?,
        spots: spots?,
        history: history?,
        course: course?,
        say: say?.value,
        mind: mind?.into_iter().map(str::to_owned).collect(),
        source: source?,
    })
}

/// Where a rule leads.
fn course(page: &Page, section: &Section) -> Option<Course> {
    let word = section.text("course", "\"replace\"")?;
    let known = COURSES.iter().find(|(name, _)| *name == word.value).map(|(_, course)| *course);
    if known.is_none() {
        let names = COURSES.map(|(name, _)| name).join(", ");
        page.fault(word.at, format!("`course` is {:?}; the words here are {names}", word.value));
    }
    known
}

fn optional<T: Copy>(
    page: &Page,
    section: &Section,
    key: &'static str,
    known: &[(&str, T)],
) -> Option<Vec<T>> {
    match section.at_of(key) {
        Some(_) => words(page, section, key, known),
        None => Some(vec![]),
    }
}

/// A list of words that are known.
fn words<T: Copy>(page: &Page, section: &Section, key: &'static str, known: &[(&str, T)]) -> Option<Vec<T>> {
    let list = section.texts(key, &format!("[\"{}\"]", known[0].0))?;
    let meaning = |word: &String| known.iter().find(|(name, _)| name == word).map(|(_, meaning)| *meaning);
    if let Some(stranger) = list.value.iter().find(|word| meaning(word).is_none()) {
        let names: Vec<&str> = known.iter().map(|(name, _)| *name).collect();
        page.fault(list.at, format!("`{key}` holds {stranger:?}; the words here are {}", names.join(", ")));
        return None;
    }
    Some(list.value.iter().filter_map(meaning).collect())
}
