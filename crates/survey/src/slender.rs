//! Long thin marks that were found as marks and not as lines, because so little of the noise is left in a coded picture
//! that a long support cannot be trusted, or because they are short: measured as a line is, those that are one become
//! one, so that it does not hang on how faint a scratch is what it is called.

use crate::blobs::Blob;
use crate::glass::Glass;
use crate::lines::{self, Line, STEP};
use crate::lint;
use crate::marks::thickness;
use imaging::Plane;
use terms::geometry::largest_extent;

/// Marks shorter than so many times their width as it shows are not tried: the blur is in it.
const LONGER: f64 = 3.0;

/// Moves the marks that are scratches from `found` to `lines`; what is as thick as lint stays a mark. `residual` is what the
/// lines leave of the glass's, before any mark was hidden in it.
pub fn scratches(
    found: &mut Vec<Blob>,
    lines: &mut Vec<Line>,
    residual: &Plane<f32>,
    glass: &Glass,
    search: &lines::Search,
) {
    found.retain(|blob| {
        let long = largest_extent(&blob.outline) > LONGER * thickness(blob);
        let path = if long && !blob.across { middle_line(blob) } else { Vec::new() };
        let line = lines::along(path, blob.height, blob.strength, residual, glass, search)
            .filter(|l| l.width < lint::THICK * search.px_per_um);
        let is_mark = line.is_none();
        lines.extend(line);
        is_mark
    });
}

/// The line through the middles of a mark's pixels across its length, `STEP` apart.
fn middle_line(blob: &Blob) -> Vec<(f64, f64)> {
    let n = blob.pixels.len().max(1) as f64;
    let at = |p: &(usize, usize)| (p.0 as f64, p.1 as f64);
    let mean = |of: &dyn Fn((f64, f64)) -> f64| blob.pixels.iter().map(|p| of(at(p))).sum::<f64>() / n;
    let (mx, my) = (mean(&|p| p.0), mean(&|p| p.1));
    let (xx, yy) = (mean(&|p| (p.0 - mx).powi(2)), mean(&|p| (p.1 - my).powi(2)));
    let (sin, cos) = (0.5 * (2.0 * mean(&|p| (p.0 - mx) * (p.1 - my))).atan2(xx - yy)).sin_cos();
    let turned = |p: (f64, f64)| ((p.0 - mx) * cos + (p.1 - my) * sin, (p.1 - my) * cos - (p.0 - mx) * sin);
    let mut steps: Vec<(i64, f64)> = blob
        .pixels
        .iter()
        .map(|p| turned(at(p)))
        .map(|(along, aside)| ((along / STEP).round() as i64, aside))
        .collect();
    steps.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let middle = |of: &[(i64, f64)]| {
        let (along, aside) = (of[0].0 as f64 * STEP, of.iter().map(|s| s.1).sum::<f64>() / of.len() as f64);
        (mx + along * cos - aside * sin, my + along * sin + aside * cos)
    };
    steps.chunk_by(|a, b| a.0 == b.0).map(middle).collect()
}
