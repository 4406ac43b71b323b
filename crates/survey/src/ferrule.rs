//! Marks on the ferrule between and around the fibres and at the guide holes: what stands clearly out of the
//! ferrule's own grain. Loose debris there is a reason to clean. Fibres are left to others.
//!
//! A filled ferrule is full of grains, so that a mark is not what differs from its surroundings but what
//! differs by more than grains ever do: strengths of all spots beyond a high one fall off exponentially, and
//! a mark lies beyond what the largest of so many would reach (peaks over threshold: J. Pickands 1975,
//! Statistical inference using extreme order statistics).

use crate::locate::{Lattice, Located};
use imaging::regions::{Connectivity, Region, regions};
use imaging::{Frame, Plane};
use terms::geometry::enclosing_circle;
use terms::{Face, FaceMark, Flaw, Guides, Layout, Pixel, Point, Pose, Um};

/// Width of a pixel of the plane that is looked at, um.
const PIXEL_UM: f64 = 2.5;
/// Reach about a fibre's centre, um.
const REACH_UM: f64 = 250.0;
/// Width of the ring about a cladding that belongs to the fibre and its adhesive, um.
const FIBRE_RING_UM: f64 = 20.0;
/// Ring about a guide hole's rim: what is taken for the rim itself, and how far the hole's surroundings go, um.
const HOLE_RING_UM: (f64, f64) = (25.0, 150.0);
/// Side of a block from which the ferrule's light is taken, um.
const BLOCK_UM: f64 = 100.0;
/// A spot begins where contrast exceeds this, and this many standard deviations of the ferrule.
const SPOT: (f32, f32) = (0.15, 4.0);
/// Least contrast at the strongest pixel of a mark, and how far it must exceed what makes a spot.
const LEAST_PEAK: f32 = 0.5;
const PEAK_OVER_SPOT: f32 = 1.5;
/// Least diameter of a dark and of a bright mark, um: the grains of the filler are bright, up to 30 um wide.
const LEAST_UM: (f64, f64) = (8.0, 40.0);
/// What makes a spot where threads are looked for: length tells them from grain, so that they may be fainter.
const THREAD_SPOT: (f32, f32) = (0.12, 3.0);
/// Least length of a dark thread, um, its least thickness, and its greatest thickness over its length: lint is wider than
/// the lines that polish leaves, and no grain is drawn out like it; common practice, no source.
const THREAD_UM: f64 = 60.0;
const THREAD_THICK_UM: f64 = 4.0;
const THREAD_THIN: f64 = 0.2;
/// Share of the spots that lie above the level from which the fall of strengths is taken.
const TAIL: f64 = 0.2;
/// Marks lie beyond the expected largest of all spots by this many decay lengths: one chance in twelve that
/// grain which falls off exponentially brings one forth, and grains end sooner; common practice, no source.
const BEYOND: f64 = 2.5;

/// The marks of one picture's face off the fibres, largest first; none where the picture does not tell which
/// position is which.
pub fn face_marks(frame: &Frame, lattice: &Lattice, layout: &Layout) -> Vec<FaceMark> {
    if lattice.sites.iter().all(|s| matches!(s, Located::Missing(Flaw::Ambiguous(_)))) {
        return Vec::new();
    }
    let factor = ((PIXEL_UM / lattice.pose.um_per_px()).round() as usize).max(1);
    let Some(plane) = frame.shrunk(factor) else { return Vec::new() };
    marks_on(&plane, lattice.pose, factor as f64, lattice.guides, layout)
}

/// The marks off the fibres on a plane whose pixels are `factor` pixels wide of the picture that `pose` speaks
/// of, largest first. Places where the plane is no number are left out.
pub(crate) fn marks_on(
    plane: &Plane<f32>,
    pose: Pose,
    factor: f64,
    guides: Guides,
    layout: &Layout,
) -> Vec<FaceMark> {
    let view = Coarse { pose, factor };
    let watched = watched(plane, &view, guides, layout);
    let Some(contrast) = contrast(plane, &watched, view.um_per_px()) else { return Vec::new() };
    let mut marks: Vec<FaceMark> =
        [-1.0, 1.0].iter().flat_map(|&sign| outliers(&contrast, sign, &view, layout)).collect();
    marks.sort_by(|a, b| b.size.0.total_cmp(&a.size.0));
    marks
}

/// How the shrunk plane lies on the face.
struct Coarse {
    pose: Pose,
    factor: f64,
}

impl Coarse {
    fn um_per_px(&self) -> f64 {
        self.pose.um_per_px() * self.factor
    }

    fn to_face(&self, x: f64, y: f64) -> Point<Face> {
        let frame = |v: f64| (v + 0.5) * self.factor - 0.5;
        self.pose.to_face(Point::<Pixel>::new(frame(x), frame(y)))
    }

    fn on_plane(&self, p: Point<Face>) -> (f64, f64) {
        let p = self.pose.to_pixel(p);
        ((p.x + 0.5) / self.factor - 0.5, (p.y + 0.5) / self.factor - 0.5)
    }
}

fn guide_centres(layout: &Layout) -> [Point<Face>; 2] {
    let half = layout.guides.spacing.0 / 2.0;
    [Point::new(-half, 0.0), Point::new(half, 0.0)]
}

/// Which pixels show the ferrule about the rows and the guide holes, off every bore and hole.
fn watched(plane: &Plane<f32>, view: &Coarse, guides: Guides, layout: &Layout) -> Plane<bool> {
    let mut watched = Plane::filled(plane.width(), plane.height(), false);
    let mut paint = |centre: Point<Face>, radius_um: f64, value: bool| {
        let (x, y) = view.on_plane(centre);
        fill_disc(&mut watched, x, y, radius_um / view.um_per_px(), value);
    };
    let sites = || (1..=layout.rows).flat_map(|r| (1..=layout.columns).map(move |c| layout.site(r, c)));
    let hole = layout.guides.diameter.0 / 2.0;
    sites().for_each(|site| paint(site, REACH_UM, true));
    if guides != Guides::NotInView {
        guide_centres(layout).into_iter().for_each(|c| paint(c, hole + HOLE_RING_UM.1, true));
    }
    sites().for_each(|site| paint(site, layout.cladding.0 / 2.0 + FIBRE_RING_UM, false));
    guide_centres(layout).into_iter().for_each(|c| paint(c, hole + HOLE_RING_UM.0, false));
    watched.data_mut().iter_mut().zip(plane.data()).for_each(|(w, v)| *w &= v.is_finite());
    watched
}

fn fill_disc(plane: &mut Plane<bool>, x: f64, y: f64, radius: f64, value: bool) {
    let (width, height) = (plane.width() as f64, plane.height() as f64);
    let span = |from: f64, to: f64, size: f64| {
        (from.ceil().clamp(0.0, size) as usize)..((to.floor() + 1.0).clamp(0.0, size) as usize)
    };
    for row in span(y - radius, y + radius, height) {
        let dy = row as f64 - y;
        let half = (radius * radius - dy * dy).max(0.0).sqrt();
        let columns = span(x - half, x + half, width);
        if !columns.is_empty() {
            plane.row_mut(row)[columns].fill(value);
        }
    }
}

/// Contrast of every watched pixel against the ferrule about it, 0 elsewhere; none if nothing is watched.
fn contrast(plane: &Plane<f32>, watched: &Plane<bool>, um_per_px: f64) -> Option<Plane<f32>> {
    let side = ((BLOCK_UM / um_per_px).round() as usize).max(4);
    let blocks = block_medians(plane, watched, side)?;
    let middle = (side as f64 - 1.0) / 2.0;
    let mut out = Plane::filled(plane.width(), plane.height(), 0.0f32);
    let mut light = vec![0.0f32; plane.width()];
    for y in 0..plane.height() {
        if !watched.row(y).contains(&true) {
            continue;
        }
        let v = (y as f64 - middle) / side as f64;
        for (x, l) in light.iter_mut().enumerate() {
            *l = blocks.sample((x as f64 - middle) / side as f64, v);
        }
        let row = plane.row(y).iter().zip(watched.row(y)).zip(&light);
        for (o, ((&p, &w), &l)) in out.row_mut(y).iter_mut().zip(row) {
            *o = if w { (p - l) / l.max(0.005) } else { 0.0 };
        }
    }
    Some(out)
}

/// Medians of the watched pixels of square blocks, each then replaced by the median of the blocks about it,
/// so that a mark as wide as a block does not become its own ground.
fn block_medians(plane: &Plane<f32>, watched: &Plane<bool>, side: usize) -> Option<Plane<f32>> {
    let (columns, rows) = (plane.width().div_ceil(side), plane.height().div_ceil(side));
    let block = |bx: usize, by: usize| {
        let mut values = Vec::with_capacity(side * side / 4 + side);
        for y in (by * side..((by + 1) * side).min(plane.height())).step_by(2) {
            for x in (bx * side..((bx + 1) * side).min(plane.width())).step_by(2) {
                if watched.at(x, y) {
                    values.push(plane.at(x, y));
                }
            }
        }
        median(values)
    };
    let raw: Plane<Option<f32>> = Plane::from_fn(columns, rows, block);
    let overall = median(raw.data().iter().flatten().copied().collect())?;
    Some(Plane::from_fn(columns, rows, |bx, by| {
        let (bx, by) = (bx as isize, by as isize);
        let near = (-1..=1).flat_map(|dy| (-1..=1).map(move |dx| (bx + dx, by + dy)));
        median(near.filter_map(|(x, y)| raw.get(x, y).flatten()).collect()).unwrap_or(overall)
    }))
}

fn median(mut values: Vec<f32>) -> Option<f32> {
    let middle = values.len() / 2;
    (!values.is_empty()).then(|| *values.select_nth_unstable_by(middle, f32::total_cmp).1)
}

/// One spot: its region, its strongest contrast and that times the square root of its area, um, and its length, um.
struct Spot {
    region: Region,
    peak: f32,
    strength: f64,
    length: f64,
}

/// The spots of one sign that no grain explains.
fn outliers(contrast: &Plane<f32>, sign: f32, view: &Coarse, layout: &Layout) -> Vec<FaceMark> {
    let typical: Vec<f32> = contrast.data().iter().step_by(5).map(|c| c.abs()).filter(|&c| c > 0.0).collect();
    let spread = median(typical).unwrap_or(0.0) / 0.6745;
    let threads = if sign < 0.0 { threads(contrast, spread, view) } else { Vec::new() };
    let threshold = (SPOT.1 * spread).max(SPOT.0);
    let found = spots(contrast, sign, threshold, view);
    let least = LEAST_PEAK.max(PEAK_OVER_SPOT * threshold);
    let limit = limit(found.iter().map(|s| s.strength).collect());
    let in_thread =
        |s: &Spot| s.region.pixels().any(|(x, y)| threads.iter().any(|t| t.region.contains(x, y)));
    let lumps = found
        .iter()
        .filter(|s| s.strength > limit && s.peak >= least)
        .filter(|s| sign < 0.0 || !is_bevel(s, view, layout))
        .filter(|s| !in_thread(s));
    lumps
        .chain(&threads)
        .filter_map(|s| mark(s, contrast, view, layout))
        .filter(|m| m.size.0 >= if sign < 0.0 { LEAST_UM.0 } else { LEAST_UM.1 })
        .collect()
}

/// All spots of one sign beyond a contrast.
fn spots(contrast: &Plane<f32>, sign: f32, threshold: f32, view: &Coarse) -> Vec<Spot> {
    let spot = |region: Region| {
        let peak = region.pixels().map(|(x, y)| sign * contrast.at(x, y)).fold(0.0, f32::max);
        let strength = f64::from(peak) * (region.area() as f64).sqrt() * view.um_per_px();
        let b = region.bounds();
        let length = ((b.x1 - b.x0) as f64).hypot((b.y1 - b.y0) as f64) * view.um_per_px();
        Spot { region, peak, strength, length }
    };
    regions(contrast, Connectivity::Eight, |c| sign * c > threshold).into_iter().map(spot).collect()
}

/// Lint: dark spots longer than grain brings forth, and thin.
fn threads(contrast: &Plane<f32>, spread: f32, view: &Coarse) -> Vec<Spot> {
    let found = spots(contrast, -1.0, (THREAD_SPOT.1 * spread).max(THREAD_SPOT.0), view);
    let longest = limit(found.iter().map(|s| s.length).collect()).max(THREAD_UM);
    let is_thread = |s: &Spot| s.length > longest && is_drawn_out(s, view.um_per_px());
    found.into_iter().filter(is_thread).collect()
}

/// Whether a spot is as long and thin as lint is.
fn is_drawn_out(spot: &Spot, um_per_px: f64) -> bool {
    let thickness = spot.region.area() as f64 * um_per_px * um_per_px / spot.length;
    (THREAD_THICK_UM..THREAD_THIN * spot.length).contains(&thickness)
}

/// Whether a bright spot begins where a guide hole's rim ends: a wide bevel that mirrors the lamp.
fn is_bevel(spot: &Spot, view: &Coarse, layout: &Layout) -> bool {
    let rim = layout.guides.diameter.0 / 2.0 + HOLE_RING_UM.0 + 1.5 * view.um_per_px();
    let at_rim = |(x, y): (usize, usize)| {
        let at = view.to_face(x as f64, y as f64);
        guide_centres(layout).iter().any(|g| g.distance(at) < rim)
    };
    spot.region.pixels().any(at_rim)
}

/// Strength or length beyond which no grain is expected; 0 where there are too few spots to know grains by.
fn limit(mut strengths: Vec<f64>) -> f64 {
    let count = (strengths.len() as f64 * TAIL) as usize;
    if count < 8 {
        return 0.0;
    }
    strengths.sort_by(|a, b| b.total_cmp(a));
    let level = strengths[count];
    let decay = (strengths[count / 2] - level) / std::f64::consts::LN_2;
    level + decay * ((count as f64).ln() + BEYOND)
}

fn mark(spot: &Spot, contrast: &Plane<f32>, view: &Coarse, layout: &Layout) -> Option<FaceMark> {
    let points: Vec<(f64, f64)> = spot.region.pixels().map(|(x, y)| (x as f64, y as f64)).collect();
    let circle = enclosing_circle(&points)?;
    let sum: f32 = spot.region.pixels().map(|(x, y)| contrast.at(x, y)).sum();
    let centre = view.to_face(circle.x, circle.y);
    let near = layout.guides.diameter.0 / 2.0 + HOLE_RING_UM.1;
    Some(FaceMark {
        source: 0,
        centre,
        size: Um((circle.diameter() + 1.0) * view.um_per_px()),
        contrast: f64::from(sum / spot.region.area() as f32),
        at_guide: guide_centres(layout).iter().any(|g| g.distance(centre) <= near),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::locate::locate;
    use crate::locate::scene::{Disc, Scene};

    fn marks(scene: &Scene) -> Vec<FaceMark> {
        let frame = scene.frame();
        let lattice = locate(&frame, &scene.layout, scene.view).unwrap();
        face_marks(&frame, &lattice, &scene.layout)
    }

    /// Dark and bright grains of 3 to 22 um all over the face, few of them large.
    fn grains() -> Vec<Disc> {
        let grain = |i: i32| {
            let (x, y) = (f64::from(i * 7919 % 3300) - 1650.0, f64::from(i * 10_473 % 380) - 190.0);
            let size = 3.0 - 4.0 * (f64::from(i * 613 % 997 + 1) / 998.0).ln();
            Disc(x, y, size.min(22.0), if i % 2 == 0 { 0.06 } else { 0.4 })
        };
        (0..900).map(grain).collect()
    }

    #[test]
    fn grains_are_no_marks_and_what_is_larger_than_all_of_them_is() {
        for mottle in [0.02, 0.08] {
            let clean = Scene { under: grains(), mottle, um_per_px: 0.6, ..Scene::new("mpo-12") };
            assert_eq!(marks(&clean), [], "{mottle}");
            let debris = Scene { over: vec![Disc(-500.0, 100.0, 50.0, 0.06)], ..clean };
            assert_eq!(marks(&debris).len(), 1, "{mottle}");
        }
    }

    #[test]
    fn a_plain_ferrule_has_no_mark_however_rough() {
        for mottle in [0.02, 0.08, 0.2] {
            assert_eq!(marks(&Scene { mottle, um_per_px: 0.6, ..Scene::new("mpo-12") }), [], "{mottle}");
        }
    }

    /// Lint that takes a third of the light is fainter than grains are, and longer than any of them.
    #[test]
    fn lint_on_the_ferrule_is_a_mark_however_faint_beside_grains() {
        let along = |i: i32| (-500.0 + 3.0 * f64::from(i), 125.0 + 25.0 * (f64::from(i) / 20.0).sin());
        let level = 0.65 * 0.25;
        let lint = |width: f64| (0..70).map(move |i| Disc(along(i).0, along(i).1, width, level)).collect();
        let seen = |over: Vec<Disc>| {
            marks(&Scene { under: grains(), over, mottle: 0.04, um_per_px: 0.6, ..Scene::new("mpo-12") })
        };
        let one = seen(lint(8.0));
        assert!(matches!(&one[..], [m] if (m.size.0 - 215.0).abs() < 25.0), "{one:?}");
        assert_eq!(seen(lint(2.0)), [], "a line of the polish");
    }

    #[test]
    fn debris_between_fibres_is_a_mark_in_every_view_and_dirt_on_a_fibre_is_none() {
        for mirrored in [false, true] {
            let view = terms::View { key: terms::Key::Down, mirrored };
            let over = vec![Disc(-500.0, 90.0, 60.0, 0.04), Disc(625.0, 10.0, 40.0, 0.04)];
            let scene = Scene { over, view, um_per_px: 0.6, turn_degrees: 4.0, ..Scene::new("mpo-12") };
            let marks = marks(&scene);
            assert_eq!(marks.len(), 1, "{marks:?}");
            assert!(marks[0].centre.distance(Point::new(-500.0, 90.0)) < 3.0, "{marks:?}");
            assert!((marks[0].size.0 - 60.0).abs() < 6.0, "{marks:?}");
            assert!(marks[0].contrast < -0.5 && !marks[0].at_guide, "{marks:?}");
        }
    }

    #[test]
    fn bright_debris_larger_than_a_grain_is_a_mark_and_a_grain_is_none() {
        let over = vec![Disc(0.0, -110.0, 70.0, 0.6), Disc(750.0, 100.0, 25.0, 0.6)];
        let scene = Scene { over, um_per_px: 0.6, ..Scene::new("mpo-12") };
        let marks = marks(&scene);
        assert_eq!(marks.len(), 1, "{marks:?}");
        assert!(marks[0].contrast > 0.5 && (marks[0].size.0 - 70.0).abs() < 7.0, "{marks:?}");
    }

    #[test]
    fn debris_at_a_guide_hole_says_so_and_the_hole_is_no_mark() {
        let window = (-2800.0, 2800.0, -550.0, 550.0);
        let scene = Scene { window, over: vec![Disc(2300.0, 430.0, 50.0, 0.04)], ..Scene::new("mpo-12") };
        let marks = marks(&scene);
        assert_eq!(marks.len(), 1, "{marks:?}");
        assert!(marks[0].at_guide && marks[0].centre.distance(Point::new(2300.0, 430.0)) < 5.0, "{marks:?}");
    }

    #[test]
    fn no_mark_has_a_place_where_positions_are_ambiguous() {
        let whole = Scene { over: vec![Disc(0.0, 110.0, 60.0, 0.04)], ..Scene::new("mpo-12") };
        let (_, _, y0, y1) = whole.window;
        assert_eq!(marks(&Scene { window: (-760.0, 760.0, y0, y1), ..whole }), []);
    }
}
