//! A cable file: the polarity maps of one cable type, one for each number of fibres and rows.

use crate::criteria_file::id;
use crate::fault::ProfileError;
use crate::read::{Page, Section};
use crate::sources::Sources;
use grade::CableMap;
use grade::polarity::Strand;
use terms::Layout;

/// The maps of one cable type.
#[derive(Clone, Debug, PartialEq)]
pub struct CableFile {
    /// `type-a` or whatever the file calls it.
    pub id: String,
    maps: Vec<RowedMap>,
}

/// A map and the number of rows of the layouts that it is for.
#[derive(Clone, Debug, PartialEq)]
struct RowedMap {
    rows: u16,
    map: CableMap,
}

impl CableFile {
    /// The map for a layout: the one with its number of rows and its very positions.
    pub fn map_for(&self, layout: &Layout) -> Option<&CableMap> {
        let positions = layout.places.iter().map(|place| place.position);
        let fits = |rowed: &&RowedMap| {
            rowed.rows == layout.rows && rowed.map.strands().iter().map(|s| s.near).eq(positions.clone())
        };
        self.maps.iter().find(fits).map(|rowed| &rowed.map)
    }
}

/// Reads and checks a cable file; `name` stands in the error.
///
/// # Errors
/// Every fault of the file at once, each with its line and how to mend it.
pub fn parse_cable(name: &str, text: &str) -> Result<CableFile, ProfileError> {
    Page::read(name, text, |page, root| {
        let sources = Sources::read(page, root);
        let id = id(page, root);
        let sections = root.sections("maps")?;
        let named = id.as_deref().unwrap_or_default();
        let maps: Vec<_> = sections.iter().map(|section| map(page, section, &sources, named)).collect();
        sources.no_others();
        Some(CableFile { id: id?, maps: maps.into_iter().collect::<Option<_>>()? })
    })
}

fn map(page: &Page, section: &Section, sources: &Sources, id: &str) -> Option<RowedMap> {
    let title = section.text("title", "\"a line for people\"");
    let rows = section.number("rows", "1", "a whole number of at least 1", |rows| {
        rows >= 1.0 && rows.fract() == 0.0 && rows <= f64::from(u16::MAX)
    });
    let near = section.positions("near", "[1, 2]");
    let far = section.positions("far", "[2, 1]");
    let duplex = section.grid("duplex", "[[1, 2]]");
    let source = sources.of(section);
    section.no_other_keys();
    let (near, far, duplex) = (near?, far?, duplex?);
    if near.value.len() != far.value.len() {
        page.fault(
            far.at,
            "`far` and `near` are not equally long; write one far position for each near one".to_owned(),
        );
        return None;
    }
    let pairs: Option<Vec<[u16; 2]>> = duplex.value.into_iter().map(|pair| pair.try_into().ok()).collect();
    let Some(pairs) = pairs else {
        page.fault(duplex.at, "`duplex` holds something else than pairs; write [[1, 2], [3, 4]]".to_owned());
        return None;
    };
    let strands = near.value.iter().zip(&far.value).map(|(&near, &far)| Strand { near, far }).collect();
    let map = CableMap::new(id.to_owned(), title?.value, source?, strands, pairs);
    match map {
        Ok(map) => Some(RowedMap { rows: rows?.value as u16, map }),
        Err(error) => {
            section.fault(format!("{error}; mend the map"));
            None
        }
    }
}
