//! Layouts, criteria and cables by id or by path: a built-in file first, then a file of the user's.

use crate::failure::Failure;
use crate::read;
use grade::CableMap;
use profile::{CriteriaFile, ProfileError};
use std::path::Path;
use terms::Layout;

/// The layout of that id or path.
pub fn layout(name: &str) -> Result<Layout, Failure> {
    match profile::layout(name) {
        Some(layout) => Ok(layout),
        None => own("layout", name, &profile::layout_ids().join(", "), profile::parse_layout),
    }
}

/// The criteria of that id or path.
pub fn criteria(name: &str) -> Result<CriteriaFile, Failure> {
    match profile::criteria(name) {
        Some(file) => Ok(file),
        None => own("criteria", name, "an id that `pitchline criteria` lists", profile::parse_criteria),
    }
}

/// The map of the cable of that id or path for a layout.
pub fn cable(name: &str, layout: &Layout) -> Result<CableMap, Failure> {
    let ids = profile::cable_ids();
    let map = if ids.contains(&name) {
        profile::cable(name, layout)
    } else {
        own("cable", name, &ids.join(", "), profile::parse_cable)?.map_for(layout).cloned()
    };
    map.ok_or_else(|| Failure::NoCableMap { cable: name.to_owned(), layout: layout.id.clone() })
}

/// Reads a file of the user's; a name that is no path of anything is an unknown id.
fn own<T>(
    kind: &'static str,
    name: &str,
    known: &str,
    parse: impl Fn(&str, &str) -> Result<T, ProfileError>,
) -> Result<T, Failure> {
    let path = Path::new(name);
    if !path.exists() {
        return Err(Failure::UnknownProfile { kind, name: name.to_owned(), known: known.to_owned() });
    }
    parse(name, &read::text(path)?).map_err(Failure::Profile)
}
