//! One layer of a mark, ready to be painted: an area as a patch of shares, a line, or a film.

use super::fill::Patch;
use super::grid::{Grid, Row, Window};
use super::stroke::Stroke;
use crate::mark::{Film, Layer, Paint};
use crate::normal::Share;

/// A layer with the samples that it touches.
pub(super) enum Drawn {
    Fill { patch: Patch, paint: Paint },
    Stroke(Stroke),
    Film { film: Film, window: Window },
}

impl Drawn {
    /// None if the picture shows nothing of it.
    pub(super) fn new(layer: &Layer, grid: &Grid) -> Option<Drawn> {
        match layer {
            Layer::Fill { outline, hole, paint } => {
                let patch = Patch::new(outline, hole.as_ref(), grid)?;
                Some(Drawn::Fill { patch, paint: *paint })
            }
            Layer::Stroke { path, width, paint, strength } => {
                Stroke::new(path, *width, *paint, *strength, grid).map(Drawn::Stroke)
            }
            Layer::Film(film) => {
                let (low, high) = corners(film.outline.0.iter().map(|p| grid.to_sample(*p)));
                let margin = film.margin(grid.soft) / grid.um;
                let low = (low.0 - margin, low.1 - margin);
                let window = Window::cut(low, (high.0 + margin, high.1 + margin), grid)?;
                Some(Drawn::Film { film: film.clone(), window })
            }
        }
    }

    pub(super) fn paint(&self, row: &mut Row, soft: f64, share: Share) {
        match self {
            Drawn::Fill { patch, paint } => {
                let Some((first, shares)) = patch.row(row.j) else { return };
                for (out, &cover) in row.out[first..].iter_mut().zip(shares) {
                    blend(out, cover, *paint);
                }
            }
            Drawn::Stroke(stroke) => stroke.paint(row, share),
            Drawn::Film { film, window } => {
                if row.j < window.y0 || row.j >= window.y1 {
                    return;
                }
                for i in window.x0..window.x1 {
                    row.out[i] *= 1.0 + film.gain((row.x[i], row.y[i]), soft, share);
                }
            }
        }
    }
}

/// Paints the share `cover` of a sample.
#[inline]
pub(super) fn blend(out: &mut f32, cover: f32, paint: Paint) {
    match paint {
        Paint::Cover(target) => *out += cover * (target as f32 - *out),
        Paint::Gain(gain) => *out *= 1.0 + cover * gain as f32,
    }
}

/// Lowest and highest coordinates of some places.
pub(super) fn corners(places: impl Iterator<Item = (f64, f64)>) -> ((f64, f64), (f64, f64)) {
    let start = ((f64::INFINITY, f64::INFINITY), (f64::NEG_INFINITY, f64::NEG_INFINITY));
    places
        .fold(start, |(low, high), p| ((low.0.min(p.0), low.1.min(p.1)), (high.0.max(p.0), high.1.max(p.1))))
}
