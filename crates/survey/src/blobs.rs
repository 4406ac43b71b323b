//! Marks that are no lines: peaks of the smoothed residual that stand out from its own scatter, each with
//! the basin of pixels that belongs to it. Two peaks are two marks if the saddle between them is deep enough
//! for both (watershed with persistence: Edelsbrunner, Letscher and Zomorodian, 2002, "Topological
//! persistence and simplification"). The outline runs half way up from what the mark stands on, see `ground`.

use crate::glass::Glass;
use crate::ground;
use crate::normal::cdf;
use crate::sizes::Sized;
use crate::smooth;
use crate::solve;
use imaging::Plane;
use imaging::regions::{Connectivity, Region, iso_contour, region_at};
use terms::geometry::{largest_extent, polygon_area};

/// A mark in the patch, lengths in pixels.
#[derive(Clone, Debug)]
pub struct Blob {
    /// Its highest pixel.
    pub peak: (usize, usize),
    /// Signed height of the peak in the smoothed residual.
    pub height: f64,
    /// Signed level that it stands on: that of the film about it, 0 on clean glass.
    pub base: f64,
    /// Height over the scatter of the smoothed residual.
    pub strength: f64,
    /// Standard deviation of the blur under which it was seen: the picture's and the smoothing's.
    pub blur: f64,
    /// Pixels above half the height.
    pub pixels: Vec<(usize, usize)>,
    /// Outline at half the height.
    pub outline: Vec<(f64, f64)>,
    /// How far the field falls towards the middle of the mark, share of the height: a rim too small to show a
    /// hole has a dip.
    pub dip: f64,
    /// Whether it was seen to lie across the cladding's edge, on glass and ferrule.
    pub across: bool,
    /// Its size by its pixels, if they show that it is a small rim.
    pub rim: Option<Sized>,
}

impl Blob {
    /// Signed height over what it stands on.
    pub fn stands(&self) -> f64 {
        self.height - self.base
    }
}

/// Whether two signed heights have one sign and agree within a factor.
pub fn alike(a: f64, b: f64, factor: f64) -> bool {
    a * b > 0.0 && a.abs() < factor * b.abs() && b.abs() < factor * a.abs()
}

/// Side of a block, share of the glass's radius: 10 um.
const BLOCK: f64 = 0.16;

/// A smoothing of more than so many blurs is wide. The same block for it, 20 um, and how many times the scatter within such
/// blocks clean glass scatters at most as a whole.
const WIDE: f64 = 2.5;
const WIDE_BLOCK: f64 = 0.32;
const UNEVEN: f64 = 1.6;

/// A smoothed residual, ready to be searched.
pub struct Field {
    /// The smoothed residual.
    pub plane: Plane<f32>,
    /// Its robust scatter on the glass.
    pub scatter: f64,
    /// Blur of the picture and of the smoothing together, pixels.
    pub blur: f64,
    /// Least scatter that can be believed.
    least: f64,
    /// Middle and radius of the glass, pixels.
    pub disc: (f64, f64, f64),
    /// Standard deviation of the smoothing, pixels.
    sigma: f64,
}

impl Field {
    /// Smooths a residual of the whole glass by `sigma` pixels and measures its scatter.
    pub fn on_glass(residual: &Plane<f32>, glass: &Glass, blur: f64, sigma: f64) -> Field {
        let plane = smooth::mean_on_glass(residual, glass, sigma);
        Field::of(plane, &glass.inside, glass, blur, sigma)
    }

    /// The same where only the part `open` of the glass is still to be searched.
    pub fn where_open(
        residual: &Plane<f32>,
        open: &Plane<f32>,
        glass: &Glass,
        blur: f64,
        sigma: f64,
    ) -> Field {
        Field::of(smooth::mean_inside(residual, open, glass, sigma), open, glass, blur, sigma)
    }

    fn of(plane: Plane<f32>, open: &Plane<f32>, glass: &Glass, blur: f64, sigma: f64) -> Field {
        let pixels = plane.data().iter().zip(open.data()).step_by(3);
        let sample: Vec<f32> = pixels.filter(|(_, m)| **m > 0.0).map(|(v, _)| *v).collect();
        let least = glass.rounding.of_means(sigma).max(1e-6);
        let scatter = f64::from(solve::spread32(&sample));
        let disc = (glass.centre.0, glass.centre.1, glass.radius);
        let mut field = Field { plane, scatter, blur: blur.hypot(sigma), least, disc, sigma };
        if sigma > WIDE * blur {
            field.scatter = field.scatter.min(UNEVEN * field.scatter_within(WIDE_BLOCK, open));
        }
        field.ease(glass);
        field
    }

    /// Takes the scatter for that of clean glass, see [`Glass::ease`].
    pub fn ease(&mut self, glass: &Glass) {
        self.scatter = (self.scatter * glass.ease).max(self.least);
    }

    /// Its scatter within small blocks of the glass, each about its own middle level: a film is even within most of them.
    pub fn local_scatter(&self, glass: &Glass) -> f64 {
        self.scatter_within(BLOCK, &glass.inside)
    }

    /// The same within blocks whose side is a share of the glass's radius, where it is open.
    fn scatter_within(&self, block: f64, open: &Plane<f32>) -> f64 {
        let side = ((block * self.disc.2) as usize).max(1);
        let across = self.plane.width().div_ceil(side);
        let mut blocks: Vec<Vec<f32>> = vec![Vec::new(); across * self.plane.height().div_ceil(side)];
        for y in (0..self.plane.height()).step_by(2) {
            let row = self.plane.row(y).iter().zip(open.row(y)).enumerate();
            for (x, (v, _)) in row.step_by(2).filter(|(_, (_, m))| **m > 0.0) {
                blocks[y / side * across + x / side].push(*v);
            }
        }
        let full = side * side / 8;
        let about_middle = |mut block: Vec<f32>| {
            let middle = solve::quantile32(&mut block, 0.5);
            block.iter_mut().for_each(|v| *v -= middle);
            f64::from(solve::spread32(&block))
        };
        let filled = blocks.into_iter().filter(|b| b.len() > full);
        let mut scatters: Vec<f64> = filled.map(about_middle).collect();
        if scatters.is_empty() { self.scatter } else { solve::median(&mut scatters) }
    }

    /// Standard deviation that a pixel's noise would have to have for this scatter.
    pub fn pixel_noise(&self) -> f64 {
        self.scatter * 2.0 * std::f64::consts::PI.sqrt() * self.sigma
    }

    /// Scatter at a pixel over that far from the rim: a mean at the rim is one over half as many pixels.
    pub fn unrest(&self, (x, y): (usize, usize)) -> f64 {
        let depth = self.disc.2 - (x as f64 - self.disc.0).hypot(y as f64 - self.disc.1);
        let t = (depth / self.sigma).max(0.0);
        cdf(std::f64::consts::SQRT_2 * t).sqrt() / cdf(t)
    }
}

/// Peaks of one sign at least `threshold` scatters high, with their outlines, highest first.
pub fn find(field: &Field, sign: f32, threshold: f64) -> Vec<Blob> {
    let mut blobs: Vec<Blob> = basins(field, sign, threshold)
        .iter()
        .filter_map(|basin| basin.blob(field, sign, threshold))
        .collect();
    blobs.sort_by(|a, b| b.strength.total_cmp(&a.strength).then(a.peak.cmp(&b.peak)));
    close_rings(blobs, field, sign)
}

/// The region above `level` about a blob and its outline, if it closes about a hole wider than the blur.
fn ring_at(blob: &Blob, field: &Field, sign: f32, level: f32) -> Option<(Region, Vec<(f64, f64)>)> {
    let region = region_at(&field.plane, blob.peak, Connectivity::Eight, |v| v * sign > level)?;
    let outline = iso_contour(&field.plane, level * sign, &region);
    let hole = polygon_area(&outline).abs() - region.area() as f64;
    (hole > 4.0 * blob.blur * blob.blur && hole > 0.15 * region.area() as f64).then_some((region, outline))
}

/// Joins the arcs of a rim: where a blob's neighbourhood closes about a hole wider than the blur, all peaks on it
/// are one mark, drawn at the level at which it closes.
fn close_rings(blobs: Vec<Blob>, field: &Field, sign: f32) -> Vec<Blob> {
    let mut kept: Vec<Blob> = Vec::new();
    let mut rings: Vec<Region> = Vec::new();
    for blob in blobs {
        if rings.iter().any(|r| r.contains(blob.peak.0, blob.peak.1)) {
            continue;
        }
        let long = largest_extent(&blob.outline) > 3.0 * blob.blur;
        let lowest = 2.5 * field.scatter as f32;
        let base = blob.base.abs() as f32;
        let levels = [0.5, 0.4, 0.3].map(|share| base + share * (blob.height.abs() as f32 - base));
        let ring =
            levels.into_iter().filter(|l| long && *l > lowest).find_map(|l| ring_at(&blob, field, sign, l));
        match ring {
            None => kept.push(blob),
            Some((region, outline)) => {
                kept.push(Blob { pixels: region.pixels().collect(), outline, ..blob });
                rings.push(region);
            }
        }
    }
    kept
}

/// A peak and the pixels that belong to it, highest first.
struct Basin {
    peak: (usize, usize),
    value: f32,
    pixels: Vec<(usize, usize)>,
}

const NONE: u32 = u32::MAX;

/// Floods the field from its peaks down to half the threshold.
fn basins(field: &Field, sign: f32, threshold: f64) -> Vec<Basin> {
    let plane = &field.plane;
    let width = plane.width();
    let low = (0.5 * threshold * field.scatter) as f32;
    let raised = plane.data().iter().enumerate().map(|(i, v)| (*v * sign, i as u32));
    let mut order: Vec<(f32, u32)> = raised.filter(|(v, _)| *v > low).collect();
    order.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut forest =
        Forest { owner: Plane::filled(width, plane.height(), NONE), parent: Vec::new(), peaks: Vec::new() };
    for &(value, index) in &order {
        forest.add(index as usize % width, index as usize / width, value, plane, sign, field.scatter as f32);
    }
    let mut basins: Vec<Basin> = Vec::new();
    let mut slot = vec![usize::MAX; forest.peaks.len()];
    for &(value, index) in &order {
        let (x, y) = (index as usize % width, index as usize / width);
        let root = forest.root(forest.owner.at(x, y)) as usize;
        if slot[root] == usize::MAX {
            slot[root] = basins.len();
            basins.push(Basin { peak: (x, y), value, pixels: Vec::new() });
        }
        basins[slot[root]].pixels.push((x, y));
    }
    basins
}

/// Which peak each pixel belongs to, and which peaks were joined.
struct Forest {
    owner: Plane<u32>,
    parent: Vec<u32>,
    peaks: Vec<f32>,
}

impl Forest {
    fn add(&mut self, x: usize, y: usize, value: f32, plane: &Plane<f32>, sign: f32, scatter: f32) {
        let mut best: Option<(f32, u32)> = None;
        let mut around = [NONE; 8];
        for (slot, (dx, dy)) in
            [(-1, -1), (0, -1), (1, -1), (-1, 0), (1, 0), (-1, 1), (0, 1), (1, 1)].into_iter().enumerate()
        {
            let (nx, ny) = (x as isize + dx, y as isize + dy);
            let Some(id) = self.owner.get(nx, ny).filter(|id| *id != NONE) else { continue };
            let id = self.root(id);
            let near = plane.at(nx as usize, ny as usize) * sign;
            if best.is_none_or(|b| near > b.0) {
                best = Some((near, id));
            }
            around[slot] = id;
        }
        let id = match best {
            None => {
                self.parent.push(self.peaks.len() as u32);
                self.peaks.push(value);
                self.peaks.len() as u32 - 1
            }
            Some((_, id)) => {
                for other in around.into_iter().filter(|o| *o != NONE) {
                    self.join(id, other, value, scatter);
                }
                id
            }
        };
        self.owner.set(x, y, id);
    }

    fn root(&self, mut id: u32) -> u32 {
        while self.parent[id as usize] != id {
            id = self.parent[id as usize];
        }
        id
    }

    /// Joins basins that meet at height `saddle` unless both rise far enough above it.
    fn join(&mut self, a: u32, b: u32, saddle: f32, scatter: f32) {
        let (a, b) = (self.root(a), self.root(b));
        let (high, low) = if self.peaks[a as usize] >= self.peaks[b as usize] { (a, b) } else { (b, a) };
        let peak = self.peaks[low as usize];
        if high != low && peak - saddle < (0.3 * peak).max(3.0 * scatter) {
            self.parent[low as usize] = high;
        }
    }
}

impl Basin {
    fn blob(&self, field: &Field, sign: f32, threshold: f64) -> Option<Blob> {
        let strength = f64::from(self.value) / (field.scatter * field.unrest(self.peak));
        if strength < threshold {
            return None;
        }
        let x0 = self.pixels.iter().map(|p| p.0).min()?;
        let y0 = self.pixels.iter().map(|p| p.1).min()?;
        let x1 = self.pixels.iter().map(|p| p.0).max()?;
        let y1 = self.pixels.iter().map(|p| p.1).max()?;
        // A window with a margin of one pixel, 0 where another basin begins.
        let mut window = Plane::filled(x1 - x0 + 3, y1 - y0 + 3, 0.0f32);
        for &(x, y) in &self.pixels {
            window.set(x - x0 + 1, y - y0 + 1, field.plane.at(x, y) * sign);
        }
        let seed = (self.peak.0 - x0 + 1, self.peak.1 - y0 + 1);
        let corner = (x0 as isize - 1, y0 as isize - 1);
        let on_film = ground::below(&window, corner, seed, self.value, field, sign);
        let (base, height) = on_film.unwrap_or_else(|| {
            let upper = window.data().iter().filter(|v| **v > 0.5 * self.value);
            (0.0, solve::quantile32(&mut upper.copied().collect::<Vec<f32>>(), 0.9))
        });
        let half = base + 0.5 * (height - base);
        let region = region_at(&window, seed, Connectivity::Eight, |v| v > half)?;
        let middle = region.moments();
        let dip = 1.0 - f64::from(window.sample(middle.x, middle.y) / height);
        let outline = iso_contour(&window, half, &region)
            .into_iter()
            .map(|(x, y)| (x + x0 as f64 - 1.0, y + y0 as f64 - 1.0))
            .collect();
        Some(Blob {
            peak: self.peak,
            height: f64::from(height * sign),
            base: f64::from(base * sign),
            strength,
            blur: field.blur,
            pixels: region.pixels().map(|(x, y)| (x + x0 - 1, y + y0 - 1)).collect(),
            outline,
            dip,
            across: false,
            rim: None,
        })
    }
}
