//! Where the fibres are: from a whole picture to one approximate circle for each position of the layout.
//! Circles are voted for on coarse planes, a row of equal ones with the array's spacing is chosen, and every
//! site is then looked at again. The edges are measured elsewhere.

mod aspect;
mod assign;
mod choose;
mod disc;
mod error;
mod find;
mod grid;
mod guides;
mod pose;
pub(crate) mod pyramid;
pub(crate) mod rim;
pub(crate) mod row;
#[cfg(test)]
pub(crate) mod scene;
mod sites;
#[cfg(test)]
mod tests;
pub(crate) mod vote;

pub(crate) use aspect::{distorted, stretched};
pub use error::LocateError;

use assign::{Judged, Numbering, judged};
use choose::choose;
use find::{Found, find, find_among};
use grid::Grid;
use guides::GuideSight;
use imaging::{Frame, Plane};
use pyramid::Level;
use rim::PART_SHARE;
use sites::{Cell, Seen, row_cells};
use terms::{Ambiguity, Flaw, Guides, Layout, Pixel, Point, Pose, View};
use vote::Candidate;

/// What was located at one populated position.
#[derive(Clone, Debug, PartialEq)]
pub enum Located {
    /// A cladding, to a fraction of a pixel or two; its edge is fitted later.
    Fibre {
        /// Centre in the picture.
        centre: Point<Pixel>,
        /// Radius of the cladding, pixels.
        radius: f64,
    },
    /// None, and why. `NotInView` and `CutByBorder` where the picture does not hold the site, `NotFound` or
    /// `Hidden` where it does, `Ambiguous` for all sites where the picture does not tell which is which.
    Missing(Flaw),
}

/// The lattice in one picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Lattice {
    /// Face frame to pixel frame, from the lattice; off by whole pitches if the sites are ambiguous.
    pub pose: Pose,
    /// One for every populated place of the layout, in the same order.
    pub sites: Vec<Located>,
    /// What shows at the guide holes.
    pub guides: Guides,
    /// Distance of the guide holes' measured centres, pixels, to about half a percent; none unless both show.
    pub guide_spacing_px: Option<f64>,
}

/// Finds the layout's fibres in one picture of a whole face or a part of it.
///
/// The scale is measured from the row itself, so that a stated one can be held against it.
///
/// # Errors
/// A [`LocateError`] if no row of fibres shows, or if what shows is not this layout.
pub fn locate(frame: &Frame, layout: &Layout, view: View) -> Result<Lattice, LocateError> {
    let base = Level::base(frame).ok_or(LocateError::NoRow)?;
    let light = base.plane.clone();
    numbered(&light, find(base, layout)?, layout, view)
}

/// Finds the layout's fibres in a plane put together from several pictures, among circles that were found in these, or
/// in the plane itself if its claddings have about the `radius` of theirs, pixels of the plane. The plane is no number
/// where no picture reaches; the lattice is in pixels of the pictures.
///
/// # Errors
/// As [`locate`].
pub(crate) fn locate_among(
    plane: &Level,
    candidates: Vec<Candidate>,
    radius: f64,
    layout: &Layout,
    view: View,
) -> Result<Lattice, LocateError> {
    let found = find_among(plane.clone(), &candidates, radius, layout)?;
    numbered(&plane.plane, found, layout, view)
}

/// Numbers what was found.
fn numbered(light: &Plane<f32>, found: Found, layout: &Layout, view: View) -> Result<Lattice, LocateError> {
    let Found { plane: base, grid } = found;
    let cells = all_cells(&base, &grid, layout)?;
    let guides = |numbering: Numbering| guide_sight(light, &grid, layout, view, numbering);
    let ways = judged(&cells, layout, view, guides);
    let (best, ambiguity) = choose(&ways, &cells, layout)?;
    if ambiguity.is_none() && !best.sight.any() {
        other_guides(light, &grid, layout, best.numbering)?;
    }
    Ok(lattice(&base, &grid, &cells, layout, view, &best, ambiguity))
}

impl Lattice {
    /// Whether the picture tells which position is which.
    pub(crate) fn is_numbered(&self) -> bool {
        !self.sites.iter().all(|s| matches!(s, Located::Missing(Flaw::Ambiguous(_))))
    }

    /// Moves the lattice by (dx, dy) pixels.
    pub(crate) fn move_by(&mut self, dx: f64, dy: f64) {
        self.pose.origin = self.pose.origin.moved(dx, dy);
        for site in &mut self.sites {
            if let Located::Fibre { centre, .. } = site {
                *centre = centre.moved(dx, dy);
            }
        }
    }
}

/// The cells of the line and of the rows that the layout has beside it.
///
/// # Errors
/// `MoreRows` if a layout of one row meets a second.
fn all_cells(base: &Level, grid: &Grid, layout: &Layout) -> Result<Vec<Cell>, LocateError> {
    let pitch = grid.line.pitch();
    let mut cells = row_cells(&base.plane, grid, 0, 0.0);
    if layout.rows > 1 {
        let rows = i32::from(layout.rows);
        for row in (-rows..=rows).filter(|&r| r != 0) {
            let across = f64::from(row) * pitch * layout.row_pitch.0 / layout.pitch.0;
            cells.extend(row_cells(&base.plane, grid, row, across));
        }
        return Ok(cells);
    }
    for across in [-2.0, -1.0, 1.0, 2.0] {
        let beside = row_cells(&base.plane, grid, 0, across * pitch);
        if beside.iter().filter(|c| c.seen == Seen::Fibre).count() >= 3 {
            return Err(LocateError::MoreRows { layout: layout.id.clone(), rows: layout.rows });
        }
    }
    Ok(cells)
}

fn guide_sight(
    plane: &Plane<f32>,
    grid: &Grid,
    layout: &Layout,
    view: View,
    numbering: Numbering,
) -> GuideSight {
    GuideSight::new(plane, grid, layout, middle(grid, layout, numbering), view.signs().0)
}

/// Place along the line and pixels beside it of the middle of the layout's sites.
fn middle(grid: &Grid, layout: &Layout, numbering: Numbering) -> (f64, f64) {
    let (k, row) = numbering.middle(layout);
    (k, row * grid.line.pitch() * layout.row_pitch.0 / layout.pitch.0)
}

/// # Errors
/// `OtherGuides` if the picture shows guide holes, and not where this layout has them.
fn other_guides(
    plane: &Plane<f32>,
    grid: &Grid,
    layout: &Layout,
    numbering: Numbering,
) -> Result<(), LocateError> {
    match guides::elsewhere(plane, grid, layout, middle(grid, layout, numbering)) {
        Some(seen) => Err(LocateError::OtherGuides {
            layout: layout.id.clone(),
            seen,
            due: layout.guides.spacing.0 / layout.pitch.0,
        }),
        None => Ok(()),
    }
}

fn lattice(
    base: &Level,
    grid: &Grid,
    cells: &[Cell],
    layout: &Layout,
    view: View,
    best: &Judged,
    ambiguity: Option<Ambiguity>,
) -> Lattice {
    let numbering = best.numbering;
    let pose = pose::fitted(base, grid, cells, layout, view, numbering);
    let radius = layout.cladding.0 / 2.0 / pose.um_per_px();
    let site = |place: &terms::Place| {
        if let Some(why) = ambiguity {
            return Located::Missing(Flaw::Ambiguous(why));
        }
        let (row, k) = numbering.cell(place.row, place.column);
        match cells.iter().find(|c| (c.row, c.k) == (row, k)) {
            Some(cell) => located(cell, base, radius),
            None => Located::Missing(Flaw::NotInView),
        }
    };
    Lattice {
        pose,
        sites: layout.places.iter().map(site).collect(),
        guides: best.sight.guides(),
        guide_spacing_px: best.sight.spacing().map(|d| d * base.factor),
    }
}

fn located(cell: &Cell, base: &Level, radius: f64) -> Located {
    if cell.visible < 1.0 {
        return Located::Missing(Flaw::CutByBorder { visible: cell.visible });
    }
    match cell.seen {
        Seen::Fibre | Seen::Faint => Located::Fibre {
            centre: Point::new(base.to_frame(cell.circle.x), base.to_frame(cell.circle.y)),
            radius,
        },
        Seen::Bore | Seen::Bare => Located::Missing(Flaw::NotFound),
        _ if cell.share < PART_SHARE => Located::Missing(Flaw::NotFound),
        _ => Located::Missing(Flaw::Hidden { edge_seen: cell.share }),
    }
}
