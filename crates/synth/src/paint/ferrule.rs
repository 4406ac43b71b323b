//! The ferrule: glass-filled polymer, a mottled ground of layered value noise with grains strewn in it, some
//! bright and some dark, round ones and broken ones, and pores.

use super::grid::{Grid, Row, Window};
use crate::face::{Face, HALF_FACE};
use crate::noise::value_noise;
use crate::normal::Share;
use crate::random::{Stream, Topic, topic_seed};
use crate::shape::Spot;
use imaging::vectors::widest;
use std::f64::consts::TAU;

/// Side of the square cells that grains are drawn in, um.
const CELL: f64 = 40.0;
/// Reflectance of what lies beyond the ferrule's outline.
const BEYOND: f32 = 0.03;

/// Layers of the ground: size of the lattice in um, amplitude, cosine and sine of the lattice's turn.
const LAYERS: [(f64, f32, f64, f64); 4] = [
    (68.0, 0.05, 0.955, 0.296),
    (19.0, 0.07, 0.454, 0.891),
    (6.3, 0.085, -0.416, 0.909),
    (2.4, 0.075, -0.904, 0.427),
];

/// The ground between the grains.
pub(super) struct Matrix {
    seed: u32,
    level: f32,
    contrast: f32,
}

impl Matrix {
    pub(super) fn new(face: &Face) -> Matrix {
        Matrix {
            seed: topic_seed(face.seed, Topic::Mottle) as u32,
            level: face.ferrule.level as f32,
            contrast: face.ferrule.contrast as f32,
        }
    }

    /// Paints the whole row.
    pub(super) fn paint(&self, row: &mut Row) {
        widest(
            #[inline(always)]
            || {
                row.out.fill(0.0);
                for (k, layer) in LAYERS.into_iter().enumerate() {
                    mottle(self.seed.wrapping_add(k as u32 * 77), layer, row);
                }
                for out in row.out.iter_mut() {
                    *out = self.level * (1.0 + self.contrast * *out);
                }
            },
        );
    }

    /// Darkens what lies beyond the ferrule's outline.
    pub(super) fn cut_outline(&self, row: &mut Row, soft: f32, share: Share) {
        let far = |v: f64, half: f64| v.abs() > half - 5.0 * f64::from(soft);
        for i in 0..row.out.len() {
            let (x, y) = (row.x[i], row.y[i]);
            if far(x, HALF_FACE.0) || far(y, HALF_FACE.1) {
                let inside = (HALF_FACE.0 - x.abs()).min(HALF_FACE.1 - y.abs());
                row.out[i] = BEYOND + (row.out[i] - BEYOND) * share.below(inside as f32 / soft);
            }
        }
    }
}

/// Adds a layer of the ground. Inlined, so that it is compiled for the vectors that the caller asks for.
#[inline(always)]
fn mottle(seed: u32, (size, amplitude, cos, sin): (f64, f32, f64, f64), row: &mut Row) {
    for ((out, x), y) in row.out.iter_mut().zip(row.x).zip(row.y) {
        let (u, v) = ((x * cos + y * sin) / size, (y * cos - x * sin) / size);
        *out += amplitude * value_noise(seed, u, v);
    }
}

/// One grain: an ellipse, or a piece with straight sides.
struct Grain {
    window: Window,
    at: Spot,
    shape: GrainShape,
    target: f32,
    opacity: f32,
}

enum GrainShape {
    /// Half axes, cosine and sine of the turn.
    Round { a: f32, b: f32, cos: f32, sin: f32 },
    /// Distance of each side from the middle and its normal.
    Broken(Vec<(f32, f32, f32)>),
}

impl GrainShape {
    /// Distance inside the edge (positive within), good near the edge.
    #[inline]
    fn inside(&self, dx: f32, dy: f32) -> f32 {
        match self {
            GrainShape::Round { a, b, cos, sin } => {
                let (u, v) = ((dx * cos + dy * sin) / a, (dy * cos - dx * sin) / b);
                let q = (u * u + v * v).sqrt();
                let slope = ((u / a).powi(2) + (v / b).powi(2)).sqrt() / q.max(1e-3);
                (1.0 - q) / slope.max(1e-3)
            }
            GrainShape::Broken(sides) => {
                sides.iter().map(|(c, nx, ny)| c - dx * nx - dy * ny).fold(f32::INFINITY, f32::min)
            }
        }
    }
}

/// All grains that show, and those of each band of rows in the order in which they were strewn.
pub(super) struct Grains {
    grains: Vec<Grain>,
    bands: Vec<Vec<u32>>,
}

impl Grains {
    pub(super) fn new(face: &Face, grid: &Grid, band: usize) -> Grains {
        let mut grains = Vec::new();
        let (low, high) = cells_seen(grid);
        for cy in low.1..=high.1 {
            for cx in low.0..=high.0 {
                strew(face, grid, (cx, cy), &mut grains);
            }
        }
        let mut bands = vec![Vec::new(); grid.height.div_ceil(band)];
        for (k, grain) in grains.iter().enumerate() {
            for list in &mut bands[grain.window.y0 / band..=(grain.window.y1 - 1) / band] {
                list.push(k as u32);
            }
        }
        Grains { grains, bands }
    }

    pub(super) fn paint(&self, band: usize, row: &mut Row, soft: f32, share: Share) {
        for &k in &self.bands[band] {
            let grain = &self.grains[k as usize];
            if row.j < grain.window.y0 || row.j >= grain.window.y1 {
                continue;
            }
            for i in grain.window.x0..grain.window.x1 {
                let (dx, dy) = ((row.x[i] - grain.at.0) as f32, (row.y[i] - grain.at.1) as f32);
                let z = grain.shape.inside(dx, dy) / soft;
                if z > -4.0 {
                    row.out[i] += grain.opacity * share.below(z) * (grain.target - row.out[i]);
                }
            }
        }
    }
}

/// Corners of the range of cells that the picture can show any of.
fn cells_seen(grid: &Grid) -> ((i64, i64), (i64, i64)) {
    let (w, h) = (grid.width as f64, grid.height as f64);
    let corners = [(0.0, 0.0), (w, 0.0), (0.0, h), (w, h)].map(|(i, j)| grid.to_face(i, j));
    let cell = |v: f64, off: f64| ((v + off) / CELL).floor() as i64;
    let low = |f: fn(&Spot) -> f64| corners.iter().map(f).fold(f64::INFINITY, f64::min);
    let high = |f: fn(&Spot) -> f64| corners.iter().map(f).fold(f64::NEG_INFINITY, f64::max);
    let limit = |v: f64, half: f64| v.clamp(-half, half);
    (
        (cell(limit(low(|p| p.0), HALF_FACE.0), -25.0), cell(limit(low(|p| p.1), HALF_FACE.1), -25.0)),
        (cell(limit(high(|p| p.0), HALF_FACE.0), 25.0), cell(limit(high(|p| p.1), HALF_FACE.1), 25.0)),
    )
}

/// A kind of grain: mean number in a cell, sizes, share that is bright, range of tones bright and dark, share
/// that is broken.
struct Sort {
    mean: f64,
    size: (f64, f64),
    bright: f64,
    tone_bright: (f64, f64),
    tone_dark: (f64, f64),
    broken: f64,
}

const SORTS: [Sort; 4] = [
    Sort {
        mean: 0.3,
        size: (13.0, 25.0),
        bright: 0.8,
        tone_bright: (0.08, 0.4),
        tone_dark: (0.12, 0.3),
        broken: 0.45,
    },
    Sort {
        mean: 3.0,
        size: (5.0, 13.0),
        bright: 0.75,
        tone_bright: (0.06, 0.5),
        tone_dark: (0.1, 0.4),
        broken: 0.5,
    },
    Sort {
        mean: 24.0,
        size: (1.6, 5.0),
        bright: 0.6,
        tone_bright: (0.05, 0.5),
        tone_dark: (0.08, 0.45),
        broken: 0.4,
    },
    Sort {
        mean: 1.6,
        size: (1.6, 5.0),
        bright: 0.0,
        tone_bright: (0.0, 0.0),
        tone_dark: (0.4, 0.75),
        broken: 0.1,
    },
];

fn strew(face: &Face, grid: &Grid, cell: (i64, i64), grains: &mut Vec<Grain>) {
    let mut chance = Stream::new(face.seed, Topic::Grain, cell.0, cell.1);
    for sort in &SORTS {
        for _ in 0..chance.count(sort.mean) {
            let at = ((cell.0 as f64 + chance.unit()) * CELL, (cell.1 as f64 + chance.unit()) * CELL);
            let size = chance.log_between(sort.size.0, sort.size.1);
            let tone = match chance.chance(sort.bright) {
                true => chance.between(sort.tone_bright.0, sort.tone_bright.1),
                false => -chance.between(sort.tone_dark.0, sort.tone_dark.1),
            };
            let shape = grain_shape(&mut chance, size, sort.broken);
            let opacity = chance.between(0.45, 1.0) as f32;
            let target = (face.ferrule.level * (1.0 + face.ferrule.contrast * tone)) as f32;
            if let Some(window) = grid.window(at, 0.5 * size + 4.0 * grid.soft) {
                grains.push(Grain { window, at, shape, target, opacity });
            }
        }
    }
}

/// A shape that fits in a circle of the given diameter.
fn grain_shape(chance: &mut Stream, size: f64, broken: f64) -> GrainShape {
    let turn = chance.between(0.0, TAU);
    if !chance.chance(broken) {
        let flat = chance.between(0.55, 1.0);
        let (sin, cos) = turn.sin_cos();
        let (a, b) = ((0.5 * size) as f32, (0.5 * size * flat) as f32);
        return GrainShape::Round { a, b, cos: cos as f32, sin: sin as f32 };
    }
    let sides = 4 + chance.below(4);
    let side = |i: usize, chance: &mut Stream| {
        let angle = turn + TAU * (i as f64 + chance.between(-0.25, 0.25)) / sides as f64;
        let (sin, cos) = angle.sin_cos();
        // Sides at 0.2 to 0.36 of the size keep the corners inside the circle for four sides and more.
        ((size * chance.between(0.2, 0.36)) as f32, cos as f32, sin as f32)
    };
    GrainShape::Broken((0..sides).map(|i| side(i, chance)).collect())
}
