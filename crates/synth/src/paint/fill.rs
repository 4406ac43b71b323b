//! Areas with outlines: the share of each sample that an outline covers, seen through the grid's soft blur.
//! The outline is filled on a finer grid, exactly along each fine line, then blurred and thinned out.

use super::grid::{Grid, SOFT_SAMPLES};
use super::layer::corners;
use crate::normal::even_kernel;
use crate::shape::Outline;

/// Shares of a rectangle of samples.
pub(super) struct Patch {
    x0: usize,
    y0: usize,
    width: usize,
    shares: Vec<f32>,
}

/// The part of a patch that lies on the grid, before it is cut: signed, for outlines that cross the border.
struct Frame {
    x0: i64,
    y0: i64,
    width: usize,
    height: usize,
}

impl Patch {
    /// The shares of an outline, less those of a hole in it; none if no sample of the grid has any.
    pub(super) fn new(outline: &Outline, hole: Option<&Outline>, grid: &Grid) -> Option<Patch> {
        let drawn = |o: &Outline| -> Vec<(f64, f64)> { o.0.iter().map(|p| grid.to_sample(*p)).collect() };
        let points = drawn(outline);
        let frame = frame_of(&points, grid)?;
        let fine = fineness(&frame);
        let mut shares = covered(&points, &frame, fine);
        if let Some(hole) = hole {
            let gone = covered(&drawn(hole), &frame, fine);
            shares.iter_mut().zip(gone).for_each(|(s, g)| *s -= g);
        }
        Some(Patch { x0: frame.x0 as usize, y0: frame.y0 as usize, width: frame.width, shares })
    }

    /// The shares of row `j` and the column that they start at.
    pub(super) fn row(&self, j: usize) -> Option<(usize, &[f32])> {
        let k = j.checked_sub(self.y0)?;
        let shares = self.shares.get(k * self.width..(k + 1) * self.width)?;
        Some((self.x0, shares))
    }
}

/// The samples on the grid that an outline can touch.
fn frame_of(points: &[(f64, f64)], grid: &Grid) -> Option<Frame> {
    let (low, high) = corners(points.iter().copied());
    let clip = |v: f64, count: usize| v.clamp(0.0, count as f64);
    let x = (clip((low.0 - 4.0).floor(), grid.width), clip((high.0 + 5.0).ceil(), grid.width));
    let y = (clip((low.1 - 4.0).floor(), grid.height), clip((high.1 + 5.0).ceil(), grid.height));
    let frame =
        Frame { x0: x.0 as i64, y0: y.0 as i64, width: (x.1 - x.0) as usize, height: (y.1 - y.0) as usize };
    (frame.width > 0 && frame.height > 0).then_some(frame)
}

/// Fine lines per sample, even: many for small marks, fewer for large ones, whose edges are long.
fn fineness(frame: &Frame) -> usize {
    match frame.width.max(frame.height) {
        0..=64 => 16,
        65..=256 => 8,
        _ => 4,
    }
}

/// Share of each sample of the frame that the polygon covers, blurred by the grid's soft Gaussian.
fn covered(points: &[(f64, f64)], frame: &Frame, fine: usize) -> Vec<f32> {
    // The exact filling along each line has averaged over one fine cell already (variance 1/12).
    let sigma = SOFT_SAMPLES * fine as f64;
    let across = even_kernel((sigma * sigma - 1.0 / 12.0).sqrt());
    let down = even_kernel(sigma);
    let margin = across.len().max(down.len()) / 2;
    let (columns, lines) = (frame.width * fine + 2 * margin, frame.height * fine + 2 * margin);
    let mut thin = vec![0.0f32; frame.width * lines];
    let mut line = vec![0.0f32; columns];
    let (left, top) = (frame.x0 as f64 - 0.5, frame.y0 as f64 - 0.5);
    for (k, out) in thin.chunks_mut(frame.width).enumerate() {
        let y = top + (k as f64 + 0.5 - margin as f64) / fine as f64;
        let place = |x: f64| (x - left) * fine as f64 + margin as f64;
        if fill_line(points, y, place, &mut line) {
            thin_out(&line, &across, fine, margin, out);
        }
    }
    thin_down(&thin, frame, fine, margin, &down)
}

/// Fills one fine line with the exact share of each of its cells; false if the line misses the polygon.
fn fill_line(points: &[(f64, f64)], y: f64, place: impl Fn(f64) -> f64, line: &mut [f32]) -> bool {
    let mut crossings: Vec<f64> = points
        .iter()
        .zip(points.iter().cycle().skip(1))
        .filter(|(a, b)| (a.1 <= y) != (b.1 <= y))
        .map(|(a, b)| place(a.0 + (b.0 - a.0) * (y - a.1) / (b.1 - a.1)))
        .collect();
    if crossings.is_empty() {
        return false;
    }
    crossings.sort_by(f64::total_cmp);
    line.fill(0.0);
    for pair in crossings.chunks_exact(2) {
        add_span(line, pair[0], pair[1]);
    }
    true
}

fn add_span(line: &mut [f32], from: f64, to: f64) {
    let end = line.len() as f64;
    let (from, to) = (from.clamp(0.0, end), to.clamp(0.0, end));
    let (first, last) = (from as usize, (to as usize).min(line.len() - 1));
    if first >= line.len() {
        return;
    }
    if first == last {
        line[first] += (to - from) as f32;
        return;
    }
    line[first] += (first as f64 + 1.0 - from) as f32;
    line[first + 1..last].iter_mut().for_each(|c| *c += 1.0);
    line[last] += (to - last as f64) as f32;
}

/// Blurs along a fine line and keeps the value at the middle of each sample.
fn thin_out(line: &[f32], kernel: &[f32], fine: usize, margin: usize, out: &mut [f32]) {
    for (i, out) in out.iter_mut().enumerate() {
        let start = margin + i * fine + fine / 2 - kernel.len() / 2;
        *out = kernel.iter().zip(&line[start..]).map(|(k, v)| k * v).sum();
    }
}

/// Blurs across the fine lines and keeps the value at the middle of each sample.
fn thin_down(thin: &[f32], frame: &Frame, fine: usize, margin: usize, kernel: &[f32]) -> Vec<f32> {
    let width = frame.width;
    let mut out = vec![0.0f32; width * frame.height];
    for (j, row) in out.chunks_mut(width).enumerate() {
        let start = margin + j * fine + fine / 2 - kernel.len() / 2;
        for (t, weight) in kernel.iter().enumerate() {
            let line = &thin[(start + t) * width..(start + t + 1) * width];
            row.iter_mut().zip(line).for_each(|(o, v)| *o += weight * v);
        }
    }
    out
}
