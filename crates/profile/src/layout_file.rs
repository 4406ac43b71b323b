//! A layout file: which positions an array has, where they lie and where its guide holes are.

use crate::criteria_file::id;
use crate::fault::ProfileError;
use crate::read::{At, Page, Section};
use terms::{GuidePair, Layout, Place, Um};

/// Most rows or columns of a grid; beyond any array connector there is, and a bound on what a file can ask.
const MOST_LINES: usize = 64;

/// Reads and checks a layout file; `name` stands in the error.
///
/// # Errors
/// Every fault of the file at once, each with its line and how to mend it.
pub fn parse_layout(name: &str, text: &str) -> Result<Layout, ProfileError> {
    Page::read(name, text, |page, root| {
        let id = id(page, root);
        let title = root.text("title", "\"a line for people\"");
        let grid = root.grid("grid", "[[1, 2, 3, 4]]").filter(|grid| is_grid(page, grid));
        let pitch = root.positive_length("pitch", "250");
        let row_pitch = row_pitch(page, root, grid.as_ref(), pitch.as_ref());
        let cladding = root.positive_length("cladding", "125");
        let guides = guides(root);
        let (grid, pitch, cladding, guides) = (grid?, pitch?, cladding?, guides?);
        let layout = Layout {
            id: id?,
            title: title?.value,
            pitch: pitch.value,
            row_pitch: row_pitch?,
            rows: u16::try_from(grid.value.len()).ok()?,
            columns: u16::try_from(grid.value[0].len()).ok()?,
            cladding: cladding.value,
            places: vec![],
            guides: guides.value,
        };
        check_room(page, &layout, pitch.at, guides.at);
        let places = places(&layout, &grid.value);
        let checked = Layout { places, ..layout }.checked();
        checked.map_err(|error| page.fault(grid.at, format!("{error}; mend `grid`"))).ok()
    })
}

/// Whether a grid is a rectangle of a sensible size; notes what is wrong with it.
fn is_grid(page: &Page, grid: &At<Vec<Vec<u16>>>) -> bool {
    let rows = &grid.value;
    let columns = rows.first().map_or(0, Vec::len);
    let fault = if columns == 0 {
        "`grid` is empty; write the position numbers row by row as seen with the key up".to_owned()
    } else if rows.iter().any(|row| row.len() != columns) {
        "the rows of `grid` are not equally long; write 0 for a column without a fibre".to_owned()
    } else if rows.len() > MOST_LINES || columns > MOST_LINES {
        format!("`grid` is {} x {columns}; no side may be longer than {MOST_LINES}", rows.len())
    } else {
        return true;
    };
    page.fault(grid.at, fault);
    false
}

/// Asked for where there are several rows; the pitch along the row where there is one.
fn row_pitch(
    page: &Page,
    root: &Section,
    grid: Option<&At<Vec<Vec<u16>>>>,
    pitch: Option<&At<Um>>,
) -> Option<Um> {
    let stated = root.at_of("row_pitch");
    match (grid?.value.len(), stated) {
        (1, Some(at)) => {
            page.fault(at, "`row_pitch` is given and there is one row; remove it".to_owned());
            None
        }
        (1, None) => pitch.map(|pitch| pitch.value),
        _ => root.positive_length("row_pitch", "500").map(|pitch| pitch.value),
    }
}

fn guides(root: &Section) -> Option<At<GuidePair>> {
    let section = root.section("guides")?;
    let spacing = section.positive_length("spacing", "4600");
    let diameter = section.positive_length("diameter", "700");
    section.no_other_keys();
    let guides = GuidePair { spacing: spacing?.value, diameter: diameter?.value };
    Some(At { value: guides, at: section.at })
}

/// Notes claddings that overlap each other or a guide hole, as they do where millimetres were written.
fn check_room(page: &Page, layout: &Layout, pitch_at: usize, guides_at: usize) {
    let cladding = layout.cladding.0;
    if layout.pitch.0 < cladding || layout.row_pitch.0 < cladding {
        let text = format!("fibres of {cladding} um overlap at this pitch; lengths are in micrometres");
        page.fault(pitch_at, text);
    }
    let outermost = layout.site(1, layout.columns).x + cladding / 2.0;
    let hole = (layout.guides.spacing.0 - layout.guides.diameter.0) / 2.0;
    if hole < outermost {
        let text = format!(
            "the guide holes begin {hole} um from the middle, where fibres reach {outermost} um; lengths are in \
             micrometres"
        );
        page.fault(guides_at, text);
    }
}

fn places(layout: &Layout, grid: &[Vec<u16>]) -> Vec<Place> {
    let mut places = vec![];
    for (row, line) in (1..).zip(grid) {
        for (column, &position) in (1..).zip(line).filter(|(_, position)| **position > 0) {
            places.push(Place { position, row, column, at: layout.site(row, column) });
        }
    }
    places
}
