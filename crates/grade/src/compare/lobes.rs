//! Marks that are told as one because they touch: lobes of an outline that hang together by a neck. Where such a mark
//! came or went, its smaller lobes are told beside the whole, each as a part of it.
//!
//! Method: the distance from the outline as a relief, cut where two of its summits meet far below the lower
//! (watershed of the distance; Beucher and Lantuejoul, 1979, "Use of watersheds in contour detection"). Shares are
//! from made-up faces, no source.

use super::changes::{Change, Kept};
use super::seen::Glass;
use terms::geometry::{
    convex_hull, enclosing_circle, largest_extent, point_in_polygon, point_segment_distance,
};
use terms::{Feature, FibreFrame, Kind, Point, Reach, Um};

/// A neck is narrower than this share of the width of the lobe behind it.
const NECK: f64 = 0.65;
/// Narrower lobes, um, are no marks that must be told; nor are those whose width is less than this share of their
/// size, which are tails.
const LEAST_UM: f64 = 2.0;
const COMPACT: f64 = 0.5;
/// Outlines of fainter marks are too ragged, and what is wider, um, is lint or lies on much else.
const FAINTEST: f64 = 0.1;
const WIDEST_UM: f64 = 30.0;
/// Longer outlines are not looked at: no picture has them.
const CORNERS: usize = 5000;

/// Width of a cell of the relief, um, and as a share of the mark's size.
const CELL: (f64, f64) = (0.2, 1.0 / 64.0);

/// Standard uncertainty of a lobe's size, um, beside that of the whole.
const UNCERTAIN_UM: f64 = 0.4;

/// Adds to the marks of a picture that came or went as wholes their smaller lobes.
pub fn add(glass: &Glass, remaining: &[Kept], changed: &mut Vec<Change>) {
    let stays = |change: &Change| remaining.iter().any(|kept| kept.before.contains(&change.id));
    let mut parts = Vec::new();
    for change in changed.iter().filter(|change| change.part.is_none() && !stays(change)) {
        let Some(whole) = glass.features.iter().find(|f| f.id == change.id) else { continue };
        parts.extend(
            smaller_lobes(whole).into_iter().map(|part| Change { part: Some(part), ..change.clone() }),
        );
    }
    changed.extend(parts);
}

/// The lobes of a mark but its largest, the larger first; none if it is one.
fn smaller_lobes(mark: &Feature) -> Vec<Feature> {
    let filled = !matches!(mark.kind, Kind::Scratch | Kind::Film) && mark.contrast.abs() >= FAINTEST;
    let sized = (LEAST_UM..WIDEST_UM).contains(&mark.size.0) && (4..CORNERS).contains(&mark.outline.len());
    if !(filled && sized) {
        return Vec::new();
    }
    let mut lobes: Vec<Lobe> = Relief::new(mark).lobes();
    lobes.sort_by_key(|lobe| std::cmp::Reverse(lobe.cells.len()));
    lobes.iter().skip(1).filter_map(|lobe| lobe.feature(mark)).collect()
}

/// What lies behind a neck: its cells' corners, and half of its width, um.
struct Lobe {
    cells: Vec<Point<FibreFrame>>,
    half: f64,
    cell: f64,
}

impl Lobe {
    /// As a part of a mark; none if it is too small or a tail.
    fn feature(&self, whole: &Feature) -> Option<Feature> {
        let corners = [(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)];
        let of = |p: &Point<FibreFrame>| corners.map(|(x, y)| p.moved(x * self.cell, y * self.cell));
        let outline = convex_hull(&self.cells.iter().flat_map(of).collect::<Vec<_>>());
        let circle = enclosing_circle(&outline)?;
        if 2.0 * self.half < LEAST_UM || self.half < COMPACT * circle.r {
            return None;
        }
        Some(Feature {
            size: Um(2.0 * circle.r),
            u: Um(whole.u.0.hypot(UNCERTAIN_UM)),
            length: Um(largest_extent(&outline)),
            centre: Point::new(circle.x, circle.y),
            reach: Reach::of(&outline),
            outline,
            ..whole.clone()
        })
    }
}

/// Distance from a mark's outline of the cells within it, um; 0 outside.
struct Relief {
    corner: Point<FibreFrame>,
    cell: f64,
    width: usize,
    depth: Vec<f64>,
}

impl Relief {
    fn new(mark: &Feature) -> Relief {
        let cell = CELL.0.max(CELL.1 * mark.size.0);
        let width = (1.2 * mark.size.0 / cell).ceil() as usize + 2;
        let half = 0.5 * width as f64 * cell;
        let mut relief =
            Relief { corner: mark.centre.moved(-half, -half), cell, width, depth: vec![0.0; width * width] };
        let sides = || mark.outline.iter().zip(mark.outline.iter().cycle().skip(1));
        for k in 0..width * width {
            let at = relief.place(k);
            if point_in_polygon(at, &mark.outline) {
                let away = sides().map(|(a, b)| point_segment_distance(at, *a, *b));
                relief.depth[k] = away.fold(f64::INFINITY, f64::min);
            }
        }
        relief
    }

    fn place(&self, k: usize) -> Point<FibreFrame> {
        let at = |i: usize| (i as f64 + 0.5) * self.cell;
        self.corner.moved(at(k % self.width), at(k / self.width))
    }

    /// Cells about one.
    fn about(&self, k: usize) -> impl Iterator<Item = usize> + use<> {
        let (x, y, width) = ((k % self.width) as isize, (k / self.width) as isize, self.width as isize);
        let steps = (-1..=1).flat_map(|j| (-1..=1).map(move |i| (i, j))).filter(|step| *step != (0, 0));
        let cells = steps.map(move |(i, j)| (x + i, y + j));
        cells
            .filter(move |(x, y)| (0..width).contains(x) && (0..width).contains(y))
            .map(move |(x, y)| (y * width + x) as usize)
    }

    /// The lobes, from the deepest cell outwards: a cell belongs to the lobe that it touches, and lobes that meet
    /// are one unless they meet in a neck.
    fn lobes(&self) -> Vec<Lobe> {
        let mut cells: Vec<usize> = (0..self.depth.len()).filter(|k| self.depth[*k] > 0.0).collect();
        cells.sort_by(|a, b| self.depth[*b].total_cmp(&self.depth[*a]).then(a.cmp(b)));
        let mut of: Vec<Option<usize>> = vec![None; self.depth.len()];
        // Of each lobe the one that it went into, itself at first, and half of its width.
        let mut lobes: Vec<(usize, f64)> = Vec::new();
        for &k in &cells {
            let mut met: Vec<usize> =
                self.about(k).filter_map(|n| of[n]).map(|lobe| root(&lobes, lobe)).collect();
            // Lobes are numbered from the widest on, as the deepest cells come first.
            met.sort_unstable();
            met.dedup();
            let Some(&widest) = met.first() else {
                of[k] = Some(lobes.len());
                lobes.push((lobes.len(), self.depth[k]));
                continue;
            };
            for &lobe in &met[1..] {
                let half = lobes[lobe].1;
                if !(2.0 * half >= LEAST_UM && self.depth[k] < NECK * half) {
                    lobes[lobe].0 = widest;
                }
            }
            of[k] = Some(widest);
        }
        let roots = (0..lobes.len()).filter(|lobe| lobes[*lobe].0 == *lobe);
        let lobe = |lobe: usize| {
            let its = |k: &&usize| of[**k].is_some_and(|other| root(&lobes, other) == lobe);
            let cells = cells.iter().filter(its).map(|k| self.place(*k)).collect();
            Lobe { cells, half: lobes[lobe].1, cell: self.cell }
        };
        roots.map(lobe).collect()
    }
}

/// The lobe that a lobe went into in the end; each went into one of a lower number.
fn root(lobes: &[(usize, f64)], mut lobe: usize) -> usize {
    while lobes[lobe].0 != lobe {
        lobe = lobes[lobe].0;
    }
    lobe
}

#[cfg(test)]
mod tests {
    use super::*;
    use terms::FeatureId;

    type Circle = ((f64, f64), f64);

    /// A mark whose outline is that of discs together, corners of 1 degree about their common middle.
    fn of_discs(discs: &[Circle]) -> Feature {
        let corner = |k: i32| {
            let (sin, cos) = f64::from(k).to_radians().sin_cos();
            let inside = |r: f64| discs.iter().any(|((x, y), d)| (r * cos - x).hypot(r * sin - y) <= 0.5 * d);
            let r = (0..4000).rev().map(|i| 0.005 * f64::from(i)).find(|r| inside(*r)).unwrap_or(0.0);
            Point::new(r * cos, r * sin)
        };
        drawn((0..360).map(corner).collect())
    }

    fn drawn(outline: Vec<Point<FibreFrame>>) -> Feature {
        let circle = enclosing_circle(&outline).unwrap();
        Feature {
            id: FeatureId(3),
            kind: Kind::Particle,
            size: Um(2.0 * circle.r),
            u: Um(0.3),
            length: Um(largest_extent(&outline)),
            centre: Point::new(circle.x, circle.y),
            contrast: -0.4,
            reach: Reach { inner: Um(0.0), outer: Um(20.0) },
            outline,
        }
    }

    /// Two discs that touch: what is common to both is 2.4 um wide.
    fn pair() -> Feature {
        of_discs(&[((-2.5, 0.0), 6.0), ((2.6, 0.0), 5.0)])
    }

    #[test]
    fn the_smaller_of_two_that_touch_is_told_beside_both() {
        let lobes = smaller_lobes(&pair());
        let [lobe] = lobes.as_slice() else { panic!("{lobes:?}") };
        assert!(
            (lobe.size.0 - 5.0).abs() < 0.6 && lobe.centre.distance(Point::new(2.6, 0.0)) < 0.4,
            "{lobe:?}"
        );
        assert_eq!((lobe.id, lobe.kind), (FeatureId(3), Kind::Particle));
        assert!(
            lobe.u.0 > 0.3 && lobe.length.0 <= lobe.size.0 + 1e-9 && lobe.reach.inner.0 < 0.5,
            "{lobe:?}"
        );
    }

    /// Discs far in one another, a square, an angular splinter, a disc with a tail or with a speck, and lint.
    #[test]
    fn what_has_no_neck_is_one_mark() {
        let corners = |at: &[(f64, f64)]| drawn(at.iter().map(|(x, y)| Point::new(*x, *y)).collect());
        let marks = [
            of_discs(&[((-1.5, 0.0), 6.0), ((1.5, 0.0), 5.0)]),
            corners(&[(-4.0, -4.0), (4.0, -4.0), (4.0, 4.0), (-4.0, 4.0)]),
            corners(&[(-5.0, -2.0), (1.0, -4.0), (6.0, 0.0), (0.0, 1.0), (-1.0, 5.0), (-3.0, 2.0)]),
            corners(&[
                (-4.0, -4.0),
                (4.0, -4.0),
                (4.0, -0.3),
                (10.0, -0.3),
                (10.0, 0.3),
                (4.0, 0.3),
                (4.0, 4.0),
            ]),
            // A bar of 8 um by 2.2 behind a neck of 1 um.
            corners(&[
                (-4.0, -4.0),
                (4.0, -4.0),
                (4.0, -0.5),
                (5.0, -0.5),
                (5.0, -1.1),
                (13.0, -1.1),
                (13.0, 1.1),
                (5.0, 1.1),
                (5.0, 0.5),
                (4.0, 0.5),
                (4.0, 4.0),
                (-4.0, 4.0),
            ]),
            of_discs(&[((-2.0, 0.0), 6.0), ((1.75, 0.0), 1.6)]),
        ];
        for (k, mark) in marks.iter().enumerate() {
            assert_eq!(smaller_lobes(mark), vec![], "{k}");
        }
        for other in [
            Feature { kind: Kind::Film, ..pair() },
            Feature { contrast: -0.06, ..pair() },
            Feature { size: Um(f64::NAN), ..pair() },
            Feature { size: Um(40.0), ..pair() },
            Feature { outline: vec![], ..pair() },
        ] {
            assert_eq!(smaller_lobes(&other), vec![]);
        }
    }

    /// Of a mark that stayed in part nothing is known of its lobes, and a part has none of its own.
    #[test]
    fn lobes_are_told_of_what_went_as_a_whole() {
        let whole = || Change { id: FeatureId(3), likelihood: 0.9, part: None };
        let stayed =
            Kept { before: vec![FeatureId(3)], after: FeatureId(1), size: super::super::Size::Alike };
        let part = Change { part: Some(pair()), ..whole() };
        for (remaining, changed, told) in
            [(vec![], whole(), 2), (vec![stayed], whole(), 1), (vec![], part, 1)]
        {
            let mut changes = vec![changed];
            add(&Glass::sample(vec![pair()]), &remaining, &mut changes);
            assert_eq!(changes.len(), told, "{changes:?}");
            let parts = changes.iter().skip(1);
            assert!(parts.clone().all(|c| c.part.is_some() && c.id == FeatureId(3) && c.likelihood == 0.9));
        }
    }

    #[test]
    fn a_mark_that_came_or_went_is_told_with_its_lobes() {
        let (with, without) = (Glass::sample(vec![pair()]), Glass::sample(vec![]));
        let held = terms::Held::default();
        let went = super::super::fibre::on_fibre(&with, &without, &held);
        let came = super::super::fibre::on_fibre(&without, &with, &held);
        for list in [went.removed, came.new] {
            let parts: Vec<bool> = list.iter().map(|change| change.part.is_some()).collect();
            assert_eq!(parts, [false, true], "{list:?}");
        }
    }
}
