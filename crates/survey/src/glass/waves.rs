//! Waves of light over the whole picture: fringes of a cover glass or a window, bands of a flickering lamp. One fibre
//! alone cannot tell a wave from a film or a scratch, so that only what all fibres share is taken for light: one wave
//! that runs on from fibre to fibre in step, as high on each. What is taken away from a fibre is what the others say,
//! never more than they show.
//!
//! Method: the spectrum of each fibre's cladding after its light and its rings, the median over the fibres at each
//! frequency; the frequency is then refined by how well the fibres keep step, and one height and phase for all of them
//! follow by weighted least squares with every fibre's own quadratic light projected out.

use super::{Looks, Spot};
use crate::solve;
use rayon::prelude::*;
use std::f64::consts::TAU;

/// Cells over a cladding's radius: pixels are gathered in squares of about 5 um.
const CELLS: f64 = 12.0;
/// Cells across the grid.
const SIDE: usize = 25;
/// Frequencies that are tried, waves over a cladding's radius: periods from 28 to 140 um. Longer ones are a fibre's own
/// quadratic light, shorter ones are no light.
const FREQUENCIES: (f64, f64) = (0.45, 2.2);
/// Distance of the frequencies tried.
const STEP: f64 = 0.14;
/// Fibres needed for a wave to be shared.
const FIBRES: usize = 4;
/// Heights of a wave, share of the light: lower ones hide nothing, light that is torn higher is no wave.
const HEIGHTS: (f64, f64) = (0.004, 0.2);
/// How far a wave stands above what all other frequencies show.
const STANDS_OUT: f64 = 3.0;
/// Share of what waves explain of each fibre alone that one wave through all of them must explain: they keep step.
const IN_STEP: f64 = 0.7;
/// How far the frequency that explains the fibres one by one may lie off the one that they keep step at, waves over a
/// cladding's radius.
const OFF: f64 = 0.08;
/// At most so many waves are taken away.
const WAVES: usize = 3;

/// A wave over the picture.
#[derive(Clone, Copy, Debug)]
struct Wave {
    /// Waves per pixel, along x and y.
    k: (f64, f64),
    /// Heights of cosine and sine, share of the light, counted from the picture's first pixel.
    c: [f64; 2],
}

impl Wave {
    fn at(&self, x: f64, y: f64) -> f64 {
        let (sin, cos) = (TAU * (self.k.0 * x + self.k.1 * y)).sin_cos();
        self.c[0] * cos + self.c[1] * sin
    }
}

/// One fibre's cladding in cells, about its centre.
struct Cells {
    /// Centre in the picture, pixels.
    at: (f64, f64),
    /// Width of a cell, pixels.
    width: f64,
    /// Mean of the pixels over the light less 1, and how many they are; cells without any are left out.
    cells: Vec<Cell>,
}

#[derive(Clone, Copy)]
struct Cell {
    column: usize,
    row: usize,
    value: f64,
    weight: f64,
}

/// Takes the waves that all fibres share out of their spots' levels; `at` are the centres in the picture, pixels.
pub fn take_away(looks: &mut [&mut Looks], at: &[(f64, f64)]) {
    if looks.len() < FIBRES {
        return;
    }
    let mut fibres: Vec<Cells> = looks.par_iter().zip(at).map(|(l, at)| Cells::of(l, *at)).collect();
    let mut waves: Vec<Wave> = Vec::new();
    while let Some(wave) = shared(&fibres).filter(|_| waves.len() < WAVES) {
        fibres.iter_mut().for_each(|f| f.lower(&wave));
        waves.push(wave);
    }
    if waves.is_empty() {
        return;
    }
    looks.par_iter_mut().zip(at).for_each(|(l, at)| l.without(*at, &waves));
}

impl Looks {
    /// Divides the levels by the waves and fits the light anew.
    fn without(&mut self, at: (f64, f64), waves: &[Wave]) {
        for s in &mut self.spots {
            let (x, y) = (at.0 + f64::from(s.dx), at.1 + f64::from(s.dy));
            s.value /= (1.0 + waves.iter().map(|w| w.at(x, y)).sum::<f64>()) as f32;
        }
        if let Some(surface) = super::Surface::fit(&self.spots, self.ring.0, self.ring.1, self.unit) {
            self.surface = surface;
        }
    }
}

impl Cells {
    fn of(look: &Looks, at: (f64, f64)) -> Cells {
        let width = look.unit / CELLS;
        let ring = |s: &&Spot| (look.ring.0..look.ring.1).contains(&f64::from(s.r));
        let off: Vec<(f32, f32, f32)> = look
            .spots
            .iter()
            .step_by(2)
            .filter(ring)
            .map(|s| (s.dx, s.dy, s.value / look.surface.at(s.dx, s.dy, look.unit).max(1e-4) - 1.0))
            .collect();
        // Marks are no light.
        let most = 4.0 * solve::spread32(&off.iter().map(|o| o.2).collect::<Vec<_>>());
        let mut sums = vec![(0.0, 0.0); SIDE * SIDE];
        let place = |d: f32| ((f64::from(d) / width + SIDE as f64 / 2.0) as u32 as usize).min(SIDE - 1);
        for (dx, dy, v) in off.into_iter().filter(|o| o.2.abs() < most) {
            let cell = &mut sums[place(dy) * SIDE + place(dx)];
            *cell = (cell.0 + f64::from(v), cell.1 + 1.0);
        }
        let full = sums.iter().enumerate().filter(|(_, s)| s.1 > 0.0);
        let cell = |(i, s): (usize, &(f64, f64))| Cell {
            column: i % SIDE,
            row: i / SIDE,
            value: s.0 / s.1,
            weight: s.1,
        };
        Cells { at, width, cells: full.map(cell).collect() }
    }

    /// Middle of a cell about the centre, in cells.
    fn middle(cell: &Cell) -> (f64, f64) {
        let half = (SIDE as f64 - 1.0) / 2.0;
        (cell.column as f64 - half, cell.row as f64 - half)
    }

    /// Middle of a cell in the picture, pixels.
    fn in_picture(&self, cell: &Cell) -> (f64, f64) {
        let (x, y) = Cells::middle(cell);
        (self.at.0 + x * self.width, self.at.1 + y * self.width)
    }

    fn lower(&mut self, wave: &Wave) {
        for i in 0..self.cells.len() {
            let (x, y) = self.in_picture(&self.cells[i]);
            self.cells[i].value -= wave.at(x, y);
        }
    }

    /// Values with the means of rings taken away: the cladding's shading is no wave.
    fn without_rings(&self) -> Vec<f64> {
        let ring = |c: &Cell| {
            let (x, y) = Cells::middle(c);
            x.hypot(y) as usize
        };
        let mut sums = [(0.0, 0.0); SIDE];
        for c in &self.cells {
            let sum = &mut sums[ring(c)];
            *sum = (sum.0 + c.weight * c.value, sum.1 + c.weight);
        }
        self.cells.iter().map(|c| c.value - sums[ring(c)].0 / sums[ring(c)].1).collect()
    }
}

/// The strongest wave that all fibres share, if there is one.
fn shared(fibres: &[Cells]) -> Option<Wave> {
    let radius = CELLS * fibres.first()?.width;
    let (kx, ky) = common_peak(fibres)?;
    let k = in_step(fibres, sharpest(fibres, (kx / radius, ky / radius)))?;
    let c = Told::by_all(fibres, k).heights()?;
    (HEIGHTS.0..HEIGHTS.1).contains(&size((c[0], c[1]))).then_some(Wave { k, c })
}

/// A complex number.
type Complex = (f64, f64);

fn size(c: Complex) -> f64 {
    c.0.hypot(c.1)
}

/// The frequency, waves per radius, at which the median of the fibres' heights is greatest and stands out.
fn common_peak(fibres: &[Cells]) -> Option<(f64, f64)> {
    let spectra: Vec<Vec<f64>> = fibres.par_iter().map(|f| spectrum(f, &f.without_rings())).collect();
    let mut heights: Vec<f64> = (0..COLUMNS * ROWS)
        .map(|i| solve::median(&mut spectra.iter().map(|s| s[i]).collect::<Vec<_>>()))
        .collect();
    let tried = |i: &usize| (FREQUENCIES.0..FREQUENCIES.1).contains(&size(frequency(*i)));
    let best = (0..heights.len()).filter(tried).max_by(|&a, &b| heights[a].total_cmp(&heights[b]))?;
    let (height, peak) = (heights[best], frequency(best));
    (height > HEIGHTS.0 / 2.0 && height > STANDS_OUT * solve::median(&mut heights)).then_some(peak)
}

/// Frequencies along x, of both signs, and along y, of one.
const ROWS: usize = (FREQUENCIES.1 / STEP) as usize + 1;
const COLUMNS: usize = 2 * ROWS - 1;

/// The frequency number `i` of a spectrum, waves per radius.
fn frequency(i: usize) -> (f64, f64) {
    let (column, row) = ((i % COLUMNS) as f64, (i / COLUMNS) as f64);
    ((column - (ROWS as f64 - 1.0)) * STEP, row * STEP)
}

/// Height of one fibre's cladding at each frequency: first along the rows of cells, then along the columns.
fn spectrum(fibre: &Cells, values: &[f64]) -> Vec<f64> {
    let half = (SIDE as f64 - 1.0) / 2.0;
    let turn = |f: f64, place: usize| (-TAU * f / CELLS * (place as f64 - half)).sin_cos();
    let mut along = vec![(0.0, 0.0); SIDE * COLUMNS];
    let turns: Vec<(f64, f64)> =
        (0..SIDE).flat_map(|x| (0..COLUMNS).map(move |c| turn(frequency(c).0, x))).collect();
    for (cell, v) in fibre.cells.iter().zip(values) {
        let wv = cell.weight * v;
        let sums = &mut along[cell.row * COLUMNS..(cell.row + 1) * COLUMNS];
        for (sum, (sin, cos)) in sums.iter_mut().zip(&turns[cell.column * COLUMNS..]) {
            *sum = (sum.0 + wv * cos, sum.1 + wv * sin);
        }
    }
    let total: f64 = fibre.cells.iter().map(|c| c.weight).sum();
    let mut heights = Vec::with_capacity(COLUMNS * ROWS);
    for row in 0..ROWS {
        let turns: Vec<(f64, f64)> = (0..SIDE).map(|y| turn(row as f64 * STEP, y)).collect();
        for column in 0..COLUMNS {
            let mut sum = (0.0, 0.0);
            for (line, (sin, cos)) in along.iter().skip(column).step_by(COLUMNS).zip(&turns) {
                sum = (sum.0 + line.0 * cos - line.1 * sin, sum.1 + line.0 * sin + line.1 * cos);
            }
            heights.push(2.0 * size(sum) / total);
        }
    }
    heights
}

/// Climbs from `k` by steps that are halved, from the first to the last, to where `height` is greatest.
fn climbed(mut k: (f64, f64), steps: (f64, f64), height: impl Fn((f64, f64)) -> f64) -> (f64, f64) {
    let (mut step, last) = steps;
    let mut best = height(k);
    while step > last {
        let around = [(step, 0.0), (-step, 0.0), (0.0, step), (0.0, -step)].map(|d| (k.0 + d.0, k.1 + d.1));
        let tried = around.into_iter().map(|k| (height(k), k));
        match tried.max_by(|a, b| a.0.total_cmp(&b.0)).filter(|t| t.0 > best) {
            Some((higher, there)) => (best, k) = (higher, there),
            None => step /= 2.0,
        }
    }
    k
}

/// The frequency near `k`, waves per pixel, that explains most of the fibres, each for itself.
fn sharpest(fibres: &[Cells], k: (f64, f64)) -> (f64, f64) {
    let radius = CELLS * fibres.first().map_or(1.0, |f| f.width);
    let alone = |k| fibres.par_iter().map(|f| Told::by(f, k).gain()).collect::<Vec<_>>().iter().sum();
    climbed(k, (0.5 * STEP / radius, 0.004 / radius), alone)
}

/// The frequency near `k`, waves per pixel, at which the fibres keep step; none if they do not.
fn in_step(fibres: &[Cells], k: (f64, f64)) -> Option<(f64, f64)> {
    let together = |k| Told::by_all(fibres, k).gain();
    let (first, last) = (fibres.first()?, fibres.last()?);
    let (dx, dy) = (last.at.0 - first.at.0, last.at.1 - first.at.1);
    let radius = CELLS * first.width;
    let long = size((dx, dy)).max(radius);
    // Steps of a quarter of a wave over the whole row.
    let near = (4.0 * OFF * long / radius) as i32;
    let along = |n: i32| {
        let t = 0.25 * f64::from(n) / (long * long);
        (k.0 + t * dx, k.1 + t * dy)
    };
    let tried = (-near..=near).into_par_iter().map(along).map(|k| (together(k), k)).collect::<Vec<_>>();
    let (_, start) = tried.into_iter().max_by(|a, b| a.0.total_cmp(&b.0))?;
    let best = climbed(start, (0.1 / long, 0.002 / long), together);
    let alone: f64 = fibres.iter().map(|f| Told::by(f, best).gain()).sum();
    (together(best) > IN_STEP * alone).then_some(best)
}

/// What fibres tell of a wave of one frequency: the normal equations of the heights of its cosine and sine, each
/// fibre's own quadratic light projected out. Fibres count by how little else there is on them.
#[derive(Clone, Copy, Default)]
struct Told {
    a: [[f64; 2]; 2],
    b: [f64; 2],
}

impl Told {
    fn by(fibre: &Cells, k: (f64, f64)) -> Told {
        // A cell shows the mean of the wave over it.
        let mean = |f: f64| {
            let t = std::f64::consts::PI * f * fibre.width;
            if t.abs() < 1e-6 { 1.0 } else { t.sin() / t }
        };
        let shows = mean(k.0) * mean(k.1);
        let row = |c: &Cell| {
            let (u, v) = Cells::middle(c);
            let (u, v) = (u / CELLS, v / CELLS);
            let (x, y) = fibre.in_picture(c);
            let (sin, cos) = (TAU * (k.0 * x + k.1 * y)).sin_cos();
            (c.weight, [1.0, u, v, u * u, u * v, v * v], [c.value, shows * cos, shows * sin])
        };
        let rows: Vec<Row> = fibre.cells.iter().map(row).collect();
        let Some([value, cos, sin]) = projected(&rows) else { return Told::default() };
        let dot = |p: &[f64], q: &[f64]| -> f64 {
            rows.iter().zip(p.iter().zip(q)).map(|(row, (p, q))| row.0 * p * q).sum()
        };
        let firm = 1.0 / dot(&value, &value).max(1e-12);
        let waves = [&cos, &sin];
        Told { a: waves.map(|p| waves.map(|q| firm * dot(p, q))), b: waves.map(|p| firm * dot(p, &value)) }
    }

    fn by_all(fibres: &[Cells], k: (f64, f64)) -> Told {
        let each: Vec<Told> = fibres.par_iter().map(|f| Told::by(f, k)).collect();
        each.into_iter().fold(Told::default(), |sum, t| Told {
            a: [0, 1].map(|u| [0, 1].map(|v| sum.a[u][v] + t.a[u][v])),
            b: [0, 1].map(|u| sum.b[u] + t.b[u]),
        })
    }

    /// The heights that fit best; none if nothing tells.
    fn heights(&self) -> Option<[f64; 2]> {
        let Told { a: [[cc, cs], [_, ss]], b: [c, s] } = *self;
        let det = cc * ss - cs * cs;
        (det > 1e-9 * cc * ss).then(|| [(ss * c - cs * s) / det, (cc * s - cs * c) / det])
    }

    /// How much of the fibres' unevenness the best heights explain, a share for each fibre.
    fn gain(&self) -> f64 {
        self.heights().map_or(0.0, |h| h[0] * self.b[0] + h[1] * self.b[1])
    }
}

/// A cell's weight, the terms of its own light, and the columns of which these are to be taken away.
type Row = (f64, [f64; 6], [f64; 3]);

/// Three columns with what six others explain of them taken away.
fn projected(rows: &[Row]) -> Option<[Vec<f64>; 3]> {
    let mut normal = [0.0; 36];
    let mut sides = [[0.0; 6]; 3];
    for (w, f, columns) in rows {
        for u in 0..6 {
            for v in 0..6 {
                normal[6 * u + v] += w * f[u] * f[v];
            }
            for (side, c) in sides.iter_mut().zip(columns) {
                side[u] += w * f[u] * c;
            }
        }
    }
    let mut out: [Vec<f64>; 3] = Default::default();
    for (k, (side, out)) in sides.iter().zip(&mut out).enumerate() {
        let fit = solve::cholesky(&mut normal.clone(), side)?;
        *out =
            rows.iter().map(|(_, f, c)| c[k] - fit.iter().zip(f).map(|(a, f)| a * f).sum::<f64>()).collect();
    }
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    const WIDTH: f64 = 10.0;

    /// Claddings in a slanting row 500 pixels apart, each with a quadratic light and what `at` adds, from the place in
    /// the picture and the fibre's number.
    fn row(count: usize, at: impl Fn(f64, f64, usize) -> f64) -> Vec<Cells> {
        let fibre = |i: usize| {
            let mut cells =
                Cells { at: (300.0 + 500.0 * i as f64, 250.0 + 9.0 * i as f64), width: WIDTH, cells: vec![] };
            for k in 0..SIDE * SIDE {
                let mut cell = Cell { column: k % SIDE, row: k / SIDE, value: 0.0, weight: 100.0 };
                let (u, v) = Cells::middle(&cell);
                if !(7.0..11.5).contains(&u.hypot(v)) {
                    continue;
                }
                let (x, y) = cells.in_picture(&cell);
                let grain = ((k * 7919 + i * 104_729) % 1009) as f64 / 1009.0 - 0.5;
                cell.value = 2e-4 * u * u - 1e-4 * u * v + 0.004 * grain + at(x, y, i);
                cells.cells.push(cell);
            }
            cells
        };
        (0..count).map(fibre).collect()
    }

    #[test]
    fn a_wave_through_all_fibres_is_found_with_its_height() {
        for (period, degrees) in [(80.0, 0.0f64), (160.0, 0.0), (160.0, 35.0), (160.0, 90.0), (110.0, 120.0)]
        {
            let (sin, cos) = degrees.to_radians().sin_cos();
            let wave = |x: f64, y: f64| 0.03 * (TAU * (x * cos + y * sin) / period + 0.7).sin();
            let fibres = row(12, |x, y, i| wave(x, y) + if i == 4 { 0.1 * (x / 30.0).sin() } else { 0.0 });
            let found = shared(&fibres).unwrap_or_else(|| panic!("{period} {degrees}: none"));
            let off = |f: &Cells| {
                f.cells
                    .iter()
                    .map(|c| {
                        let (x, y) = f.in_picture(c);
                        (found.at(x, y) - wave(x, y)).abs()
                    })
                    .fold(0.0, f64::max)
            };
            let most = fibres.iter().map(off).fold(0.0, f64::max);
            // A cell of 10 pixels shows a wave of 80 as high as sin(pi / 8) / (pi / 8) at most.
            assert!(most < 0.004, "{period}, {degrees}: off by {most}");
        }
    }

    /// Marks of one fibre, shadings that all share about their own centres and mottle that is every fibre's own.
    #[test]
    fn what_is_not_one_wave_through_all_is_none() {
        let about =
            |x: f64, y: f64, i: usize| (x - 300.0 - 500.0 * i as f64).hypot(y - 250.0 - 9.0 * i as f64);
        let phase = |i: usize| (i * i * 7 % 13) as f64;
        let cases: [(&str, Vec<Cells>); 5] = [
            ("nothing", row(12, |_, _, _| 0.0)),
            ("one fibre", row(12, |x, _, i| if i == 3 { 0.05 * (x / 20.0).sin() } else { 0.0 })),
            ("shading", row(12, |x, y, i| 0.02 * (about(x, y, i) / 15.0).cos())),
            ("out of step", row(12, |x, _, i| 0.03 * (x / 20.0 + phase(i)).sin())),
            ("too few", row(FIBRES - 1, |x, _, _| 0.03 * (x / 20.0).sin())),
        ];
        for (name, fibres) in cases {
            assert!(fibres.len() < FIBRES || shared(&fibres).is_none(), "{name}");
        }
    }
}
