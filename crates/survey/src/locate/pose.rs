//! The pose of the face in the picture, by least squares over the circles that were seen.

use super::assign::Numbering;
use super::grid::Grid;
use super::pyramid::Level;
use super::sites::{Cell, Seen};
use terms::{Layout, Point, Pose, View};

/// The similarity that carries the layout's sites onto the circles seen, in pixels of the frame. Falls back
/// on the lattice itself where the circles cannot carry a fit.
pub(crate) fn fitted(
    base: &Level,
    grid: &Grid,
    cells: &[Cell],
    layout: &Layout,
    view: View,
    numbering: Numbering,
) -> Pose {
    let (sx, sy) = view.signs();
    let fibres = cells.iter().filter(|c| c.seen == Seen::Fibre && c.visible >= 0.9);
    let pairs: Vec<Pair> = fibres
        .filter_map(|c| {
            let (row, column) = numbering.site(c.row, c.k);
            let at = layout.site(u16::try_from(row).ok()?, u16::try_from(column).ok()?);
            let pixel = (base.to_frame(c.circle.x), base.to_frame(c.circle.y));
            Some(Pair { face: (sx * at.x, sy * at.y), pixel })
        })
        .collect();
    let (origin, turned) = similarity(&pairs).unwrap_or_else(|| {
        let (k, row) = numbering.middle(layout);
        let (x, y) = grid.line.place(k, row * grid.line.pitch() * layout.row_pitch.0 / layout.pitch.0);
        let step = grid.line.step;
        let per_um = base.factor / layout.pitch.0;
        ((base.to_frame(x), base.to_frame(y)), (step.0 * per_um, step.1 * per_um))
    });
    let per_um = turned.0.hypot(turned.1);
    Pose::new(view, 1.0 / per_um, turned.1.atan2(turned.0), Point::new(origin.0, origin.1))
}

/// A site on the face, its axes as in the picture, and its circle's centre.
struct Pair {
    face: (f64, f64),
    pixel: (f64, f64),
}

type Vector = (f64, f64);

/// Origin and complex factor of pixel = origin + factor * face, by least squares; none for fewer than two
/// different sites.
fn similarity(pairs: &[Pair]) -> Option<(Vector, Vector)> {
    let count = pairs.len() as f64;
    let mean = |f: fn(&Pair) -> f64| pairs.iter().map(f).sum::<f64>() / count;
    let (fx, fy) = (mean(|p| p.face.0), mean(|p| p.face.1));
    let (px, py) = (mean(|p| p.pixel.0), mean(|p| p.pixel.1));
    let (mut re, mut im, mut spread) = (0.0, 0.0, 0.0);
    for p in pairs {
        let (a, b) = (p.face.0 - fx, p.face.1 - fy);
        let (u, v) = (p.pixel.0 - px, p.pixel.1 - py);
        re += a * u + b * v;
        im += a * v - b * u;
        spread += a * a + b * b;
    }
    if spread.is_nan() || spread <= 1.0 {
        return None;
    }
    let (re, im) = (re / spread, im / spread);
    Some(((px - re * fx + im * fy, py - im * fx - re * fy), (re, im)))
}
