//! Marks that reach over the cladding's edge: where the glass ends they are followed onto the adhesive ring
//! and the ferrule, against what the fitted edge says should be seen there.

mod followed;

use crate::blobs::Blob;
use crate::edge::{Edge, SECTORS, angle_of, sector_of};
use crate::marks::Around;
use crate::normal::cdf;
use crate::solve;
use followed::{Followed, Window};
use imaging::blur::gaussian;
use terms::geometry::{convex_hull, point_in_polygon, polygon_area};

/// Height from which a mark stands out from the ferrule's grain.
const CLEAR: f64 = 0.35;

/// Farthest that a mark is followed from its peak by what it takes of the light, um.
const REACH: f64 = 16.0;

/// The same by its own level; what is wider along the edge is ferrule that looks like it.
const REACH_BY_LEVEL: f64 = 40.0;

/// Least difference of an opaque mark from what it covers by which it is followed, share of the glass's level.
const STEP: f32 = 0.05;

/// What differs from its level by less than half of this, share of the glass's, may belong to an opaque mark.
const LIKE: f32 = 0.06;

/// Arms of a mark that is followed by its own level no wider than twice this, um, are grain or the ring's soft border, and
/// least share of its convex hull that it fills: grain as bright as it branches.
const THIN: f64 = 1.0;
const COMPACT: f64 = 0.8;

/// A mark is no wider beyond the edge than so many times its width on the glass: a dark ring is not a part of it.
const WIDENS: f64 = 1.3;

/// What runs on farther than it is followed is lint, no wider than this, um: wider marks end, and what runs on is the
/// ferrule's grain.
const LINT: f64 = 8.0;

/// What a fibre and its surroundings are looked at by.
pub struct View<'a> {
    /// The fitted edge.
    pub edge: &'a Edge,
    /// The glass and what lies about it.
    pub around: &'a Around<'a>,
    /// Scale.
    pub px_per_um: f64,
    /// Standard deviation of the smoothing under which marks are followed, pixels.
    pub smoothing: f64,
}

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

    /// Where a mark that touches the edge goes, by its outline at half height in pixels of the glass's patch.
    pub fn beyond(&self, blob: &Blob, view: &View) -> Beyond {
        self.by_its_level(blob, view).unwrap_or_else(|| self.by_what_it_takes(blob, view))
    }

    /// Where a dark mark goes that takes a part of the light.
    fn by_what_it_takes(&self, blob: &Blob, view: &View) -> Beyond {
        if blob.height > -CLEAR {
            return Beyond::Unknown;
        }
        let follow = |takes: &dyn Fn(f32) -> f32| {
            let share = |clean: f32, seen: f32| (clean - seen) / takes(clean);
            let shown = Window::about(blob, view, REACH).and_then(|window| {
                let shares =
                    window.plane(|x, y| share(self.clean(view.edge, &window, x, y), window.seen(view, x, y)));
                Followed::of(gaussian(&shares, view.smoothing), window, view.edge)
            });
            shown.and_then(|shown| ending(&shown, blob, view)).unwrap_or(Beyond::Unknown)
        };
        let height = blob.height as f32;
        let shaded = follow(&|clean| -height * clean);
        let Beyond::Ends(outline, false) = &shaded else { return shaded };
        // What is opaque is as dark over the ferrule as over the glass, which is a smaller share of the ferrule's light.
        let glass = self.inside[self.towards(blob, view)];
        match follow(&|clean| (clean - glass * (1.0 + height)).max(STEP * glass)) {
            Beyond::Ends(whole, true) if goes_on(outline, &whole, view.edge) => Beyond::Ends(whole, true),
            seen @ Beyond::RunsOn(Some(_)) => seen,
            _ => shaded,
        }
    }

    /// Where an opaque mark goes, as bright or dark over the ring and the ferrule as it is over the glass. The ring, which
    /// vanishes under it, must differ: it stays beside glass that is missing.
    fn by_its_level(&self, blob: &Blob, view: &View) -> Option<Beyond> {
        let towards = self.towards(blob, view);
        let glass = self.inside[towards];
        let (ring, least) = (self.on_ring(view.edge, towards), LIKE * glass);
        let differs = |level: f32| (ring - level).abs() >= least;
        let on_glass = Some(glass * (1.0 + blob.height as f32)).filter(|level| differs(*level))?;
        let window = Window::about(blob, view, REACH_BY_LEVEL)?;
        let seen = gaussian(&window.plane(|x, y| window.seen(view, x, y)), view.smoothing);
        let clean = window.plane(|x, y| self.clean(view.edge, &window, x, y));
        let follow = |level: f32| {
            let like = |x: usize, y: usize| {
                1.0 - (seen.at(x, y) - level).abs() / (clean.at(x, y) - level).abs().max(least)
            };
            Followed::of(window.plane(like), window, view.edge)
        };
        let thin = THIN * view.px_per_um;
        // On the glass alone little of it may be as dark as it is.
        let first = follow(on_glass)?.body(thin);
        let mut levels: Vec<f32> = first.iter().map(|(x, y)| seen.at(*x, *y)).collect();
        if levels.is_empty() {
            return None;
        }
        let level = solve::quantile32(&mut levels, if blob.height < 0.0 { 0.25 } else { 0.75 });
        let shown = differs(level).then(|| follow(level))??;
        let body: Vec<(f64, f64)> = shown.body(thin).into_iter().map(|p| window.placed(p)).collect();
        let hull = convex_hull(&body);
        let meets = body.iter().any(|p| point_in_polygon(*p, &blob.outline));
        let is_compact = body.len() as f64 > COMPACT * polygon_area(&hull);
        let is_one = is_compact && along_edge(&hull, view.edge) < REACH_BY_LEVEL * view.px_per_um;
        let whole = convex_hull(&[hull, blob.outline.clone()].concat());
        let grows = polygon_area(&whole) > 1.2 * polygon_area(&convex_hull(&blob.outline));
        (shown.across && meets && is_one && grows).then_some(Beyond::Ends(whole, true))
    }

    /// The level expected at a pixel of a window.
    fn clean(&self, edge: &Edge, window: &Window, x: usize, y: usize) -> f32 {
        let (dx, dy) = window.off(edge, x, y);
        self.at(edge, dx, dy).max(0.02)
    }

    /// The level in the middle of the clean ring, as the blur leaves it.
    fn on_ring(&self, edge: &Edge, sector: usize) -> f32 {
        let angle = angle_of(sector);
        let r = edge.radius + 0.5 * edge.ring_width_at(angle);
        self.at(edge, r * angle.cos(), r * angle.sin())
    }

    /// The sector in which a mark peaks.
    fn towards(&self, blob: &Blob, view: &View) -> usize {
        sector_of(blob.peak.0 as f64 - view.edge.x, blob.peak.1 as f64 - view.edge.y)
    }
}

/// Where a mark goes of which this was seen. None if it is cut off on the glass.
fn ending(seen: &Followed, blob: &Blob, view: &View) -> Option<Beyond> {
    if seen.cut == Some(true) || seen.beyond > 3 * blob.pixels.len() + 20 || seen.cut.is_some() && seen.across
    {
        let on_glass = along_edge(&blob.outline, view.edge);
        let width = seen.beyond as f64 / seen.deepest.max(1.0);
        let narrow = on_glass < LINT * view.px_per_um && width < widest(on_glass);
        return Some(Beyond::RunsOn(narrow.then(|| seen.hull())));
    }
    seen.cut.is_none().then(|| Beyond::Ends(seen.outline(), seen.across))
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
