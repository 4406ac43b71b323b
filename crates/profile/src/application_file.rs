//! An application file: which lane lies at which position, for the module and for the plug that goes into it.

use crate::criteria_file::{MODES, id};
use crate::fault::ProfileError;
use crate::read::{Page, Section};
use crate::sources::Sources;
use grade::Mode;
use grade::lanes::{LaneMap, SeenAt};
use terms::Layout;

/// The lanes of one application.
#[derive(Clone, Debug, PartialEq)]
pub struct ApplicationFile {
    /// `40gbase-sr4` or whatever the file calls it.
    pub id: String,
    /// What fibres it runs on, if the file says so.
    pub mode: Option<Mode>,
    maps: Vec<(u16, LaneMap)>,
}

impl ApplicationFile {
    /// The lanes in one view for a layout: the map with its number of rows that knows all its positions, and whose
    /// lanes all have one there.
    pub fn map_for(&self, layout: &Layout, seen: SeenAt) -> Option<&LaneMap> {
        let populated = |position: u16| layout.places.iter().any(|place| place.position == position);
        let fits = |(rows, map): &&(u16, LaneMap)| {
            *rows == layout.rows
                && map.seen() == seen
                && layout.places.iter().all(|place| map.knows(place.position))
                && map.used().all(populated)
        };
        self.maps.iter().find(fits).map(|(_, map)| map)
    }
}

/// Reads and checks an application file; `name` stands in the error.
///
/// # Errors
/// Every fault of the file at once, each with its line and how to mend it.
pub fn parse_application(name: &str, text: &str) -> Result<ApplicationFile, ProfileError> {
    Page::read(name, text, |page, root| {
        let sources = Sources::read(page, root);
        let id = id(page, root);
        let title = root.text("title", "\"a line for people\"");
        let mode = match root.at_of("mode") {
            Some(_) => root.word("mode", &MODES).map(Some),
            None => Some(None),
        };
        let sections = root.sections("maps")?;
        let named = (id.clone().unwrap_or_default(), title.map(|t| t.value).unwrap_or_default());
        let maps: Vec<_> = sections.iter().map(|section| map(section, &sources, &named)).collect();
        sources.no_others();
        Some(ApplicationFile { id: id?, mode: mode?, maps: maps.into_iter().collect::<Option<_>>()? })
    })
}

fn map(section: &Section, sources: &Sources, named: &(String, String)) -> Option<(u16, LaneMap)> {
    let seen = section.word("seen", &[SeenAt::Module, SeenAt::Plug].map(|seen| (seen.word(), seen)));
    let rows = section.number("rows", "1", "a whole number of at least 1", |rows| {
        rows >= 1.0 && rows.fract() == 0.0 && rows <= f64::from(u16::MAX)
    });
    let transmit = section.positions("transmit", "[1, 2]");
    let receive = section.positions("receive", "[4, 3]");
    let unused = section.positions("unused", "[]");
    let source = sources.of(section);
    section.no_other_keys();
    let places = (transmit?.value, receive?.value, unused?.value);
    match LaneMap::new(named.clone(), seen?, source?, (&places.0, &places.1, &places.2)) {
        Ok(map) => Some((rows?.value as u16, map)),
        Err(error) => {
            section.fault(format!("{error}; mend the map"));
            None
        }
    }
}
