//! Whether the other picture lacks a scratch: too long for a fit of the whole, it is held piece by piece against the ratio
//! of both.

use super::aperture::Aperture;
use super::marks::{AT_CORE, Decided, filled};
use super::ratio::Ratio;
use crate::solve::median;
use terms::Feature;

/// Length of a piece, um, and how many pieces a scratch has.
const PIECE_UM: f64 = 8.0;
const PIECES: (usize, usize) = (4, 12);

/// A piece tells if so much of what its outline and contrast make of it shows in its own picture.
const SHOWS: f64 = 0.4;

/// Fainter lines tell nothing: they are the wrinkles and edges of films.
const FAINTEST: f64 = 0.03;

/// Share of a scratch that its own picture alone shows: 1 where the other lacks it, 0 where both show it; the middle of
/// its pieces, so that a mark that lies on one does not count, with the scatter of that.
pub(super) fn share(scratch: &Feature, ratio: &Ratio, second: bool) -> Option<Decided> {
    if scratch.contrast.abs() < FAINTEST {
        return None;
    }
    let outline: Vec<(f64, f64)> = scratch.outline.iter().map(|p| ratio.grid.place((p.x, p.y))).collect();
    let aperture = Aperture::new(&outline, ratio.blur / ratio.grid.pixel + 0.7, ratio)?;
    let own = aperture.heights(&ratio.own[usize::from(second)], (0, 0))?;
    let both = aperture.heights(&ratio.plane, (0, 0))?;
    let fills = filled(&outline, &aperture, ratio);
    let along = along(&outline)?;
    let count = (scratch.length.0 / PIECE_UM) as usize;
    let count = count.clamp(PIECES.0, PIECES.1);
    let sign = if second { -1.0 } else { 1.0 };
    // Of each piece: what the model makes of itself, what its own picture shows of it, and what the ratio does.
    let mut pieces = vec![[0.0; 3]; count];
    for (((x, y), fill), (own, both)) in aperture.filled().iter().zip(fills).zip(own.iter().zip(&both)) {
        let at = (*x as f64, *y as f64);
        let (dx, dy) = ratio.grid.um(at);
        let uneven = dx.hypot(dy) < ratio.grid.evened && scratch.contrast.abs() < AT_CORE;
        if uneven || !own.is_finite() || !both.is_finite() {
            continue;
        }
        let model = (1.0 + scratch.contrast.max(-0.95) * fill).ln();
        let k = ((along(at) * count as f64) as usize).min(count - 1);
        for (sum, of) in pieces[k].iter_mut().zip([model, *own, sign * both]) {
            *sum += model * of;
        }
    }
    let shown = |[model, own, _]: &&[f64; 3]| *model > 0.0 && *own > SHOWS * model;
    let mut shares: Vec<f64> = pieces.iter().filter(shown).map(|[_, own, both]| both / own).collect();
    if shares.len() < PIECES.0 || 2 * shares.len() < count {
        return None;
    }
    let middle = median(&mut shares);
    let mut apart: Vec<f64> = shares.iter().map(|share| (share - middle).abs()).collect();
    // A median scatters by sqrt(pi / 2) times what a mean does.
    let scatter = 1.4826 * median(&mut apart) * 1.2533 / (shares.len() as f64).sqrt();
    Some(Decided { share: middle, scatter })
}

/// How far along a scratch a place lies, 0 to 1, from end to end; its outline runs along one side and back on the other.
fn along(outline: &[(f64, f64)]) -> Option<impl Fn((f64, f64)) -> f64> {
    let half = outline.len() / 2;
    if half < 2 {
        return None;
    }
    let middle = |i: usize| {
        let (a, b) = (outline[i], outline[outline.len() - 1 - i]);
        (0.5 * (a.0 + b.0), 0.5 * (a.1 + b.1))
    };
    let (from, to) = (middle(0), middle(half - 1));
    let (x, y) = (to.0 - from.0, to.1 - from.1);
    let square = x * x + y * y;
    (square > 0.0).then_some(move |at: (f64, f64)| {
        (((at.0 - from.0) * x + (at.1 - from.1) * y) / square).clamp(0.0, 1.0)
    })
}
