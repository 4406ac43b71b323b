//! What hangs together with a mark's peak over the edge of the glass.

use super::View;
use crate::blobs::Blob;
use crate::edge::{Edge, angle_of, sector_of};
use imaging::Plane;
use imaging::regions::{Connectivity, Region, iso_contour, region_at, regions};
use terms::geometry::convex_hull;

/// A mark reaches to where half of what makes it one is left.
const HALF: f32 = 0.5;

/// A mark with more of its area beyond the adhesive than this lies across the edge; glass that is missing ends
/// with the glass.
const ACROSS: f64 = 0.12;

/// The part of a fibre's surroundings in which a mark is followed.
#[derive(Clone, Copy)]
pub struct Window {
    /// Its first pixel, its width and height, and the mark's peak in it, pixels of the surroundings' patch.
    first: (usize, usize),
    size: (usize, usize),
    peak: (usize, usize),
    /// From its pixels to those of the glass's patch.
    back: (f64, f64),
}

impl Window {
    /// What lies no farther than `reach_um` from a mark's peak. None if the peak is not in the patch.
    pub fn about(blob: &Blob, view: &View, reach_um: f64) -> Option<Window> {
        let (patch, corner) = (view.around.patch, view.around.corner);
        let reach = (reach_um * view.px_per_um) as isize;
        let (px, py) = ((blob.peak.0 as f64 - corner.0) as isize, (blob.peak.1 as f64 - corner.1) as isize);
        let (x0, y0) = ((px - reach).max(0) as usize, (py - reach).max(0) as usize);
        let (x1, y1) = ((px + reach).min(patch.width() as isize), (py + reach).min(patch.height() as isize));
        Some(Window {
            first: (x0, y0),
            size: ((x1 as usize).checked_sub(x0)?, (y1 as usize).checked_sub(y0)?),
            peak: ((px as usize).checked_sub(x0)?, (py as usize).checked_sub(y0)?),
            back: (x0 as f64 + corner.0, y0 as f64 + corner.1),
        })
    }

    /// A plane of the window's pixels.
    pub fn plane(&self, of: impl Fn(usize, usize) -> f32) -> Plane<f32> {
        Plane::from_fn(self.size.0, self.size.1, of)
    }

    /// The level that the picture has at a pixel.
    pub fn seen(&self, view: &View, x: usize, y: usize) -> f32 {
        view.around.patch.at(x + self.first.0, y + self.first.1)
    }

    /// A pixel in those of the glass's patch.
    pub fn placed(&self, (x, y): (usize, usize)) -> (f64, f64) {
        (x as f64 + self.back.0, y as f64 + self.back.1)
    }

    /// Where a pixel lies from the centre of the cladding.
    pub fn off(&self, edge: &Edge, x: usize, y: usize) -> (f64, f64) {
        (x as f64 + self.back.0 - edge.x, y as f64 + self.back.1 - edge.y)
    }
}

/// What was followed of a mark over the edge.
pub struct Followed {
    /// Share by which each pixel belongs to it.
    field: Plane<f32>,
    window: Window,
    /// Where that is more than half.
    pub region: Region,
    /// Pixels beyond the glass.
    pub beyond: usize,
    /// How far the farthest of them lies beyond it, pixels.
    pub deepest: f64,
    /// Whether it lies across the edge.
    pub across: bool,
    /// Whether it reaches the end of what was looked at, and does so beyond the glass.
    pub cut: Option<bool>,
}

impl Followed {
    /// What hangs together with the mark's peak. None if the peak itself does not belong to it.
    pub fn of(field: Plane<f32>, window: Window, edge: &Edge) -> Option<Followed> {
        let region = region_at(&field, window.peak, Connectivity::Four, |v| v > HALF)?;
        let (w, h) = window.size;
        let (mut beyond, mut across, mut deepest, mut cut) = (0usize, 0usize, 0.0f64, None);
        for (x, y) in region.pixels() {
            let (dx, dy) = window.off(edge, x, y);
            let past = dx.hypot(dy) - edge.radius;
            beyond += usize::from(past > 0.0);
            deepest = deepest.max(past);
            across += usize::from(past > edge.ring_width_at(angle_of(sector_of(dx, dy))) + 0.5 * edge.blur);
            if x == 0 || y == 0 || x + 1 == w || y + 1 == h {
                cut = Some(cut == Some(true) || past > 0.0);
            }
        }
        let across = across as f64 > ACROSS * region.area() as f64;
        Some(Followed { field, window, region, beyond, deepest, across, cut })
    }

    /// Its outline, pixels of the glass's patch.
    pub fn outline(&self) -> Vec<(f64, f64)> {
        iso_contour(&self.field, HALF, &self.region)
            .into_iter()
            .map(|(x, y)| (x + self.window.back.0, y + self.window.back.1))
            .collect()
    }

    /// Its pixels in the window, without arms thinner than a disc of that radius, pixels: the largest piece of the region
    /// opened by the disc (Serra, 1982, "Image analysis and mathematical morphology"). What lies beyond the window counts
    /// as its own.
    pub fn body(&self, radius: f64) -> Vec<(usize, usize)> {
        let (w, h) = self.window.size;
        let r = radius.ceil() as isize;
        let disc: Vec<(isize, isize)> = (-r..=r)
            .flat_map(|j| (-r..=r).map(move |i| (i, j)))
            .filter(|(i, j)| (i * i + j * j) as f64 <= radius * radius)
            .collect();
        let moved = |p: (usize, usize), d: &(isize, isize)| {
            let x = p.0.checked_add_signed(d.0).filter(|x| *x < w)?;
            let y = p.1.checked_add_signed(d.1).filter(|y| *y < h)?;
            Some((x, y))
        };
        let mut on = Plane::filled(w, h, false);
        self.region.pixels().for_each(|(x, y)| on.set(x, y, true));
        let fits = |p: (usize, usize)| disc.iter().filter_map(|d| moved(p, d)).all(|(x, y)| on.at(x, y));
        let eroded = Plane::from_fn(w, h, |x, y| on.at(x, y) && fits((x, y)));
        let pieces = regions(&eroded, Connectivity::Four, |inside| inside);
        let Some(largest) = pieces.iter().max_by_key(|piece| piece.area()) else { return Vec::new() };
        let mut opened = Plane::filled(w, h, false);
        let grown = largest.pixels().flat_map(|p| disc.iter().filter_map(move |d| moved(p, d)));
        grown.for_each(|(x, y)| opened.set(x, y, true));
        (0..h).flat_map(|y| (0..w).map(move |x| (x, y))).filter(|(x, y)| opened.at(*x, *y)).collect()
    }

    /// Its convex hull, likewise.
    pub fn hull(&self) -> Vec<(f64, f64)> {
        convex_hull(&self.region.pixels().map(|p| self.window.placed(p)).collect::<Vec<_>>())
    }
}
