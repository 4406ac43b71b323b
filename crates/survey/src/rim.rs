//! Marks that reach over the cladding's edge: where the glass ends they are followed onto the adhesive ring
//! and the ferrule, against what the fitted edge says should be seen there.

use crate::blobs::Blob;
use crate::edge::{Edge, SECTORS, angle_of, sector_of};
use crate::marks::Around;
use crate::normal::cdf;
use crate::solve;
use imaging::Plane;
use imaging::blur::gaussian;
use imaging::regions::{Connectivity, iso_contour, region_at};
use terms::geometry::{convex_hull, polygon_area};

/// Height from which a mark stands out from the ferrule's grain.
const CLEAR: f64 = 0.35;

/// Farthest that a mark is followed from its peak, um.
const REACH: f64 = 16.0;

/// Least difference of an opaque mark from what it covers by which it is followed, share of the glass's level.
const STEP: f32 = 0.05;

/// A mark is no wider beyond the edge than so many times its width on the glass: a dark ring is not a part of it.
const WIDENS: f64 = 1.3;

/// What runs on farther than it is followed is lint, no wider than this, um: wider marks end, and what runs on is the
/// ferrule's grain.
const LINT: f64 = 8.0;

/// A mark with more of its area beyond the adhesive than this lies across the edge; glass that is missing ends
/// with the glass.
const ACROSS: f64 = 0.12;

/// What a mark at the edge is seen to do beyond it.
pub enum Beyond {
    /// It ends there, all of it within this outline; whether it lies across the edge.
    Ends(Vec<(f64, f64)>, bool),
    /// It runs on over the ferrule, farther than it is followed; what was seen of it if it is as narrow as lint.
    RunsOn(Option<Vec<(f64, f64)>>),
    /// It is too faint to be told from the ferrule's grain.
    Unknown,
}

/// What the clean edge of one fibre looks like beyond the glass.
pub struct Rim {
    inside: Vec<f32>,
    ring: Vec<f32>,
    outside: Vec<f32>,
}

impl Rim {
    /// Levels by sector, each the median of its neighbours' so that a mark does not count as clean.
    pub fn of(edge: &Edge) -> Rim {
        let eased = |levels: &[f32]| {
            (0..SECTORS)
                .map(|s| {
                    let mut near: Vec<f32> =
                        (0..17).map(|k| levels[(s + SECTORS + k - 8) % SECTORS]).collect();
                    solve::quantile32(&mut near, 0.5)
                })
                .collect()
        };
        Rim { inside: eased(&edge.inside), ring: eased(&edge.ring), outside: eased(&edge.outside) }
    }

    /// The level expected at (dx, dy) from the centre.
    fn at(&self, edge: &Edge, dx: f64, dy: f64) -> f32 {
        let s = sector_of(dx, dy);
        let angle = angle_of(s);
        let r = (dx * dx + dy * dy).sqrt();
        let glass = cdf((edge.radius - r) / edge.blur) as f32;
        let width = edge.ring_width_at(angle);
        let beyond = 1.0 - cdf((edge.radius + width - r) / edge.blur) as f32;
        self.inside[s] * glass + self.outside[s] * beyond + self.ring[s] * (1.0 - glass - beyond).max(0.0)
    }

    /// Where a dark mark that touches the edge goes, by its outline at half height in pixels of the glass's patch.
    pub fn beyond(
        &self,
        blob: &Blob,
        edge: &Edge,
        around: &Around,
        px_per_um: f64,
        smoothing: f64,
    ) -> Beyond {
        if blob.height > -CLEAR {
            return Beyond::Unknown;
        }
        let follow = |takes: &dyn Fn(f32) -> f32| {
            self.followed(blob, edge, around, px_per_um, smoothing, takes).unwrap_or(Beyond::Unknown)
        };
        let height = blob.height as f32;
        let shaded = follow(&|clean| -height * clean);
        let Beyond::Ends(outline, false) = &shaded else { return shaded };
        // What is opaque is as dark over the ferrule as over the glass, which is a smaller share of the ferrule's light.
        let towards = sector_of(blob.peak.0 as f64 - edge.x, blob.peak.1 as f64 - edge.y);
        let glass = self.inside[towards];
        match follow(&|clean| (clean - glass * (1.0 + height)).max(STEP * glass)) {
            Beyond::Ends(whole, true) if goes_on(outline, &whole, edge) => Beyond::Ends(whole, true),
            seen @ Beyond::RunsOn(Some(_)) => seen,
            _ => shaded,
        }
    }

    /// `takes` is what the mark takes of a clean level where it lies.
    fn followed(
        &self,
        blob: &Blob,
        edge: &Edge,
        around: &Around,
        px_per_um: f64,
        smoothing: f64,
        takes: &dyn Fn(f32) -> f32,
    ) -> Option<Beyond> {
        let Around { patch: wide, corner } = *around;
        let reach = (REACH * px_per_um) as isize;
        let (px, py) = ((blob.peak.0 as f64 - corner.0) as isize, (blob.peak.1 as f64 - corner.1) as isize);
        let (x0, y0) = ((px - reach).max(0) as usize, (py - reach).max(0) as usize);
        let (x1, y1) = ((px + reach).min(wide.width() as isize), (py + reach).min(wide.height() as isize));
        let (w, h) = ((x1 as usize).checked_sub(x0)?, (y1 as usize).checked_sub(y0)?);
        let taken = Plane::from_fn(w, h, |x, y| {
            let (gx, gy) = ((x + x0) as f64 + corner.0 - edge.x, (y + y0) as f64 + corner.1 - edge.y);
            let clean = self.at(edge, gx, gy).max(0.02);
            (clean - wide.at(x + x0, y + y0)) / takes(clean)
        });
        let field = gaussian(&taken, smoothing);
        let half = 0.5;
        let seed = ((px as usize).checked_sub(x0)?, (py as usize).checked_sub(y0)?);
        let region = region_at(&field, seed, Connectivity::Four, |v| v > half)?;
        let (mut beyond, mut across, mut deepest, mut cut) = (0usize, 0usize, 0.0f64, None);
        for (x, y) in region.pixels() {
            let (gx, gy) = ((x + x0) as f64 + corner.0 - edge.x, (y + y0) as f64 + corner.1 - edge.y);
            let past = gx.hypot(gy) - edge.radius;
            beyond += usize::from(past > 0.0);
            deepest = deepest.max(past);
            across += usize::from(past > edge.ring_width_at(angle_of(sector_of(gx, gy))) + 0.5 * edge.blur);
            if x == 0 || y == 0 || x + 1 == w || y + 1 == h {
                cut = Some(cut == Some(true) || past > 0.0);
            }
        }
        let across = across as f64 > ACROSS * region.area() as f64;
        let back = (x0 as f64 + corner.0, y0 as f64 + corner.1);
        if cut == Some(true) || beyond > 3 * blob.pixels.len() + 20 || cut.is_some() && across {
            let on_glass = along_edge(&blob.outline, edge);
            let width = beyond as f64 / deepest.max(1.0);
            let narrow = on_glass < LINT * px_per_um && width < widest(on_glass);
            let all: Vec<(f64, f64)> =
                region.pixels().map(|(x, y)| (x as f64 + back.0, y as f64 + back.1)).collect();
            return Some(Beyond::RunsOn(narrow.then(|| convex_hull(&all))));
        }
        if cut.is_some() {
            return None;
        }
        let outline =
            iso_contour(&field, half, &region).iter().map(|p| (p.0 + back.0, p.1 + back.1)).collect();
        Some(Beyond::Ends(outline, across))
    }
}

/// Whether a mark's outline is the outline of what shows on the glass, carried on beyond the edge.
fn goes_on(on_glass: &[(f64, f64)], whole: &[(f64, f64)], edge: &Edge) -> bool {
    let narrow = along_edge(whole, edge) < widest(along_edge(on_glass, edge));
    narrow && polygon_area(whole) > polygon_area(on_glass)
}

/// The greatest width beyond the edge of a mark as wide as this on the glass, pixels.
fn widest(on_glass: f64) -> f64 {
    WIDENS * on_glass + 2.0
}

/// How wide an outline is along the edge.
fn along_edge(outline: &[(f64, f64)], edge: &Edge) -> f64 {
    let count = outline.len().max(1) as f64;
    let (x, y) = outline.iter().fold((0.0, 0.0), |sum, p| (sum.0 + p.0 / count, sum.1 + p.1 / count));
    let (dx, dy) = (x - edge.x, y - edge.y);
    let along = |p: &(f64, f64)| ((p.1 - edge.y) * dx - (p.0 - edge.x) * dy) / dx.hypot(dy).max(1e-9);
    let (low, high) = outline.iter().map(along).fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v), h.max(v)));
    high - low
}
