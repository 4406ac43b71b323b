//! The numbering to take of those that were judged, or what the picture contradicts.

use super::assign::{Judged, LEAST_BARE};
use super::error::LocateError;
use super::sites::{Cell, Seen};
use terms::{Ambiguity, Layout};

/// Costs nearer to each other than this are equal.
const TELLS_APART: f64 = 0.5;

/// Fibres that a whole row may lack at its ends before it is another layout's row.
const LACKING: usize = 2;

/// The numbering to take, and why the picture does not tell it from all others, if so. `ways` come least cost first.
///
/// # Errors
/// What the picture shows, if that is not this layout.
pub(crate) fn choose(
    ways: &[Judged],
    cells: &[Cell],
    layout: &Layout,
) -> Result<(Judged, Option<Ambiguity>), LocateError> {
    let best = *ways.first().ok_or(LocateError::NoRow)?;
    let id = || layout.id.clone();
    if best.strays > 0 {
        return Err(stray(cells, layout));
    }
    if best.bare_row {
        return Err(LocateError::FewerRows { layout: id() });
    }
    let unique = ways.get(1).is_none_or(|next| next.cost > best.cost + TELLS_APART);
    let seen = longest_row(cells);
    if seen + LACKING < populated_span(layout) && bounded(cells) && !is_stretch(layout, seen) {
        return Err(LocateError::ShorterRow { layout: id(), seen, columns: layout.columns });
    }
    Ok((best, (!unique).then(|| ambiguity(cells, layout, seen))))
}

/// Why several numberings fit equally well.
fn ambiguity(cells: &[Cell], layout: &Layout, seen: usize) -> Ambiguity {
    let due = populated_span(layout);
    if layout.rows > 1 && rows_seen(cells) == 1 {
        Ambiguity::OneRow { rows: layout.rows }
    } else if seen < due && bounded(cells) {
        Ambiguity::ShortRow { seen, due }
    } else if ends(cells, 0)
        .is_some_and(|(first, last)| covered(cells, first - 1) || covered(cells, last + 1))
    {
        Ambiguity::HiddenEnd
    } else {
        Ambiguity::NoEnd
    }
}

/// Whether something that is neither ferrule nor fibre lies at a place of the line that is in view.
fn covered(cells: &[Cell], k: i32) -> bool {
    let hides =
        |c: &Cell| c.visible >= LEAST_BARE && !matches!(c.seen, Seen::Bare | Seen::Fibre | Seen::Unknown);
    cells.iter().any(|c| c.row == 0 && c.k == k && hides(c))
}

/// Why fibres lie outside the layout however it is laid.
fn stray(cells: &[Cell], layout: &Layout) -> LocateError {
    let (id, seen) = (layout.id.clone(), longest_row(cells));
    if rows_seen(cells) > usize::from(layout.rows) {
        LocateError::MoreRows { layout: id, rows: layout.rows }
    } else if seen > usize::from(layout.columns) {
        LocateError::LongerRow { layout: id, seen, columns: layout.columns }
    } else {
        LocateError::Stray { layout: id }
    }
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

/// First and last place with a fibre in a row.
fn ends(cells: &[Cell], row: i32) -> Option<(i32, i32)> {
    let ks = || fibres_of(cells, row).map(|c| c.k);
    ks().min().zip(ks().max())
}

/// Sites from the first to the last fibre of the longest row.
fn longest_row(cells: &[Cell]) -> usize {
    let spans = cells.iter().filter_map(|c| ends(cells, c.row)).map(|(first, last)| last - first + 1);
    spans.max().unwrap_or(0) as usize
}

fn populated_span(layout: &Layout) -> usize {
    let columns = || layout.places.iter().map(|p| usize::from(p.column));
    columns().max().zip(columns().min()).map_or(0, |(last, first)| last - first + 1)
}

/// Whether fibres between blank sites are about as many as stand together in the layout: blank sites may look like the
/// ferrule beyond the row.
fn is_stretch(layout: &Layout, seen: usize) -> bool {
    let mut columns: Vec<u16> = layout.places.iter().map(|p| p.column).collect();
    columns.sort_unstable();
    columns.dedup();
    let stretches = columns.chunk_by(|a, b| a + 1 == *b).map(<[u16]>::len);
    stretches.into_iter().any(|length| length < columns.len() && seen <= length && seen + LACKING >= length)
}

/// Whether bare ferrule shows beyond both ends of the line's fibres.
fn bounded(cells: &[Cell]) -> bool {
    let bare = |k: i32| {
        let bare = |c: &Cell| c.row == 0 && c.k == k && c.seen == Seen::Bare && c.visible >= LEAST_BARE;
        cells.iter().any(bare)
    };
    ends(cells, 0).is_some_and(|(first, last)| bare(first - 1) && bare(last + 1))
}
