//! Which position is which: every way to lay the layout's grid over the sites that were seen, held against
//! what shows at each of them and at the guide holes.

use super::guides::GuideSight;
use super::sites::{Cell, Seen};
use terms::{Layout, View};

/// A way to number the cells: face column = `sx * k + column`, face row = `sy * row + line`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Numbering {
    sx: i32,
    sy: i32,
    column: i32,
    line: i32,
}

impl Numbering {
    /// Grid site (row, column) of the cell (row, k); may lie outside the grid.
    pub fn site(self, row: i32, k: i32) -> (i32, i32) {
        (self.sy * row + self.line, self.sx * k + self.column)
    }

    /// Cell (row, k) of grid site (row, column).
    pub fn cell(self, row: u16, column: u16) -> (i32, i32) {
        (self.sy * (i32::from(row) - self.line), self.sx * (i32::from(column) - self.column))
    }

    /// Place along the line and row, both fractional, of the middle of the layout's grid.
    pub fn middle(self, layout: &Layout) -> (f64, f64) {
        let row = (f64::from(layout.rows) + 1.0) / 2.0;
        let column = (f64::from(layout.columns) + 1.0) / 2.0;
        let k = f64::from(self.sx) * (column - f64::from(self.column));
        (k, f64::from(self.sy) * (row - f64::from(self.line)))
    }
}

/// What speaks against a numbering.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Judged {
    pub numbering: Numbering,
    pub cost: f64,
    /// Fibres that it puts where the layout has none.
    pub strays: usize,
    /// Whether it puts a whole row of the layout on bare ferrule.
    pub bare_row: bool,
    pub sight: GuideSight,
}

/// What a fibre at a site that is not populated costs: more than any number of bare sites.
const STRAY: f64 = 1000.0;

/// Share of a site that must be in view for it to count as bare. The numbering may hang on that one site: a sliver of
/// ferrule must not settle it.
pub(crate) const LEAST_BARE: f64 = 0.25;

/// All numberings that give at least one seen fibre a populated site, least cost first.
pub(crate) fn judged(
    cells: &[Cell],
    layout: &Layout,
    view: View,
    mut guides: impl FnMut(Numbering) -> GuideSight,
) -> Vec<Judged> {
    let (sx, sy) = view.signs();
    let (sx, sy) = (sx as i32, -sy as i32);
    let rows = i32::from(layout.rows);
    let columns = i32::from(layout.columns);
    let mut all = Vec::new();
    for line in 1 - rows..=2 * rows {
        for column in -90..=90 {
            let numbering = Numbering { sx, sy, column, line };
            let explained = cells.iter().any(|c| {
                let (row, at) = numbering.site(c.row, c.k);
                c.seen == Seen::Fibre && (1..=rows).contains(&row) && (1..=columns).contains(&at)
            });
            if explained {
                all.push(judge(cells, layout, numbering));
            }
        }
    }
    for judged in all.iter_mut().filter(|j| j.strays == 0) {
        judged.sight = guides(judged.numbering);
        judged.cost += judged.sight.cost();
    }
    all.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    all
}

fn judge(cells: &[Cell], layout: &Layout, numbering: Numbering) -> Judged {
    let mut judged =
        Judged { numbering, cost: 0.0, strays: 0, bare_row: false, sight: GuideSight::default() };
    for cell in cells {
        let (row, column) = numbering.site(cell.row, cell.k);
        let in_grid =
            (1..=i32::from(layout.rows)).contains(&row) && (1..=i32::from(layout.columns)).contains(&column);
        let populated = in_grid && layout.at(row as u16, column as u16).is_some();
        let stray = cell.seen == Seen::Fibre && !populated;
        let bare = populated && cell.seen == Seen::Bare && cell.visible >= LEAST_BARE;
        judged.strays += usize::from(stray);
        judged.cost += match (cell.seen, populated) {
            (Seen::Fibre, false) => STRAY,
            (Seen::Bare, true) if bare => 1.0,
            (Seen::Bore, true) => 0.5,
            (Seen::Bore, false) if !in_grid => 3.0,
            (Seen::Covered, true) => 0.15,
            (Seen::Faint, false) => 0.6,
            (Seen::Partly | Seen::Covered, false) => 0.3,
            _ => 0.0,
        };
    }
    judged.bare_row = (1..=layout.rows).any(|row| on_bare(cells, layout, numbering, row));
    judged
}

/// Whether at least three populated sites of a row lie on bare ferrule and none shows anything else.
fn on_bare(cells: &[Cell], layout: &Layout, numbering: Numbering, row: u16) -> bool {
    let here = cells.iter().filter(|c| {
        let (r, column) = numbering.site(c.row, c.k);
        r == i32::from(row) && u16::try_from(column).is_ok_and(|c| layout.at(row, c).is_some())
    });
    let bare = here.clone().filter(|c| c.seen == Seen::Bare).count();
    bare >= 3 && here.clone().all(|c| matches!(c.seen, Seen::Bare | Seen::Unknown))
}
