//! Layouts, criteria and cables by id or by path: a built-in file first, then a file of the user's.

use crate::args::{Carries, SeenAt};
use crate::failure::Failure;
use crate::read;
use grade::advice::Counsel;
use grade::lanes::LaneMap;
use grade::{CableMap, Criteria, Mode};
use profile::{ApplicationFile, CriteriaFile, ProfileError};
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
        None => own("criteria", name, CRITERIA_IDS, profile::parse_criteria),
    }
}

/// The texts of the layout and the criteria of these ids or paths.
pub fn texts(layout: &str, criteria: &str) -> Result<(String, String), Failure> {
    let layout = match profile::layout_text(layout) {
        Some(text) => text.to_owned(),
        None => existing("layout", layout, &profile::layout_ids().join(", "))?,
    };
    let criteria = match profile::criteria_text(criteria) {
        Some(text) => text.to_owned(),
        None => existing("criteria", criteria, CRITERIA_IDS)?,
    };
    Ok((layout, criteria))
}

/// Where the ids of criteria stand.
const CRITERIA_IDS: &str = "an id that `pitchline criteria` lists";

/// The rules of advice of a file of the user's, with the built-in cautions.
pub fn counsel(path: &Path) -> Result<Counsel, Failure> {
    let text = read::text(path)?;
    let file = profile::parse_advice(&path.to_string_lossy(), &text).map_err(Failure::Profile)?;
    Ok(profile::with_cautions(file))
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

/// What the positions of a layout carry, if an application is named.
pub fn lanes(carries: &Carries, layout: &Layout, criteria: &Criteria) -> Result<Option<LaneMap>, Failure> {
    let seen = match carries.seen_at {
        SeenAt::Plug => grade::lanes::SeenAt::Plug,
        SeenAt::Module => grade::lanes::SeenAt::Module,
    };
    let Some(name) = carries.application.as_deref() else { return Ok(None) };
    let file = application_file(name)?;
    if let Some(mode) = file.mode.filter(|mode| *mode != criteria.class.mode) {
        let fibres = match mode {
            Mode::Multi => "multimode",
            Mode::Single => "single mode",
        };
        let (application, criteria) = (name.to_owned(), criteria.id.clone());
        return Err(Failure::OtherFibres { fibres, application, criteria });
    }
    mapped(&file, name, layout, seen).map(Some)
}

/// The lanes of the application of that id or path in one view.
pub fn application(name: &str, layout: &Layout, seen: grade::lanes::SeenAt) -> Result<LaneMap, Failure> {
    mapped(&application_file(name)?, name, layout, seen)
}

fn application_file(name: &str) -> Result<ApplicationFile, Failure> {
    match profile::application(name) {
        Some(file) => Ok(file),
        None => own("application", name, &profile::application_ids().join(", "), profile::parse_application),
    }
}

fn mapped(
    file: &ApplicationFile,
    name: &str,
    layout: &Layout,
    seen: grade::lanes::SeenAt,
) -> Result<LaneMap, Failure> {
    let none = || Failure::NoLanes { application: name.to_owned(), layout: layout.id.clone() };
    file.map_for(layout, seen).cloned().ok_or_else(none)
}

/// Reads a file of the user's; a name that is no path of anything is an unknown id.
fn own<T>(
    kind: &'static str,
    name: &str,
    known: &str,
    parse: impl Fn(&str, &str) -> Result<T, ProfileError>,
) -> Result<T, Failure> {
    parse(name, &existing(kind, name, known)?).map_err(Failure::Profile)
}

fn existing(kind: &'static str, name: &str, known: &str) -> Result<String, Failure> {
    let path = Path::new(name);
    if !path.exists() {
        return Err(Failure::UnknownProfile { kind, name: name.to_owned(), known: known.to_owned() });
    }
    read::text(path)
}
