//! Where the fibres are: from a whole picture to one approximate circle for each position of the layout.
//! Circles are voted for on coarse planes, a row of equal ones with the array's spacing is chosen, and every
//! site is then looked at again. The edges are measured elsewhere.

mod assign;
mod disc;
mod error;
mod grid;
mod guides;
mod pose;
mod pyramid;
mod rim;
mod row;
mod sites;
mod vote;

pub use error::LocateError;

use assign::{Judged, LEAST_BARE, Numbering, judged};
use grid::Grid;
use guides::GuideSight;
use imaging::Frame;
use pyramid::Level;
use rim::PART_SHARE;
use sites::{Cell, Seen, row_cells};
use terms::{Flaw, Guides, Layout, Pixel, Point, Pose, View};
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

/// Costs nearer to each other than this are equal.
const TELLS_APART: f64 = 0.5;

/// Chains of candidates that are followed to their edges at most.
const CHAINS: usize = 6;

/// Circumferences seen in a row that leave no doubt, so that no other chain is followed.
const CERTAIN: f64 = 2.5;

/// Finds the layout's fibres in one picture of a whole face or a part of it.
///
/// The scale is measured, whatever was stated; `_stated_um_per_px` is for the caller to compare.
///
/// # Errors
/// A [`LocateError`] if no row of fibres shows, or if what shows is not this layout.
pub fn locate(
    frame: &Frame,
    layout: &Layout,
    view: View,
    _stated_um_per_px: Option<f64>,
) -> Result<Lattice, LocateError> {
    let base = Level::base(frame).ok_or(LocateError::NoRow)?;
    let grid = find_grid(&base, layout)?;
    let cells = all_cells(&base, &grid, layout)?;
    let guides = |numbering: Numbering| guide_sight(&base, &grid, layout, view, numbering);
    let ways = judged(&cells, layout, view, guides);
    let (best, unique) = choose(&ways, &cells, layout)?;
    Ok(lattice(&base, &grid, &cells, layout, view, &best, unique))
}

/// Searches the coarser planes first and the base plane, for the smallest circles, only if they hold no row.
fn find_grid(base: &Level, layout: &Layout) -> Result<Grid, LocateError> {
    let law = layout.pitch.0 / (layout.cladding.0 / 2.0);
    let mut candidates = vote::candidates(&base.below(), base);
    let coarse = best_grid(base, &candidates, law);
    if let Some(grid) = coarse.as_ref().filter(|g| g.total() >= CERTAIN) {
        return Ok(grid.clone());
    }
    candidates.extend(vote::candidates(std::slice::from_ref(base), base));
    candidates.sort_by(|a, b| b.score.total_cmp(&a.score));
    let fine = best_grid(base, &candidates, law);
    fine.or(coarse).ok_or(LocateError::NoRow)
}

fn best_grid(base: &Level, candidates: &[Candidate], law: f64) -> Option<Grid> {
    let mut best: Option<Grid> = None;
    for chain in row::chains(candidates, law).iter().take(CHAINS) {
        let grid = grid::grid(&base.plane, chain, law);
        best = match (best, grid) {
            (Some(a), Some(b)) => Some(if b.total() > a.total() { b } else { a }),
            (a, b) => a.or(b),
        };
        if best.as_ref().is_some_and(|g| g.total() >= CERTAIN) {
            break;
        }
    }
    best
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

fn guide_sight(base: &Level, grid: &Grid, layout: &Layout, view: View, numbering: Numbering) -> GuideSight {
    let (k, row) = numbering.middle(layout);
    let across = row * grid.line.pitch() * layout.row_pitch.0 / layout.pitch.0;
    GuideSight::new(&base.plane, grid, layout, (k, across), view.signs().0)
}

/// The numbering to take, and whether the picture tells it from all others.
///
/// # Errors
/// What the picture shows, if that is not this layout.
fn choose(ways: &[Judged], cells: &[Cell], layout: &Layout) -> Result<(Judged, bool), LocateError> {
    let best = *ways.first().ok_or(LocateError::NoRow)?;
    let id = || layout.id.clone();
    let seen = longest_row(cells);
    if best.strays > 0 {
        let rows = rows_seen(cells);
        return Err(if rows > usize::from(layout.rows) {
            LocateError::MoreRows { layout: id(), rows: layout.rows }
        } else if seen > usize::from(layout.columns) {
            LocateError::LongerRow { layout: id(), seen, columns: layout.columns }
        } else {
            LocateError::Stray { layout: id() }
        });
    }
    if best.bare_row {
        return Err(LocateError::FewerRows { layout: id() });
    }
    let unique = ways.get(1).is_none_or(|next| next.cost > best.cost + TELLS_APART);
    if !unique && seen + 2 < populated_span(layout) && bounded(cells) {
        return Err(LocateError::ShorterRow { layout: id(), seen, columns: layout.columns });
    }
    Ok((best, unique))
}

fn fibres_of(cells: &[Cell], row: i32) -> impl Iterator<Item = &Cell> {
    cells.iter().filter(move |c| c.row == row && c.seen == Seen::Fibre)
}

fn rows_seen(cells: &[Cell]) -> usize {
    let mut rows: Vec<i32> = cells.iter().filter(|c| c.seen == Seen::Fibre).map(|c| c.row).collect();
    rows.sort_unstable();
    rows.dedup();
    rows.into_iter().filter(|&row| fibres_of(cells, row).count() >= 3).count()
}

/// Sites from the first to the last fibre of the longest row.
fn longest_row(cells: &[Cell]) -> usize {
    let span = |row: i32| {
        let ks = || fibres_of(cells, row).map(|c| c.k);
        ks().max().zip(ks().min()).map_or(0, |(last, first)| last - first + 1)
    };
    cells.iter().map(|c| span(c.row)).max().unwrap_or(0) as usize
}

fn populated_span(layout: &Layout) -> usize {
    let columns = || layout.places.iter().map(|p| usize::from(p.column));
    columns().max().zip(columns().min()).map_or(0, |(last, first)| last - first + 1)
}

/// Whether bare ferrule shows beyond both ends of the line's fibres.
fn bounded(cells: &[Cell]) -> bool {
    let ks = || fibres_of(cells, 0).map(|c| c.k);
    let bare = |k: i32| {
        cells.iter().any(|c| c.row == 0 && c.k == k && c.seen == Seen::Bare && c.visible >= LEAST_BARE)
    };
    ks().max().zip(ks().min()).is_some_and(|(last, first)| bare(last + 1) && bare(first - 1))
}

fn lattice(
    base: &Level,
    grid: &Grid,
    cells: &[Cell],
    layout: &Layout,
    view: View,
    best: &Judged,
    unique: bool,
) -> Lattice {
    let numbering = best.numbering;
    let pose = pose::fitted(base, grid, cells, layout, view, numbering);
    let radius = layout.cladding.0 / 2.0 / pose.um_per_px();
    let site = |place: &terms::Place| {
        if !unique {
            return Located::Missing(Flaw::Ambiguous);
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
        Seen::Fibre => Located::Fibre {
            centre: Point::new(base.to_frame(cell.circle.x), base.to_frame(cell.circle.y)),
            radius,
        },
        Seen::Bore | Seen::Bare => Located::Missing(Flaw::NotFound),
        _ if cell.share < PART_SHARE => Located::Missing(Flaw::NotFound),
        _ => Located::Missing(Flaw::Hidden { edge_seen: cell.share }),
    }
}
