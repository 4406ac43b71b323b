//! Lines of even width: each sample takes its share from its distance to the nearest part of the line, exact
//! for a straight line of any width seen through the soft blur.

use super::grid::{Grid, Row, Window};
use super::layer::{blend, corners};
use crate::mark::{Paint, Strength};
use crate::noise::line_noise;
use crate::normal::Share;
use crate::path::Path;
use crate::shape::distance;

/// One piece of a line: its ends in samples, the length along the line at its start and its own, um.
struct Piece {
    a: (f64, f64),
    b: (f64, f64),
    along: f64,
    length: f64,
    window: Window,
}

/// A line, ready to be painted.
pub(super) struct Stroke {
    pieces: Vec<Piece>,
    window: Window,
    half: f64,
    reach: f64,
    length: f64,
    um: f64,
    soft: f64,
    paint: Paint,
    strength: Strength,
}

impl Stroke {
    /// None if the picture shows nothing of it.
    pub(super) fn new(
        path: &Path,
        width: f64,
        paint: Paint,
        strength: Strength,
        grid: &Grid,
    ) -> Option<Stroke> {
        let reach = (0.5 * width + 4.5 * grid.soft) / grid.um;
        let mut pieces = Vec::new();
        let mut along = 0.0;
        for (p, q) in path.segments() {
            let length = distance(p, q);
            let (a, b) = (grid.to_sample(p), grid.to_sample(q));
            if let Some(window) = around([a, b], reach, grid) {
                pieces.push(Piece { a, b, along, length, window });
            }
            along += length;
        }
        let window = pieces.iter().map(|p| p.window).reduce(union)?;
        let (half, um, soft) = (0.5 * width, grid.um, grid.soft);
        Some(Stroke { pieces, window, half, reach, length: along, um, soft, paint, strength })
    }

    pub(super) fn paint(&self, row: &mut Row, share: Share) {
        if row.j < self.window.y0 || row.j >= self.window.y1 {
            return;
        }
        let crossing = |p: &&Piece| row.j >= p.window.y0 && row.j < p.window.y1;
        let pieces: Vec<&Piece> = self.pieces.iter().filter(crossing).collect();
        let Some(x0) = pieces.iter().map(|p| p.window.x0).min() else { return };
        let x1 = pieces.iter().map(|p| p.window.x1).max().unwrap_or(x0);
        let mut nearest = vec![(f64::INFINITY, 0.0); x1 - x0];
        for piece in pieces {
            for (i, best) in (piece.window.x0..piece.window.x1).zip(&mut nearest[piece.window.x0 - x0..]) {
                let (d2, along) = piece.nearest((i as f64, row.j as f64));
                if d2 < best.0 {
                    *best = (d2, along);
                }
            }
        }
        let far = self.reach * self.reach;
        for (out, (d2, along)) in row.out[x0..x1].iter_mut().zip(nearest) {
            if d2 < far {
                let d = d2.sqrt() * self.um;
                let edge = |half: f64| share.below(((half - d) / self.soft) as f32);
                let cover = edge(self.half) - edge(-self.half);
                blend(out, cover * self.strength_at(along), self.paint);
            }
        }
    }

    /// Strength at a length along the line: 1, but fading in at the ends and gone in the breaks.
    fn strength_at(&self, along: f64) -> f32 {
        let s = &self.strength;
        let from_end = along.min(self.length - along);
        let ends = if s.fade > 0.0 { (from_end / s.fade).clamp(0.0, 1.0) as f32 } else { 1.0 };
        if s.broken <= 0.0 {
            return ends;
        }
        let wave = line_noise(s.seed as u32, along / 9.0) + 0.5 * line_noise(s.seed as u32 ^ 1, along / 3.5);
        ends * (0.5 + 3.0 * (wave + threshold(s.broken))).clamp(0.0, 1.0)
    }
}

/// The level that the wave of `strength_at` lies below for about the given share of the length.
fn threshold(broken: f64) -> f32 {
    (0.85 * (1.0 - 2.0 * broken)) as f32
}

impl Piece {
    /// Squared distance in samples from a sample, and the length along the line at the nearest point.
    #[inline]
    fn nearest(&self, p: (f64, f64)) -> (f64, f64) {
        let (dx, dy) = (self.b.0 - self.a.0, self.b.1 - self.a.1);
        let (ex, ey) = (p.0 - self.a.0, p.1 - self.a.1);
        let t = ((ex * dx + ey * dy) / (dx * dx + dy * dy).max(1e-12)).clamp(0.0, 1.0);
        let (rx, ry) = (ex - t * dx, ey - t * dy);
        (rx * rx + ry * ry, self.along + t * self.length)
    }
}

fn around(ends: [(f64, f64); 2], reach: f64, grid: &Grid) -> Option<Window> {
    let (low, high) = corners(ends.into_iter());
    Window::cut((low.0 - reach, low.1 - reach), (high.0 + reach, high.1 + reach), grid)
}

fn union(a: Window, b: Window) -> Window {
    Window { x0: a.x0.min(b.x0), x1: a.x1.max(b.x1), y0: a.y0.min(b.y0), y1: a.y1.max(b.y1) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stroke(broken: f64, seed: u64) -> Stroke {
        Stroke {
            pieces: Vec::new(),
            window: Window { x0: 0, x1: 1, y0: 0, y1: 1 },
            half: 1.0,
            reach: 1.0,
            length: 3000.0,
            um: 0.5,
            soft: 0.3,
            paint: Paint::Gain(-0.3),
            strength: Strength { fade: 0.0, broken, seed },
        }
    }

    #[test]
    fn a_broken_line_is_gone_over_about_its_stated_share() {
        for broken in [0.15, 0.3, 0.5, 0.7] {
            let gone = |seed: u64| {
                let line = stroke(broken, seed);
                (0..6000).filter(|k| line.strength_at(f64::from(*k) * 0.5) < 0.5).count()
            };
            let share = (1..=10).map(gone).sum::<usize>() as f64 / 60_000.0;
            assert!((share - broken).abs() < 0.06, "{broken}: {share}");
        }
        assert!((0..6000).all(|k| stroke(0.0, 1).strength_at(f64::from(k) * 0.5) == 1.0));
    }
}
