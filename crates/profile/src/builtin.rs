//! The files that the program carries with it.

use crate::advice_file::{AdviceFile, parse_advice};
use crate::application_file::{ApplicationFile, parse_application};
use crate::cable_file::parse_cable;
use crate::cautions_file::parse_cautions;
use crate::colours::{Colours, parse_colours};
use crate::criteria_file::{CriteriaFile, parse_criteria};
use crate::layout_file::parse_layout;
use grade::CableMap;
use grade::advice::Counsel;
use terms::Layout;

/// A built-in file: its id and its text.
type File = (&'static str, &'static str);

/// Pairs each id with the text of its file in one folder under profiles/.
macro_rules! files {
    ($folder:literal: $($id:literal),+ $(,)?) => {
        (
            &[$($id),+],
            &[$(($id, include_str!(concat!("../../../profiles/", $folder, "/", $id, ".toml")))),+],
        )
    };
}

const CRITERIA: (&[&str], &[File]) = files!("criteria":
    "iec-61300-3-35-ed2-mm",
    "iec-61300-3-35-ed2-sm-pc-rl45",
    "iec-61300-3-35-ed2-sm-pc-rl26",
    "iec-61300-3-35-ed2-sm-apc",
    "iec-61300-3-35-ed1-mm",
    "iec-61300-3-35-ed1-sm-pc-rl45",
    "iec-61300-3-35-ed1-sm-pc-rl26",
    "iec-61300-3-35-ed1-sm-apc",
);

const LAYOUTS: (&[&str], &[File]) = files!("layouts": "mpo-8", "mpo-12", "mpo-16", "mpo-24", "mpo-32");

const CABLES: (&[&str], &[File]) = files!("cables": "type-a", "type-b", "type-b-full", "type-c");

const APPLICATIONS: (&[&str], &[File]) =
    files!("applications": "40gbase-sr4", "100gbase-sr4", "100gbase-sr10", "400gbase-sr8");

const ADVICE: (&[&str], &[File]) = files!("advice": "cleaning");

const CAUTIONS: (&[&str], &[File]) = files!("cautions": "cautions");

const COLOURS: (&[&str], &[File]) = files!("colours": "tia-598");

fn text(files: &[File], id: &str) -> Option<&'static str> {
    files.iter().find(|(name, _)| *name == id).map(|(_, text)| *text)
}

/// Ids of the built-in criteria, edition 2 first.
pub fn criteria_ids() -> &'static [&'static str] {
    CRITERIA.0
}

/// The text of a built-in criteria file, to be shown or copied.
pub fn criteria_text(id: &str) -> Option<&'static str> {
    text(CRITERIA.1, id)
}

/// A built-in criteria file.
pub fn criteria(id: &str) -> Option<CriteriaFile> {
    parse_criteria(id, criteria_text(id)?).ok()
}

/// Ids of the built-in layouts, fewest fibres first.
pub fn layout_ids() -> &'static [&'static str] {
    LAYOUTS.0
}

/// The text of a built-in layout, to be kept with what was graded by it.
pub fn layout_text(id: &str) -> Option<&'static str> {
    text(LAYOUTS.1, id)
}

/// A built-in layout.
pub fn layout(id: &str) -> Option<Layout> {
    parse_layout(id, text(LAYOUTS.1, id)?).ok()
}

/// Ids of the built-in cables. `type-b-full` is the other of the two type B maps that are in use for 24
/// fibres.
pub fn cable_ids() -> &'static [&'static str] {
    CABLES.0
}

/// The polarity map of a built-in cable for a layout; none if there is no such cable or its file has no map
/// for that layout's rows and positions.
pub fn cable(id: &str, layout: &Layout) -> Option<CableMap> {
    parse_cable(id, text(CABLES.1, id)?).ok()?.map_for(layout).cloned()
}

/// Ids of the built-in applications.
pub fn application_ids() -> &'static [&'static str] {
    APPLICATIONS.0
}

/// A built-in application's lanes.
pub fn application(id: &str) -> Option<ApplicationFile> {
    parse_application(id, text(APPLICATIONS.1, id)?).ok()
}

/// The colours of TIA-598.
pub fn colours() -> Option<Colours> {
    let id = COLOURS.0[0];
    parse_colours(id, text(COLOURS.1, id)?).ok()
}

/// What to do about what was found, with its cautions.
pub fn counsel() -> Option<Counsel> {
    let id = ADVICE.0[0];
    parse_advice(id, text(ADVICE.1, id)?).ok().map(with_cautions)
}

/// An advice file with the built-in cautions.
pub fn with_cautions(file: AdviceFile) -> Counsel {
    let about = |topic: &str| -> Vec<(String, String)> {
        cautions(topic).into_iter().map(|say| (topic.to_owned(), say)).collect()
    };
    let cautions = ["light", "solvent"].into_iter().flat_map(about).collect();
    Counsel { tries: file.tries, defers: file.defers, rules: file.rules, cautions }
}

/// What to mind with something: `light`, `solvent`.
pub fn cautions(topic: &str) -> Vec<String> {
    let id = CAUTIONS.0[0];
    let file = text(CAUTIONS.1, id).and_then(|text| parse_cautions(id, text).ok());
    file.map(|cautions| cautions.about(topic)).unwrap_or_default()
}
