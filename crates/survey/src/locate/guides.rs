//! The guide holes: whether they show where a numbering of the sites puts them, and whether they hold pins.

use super::grid::Grid;
use super::rim::{Circle, Grain, Polarity, Profiles, median};
use imaging::Plane;
use terms::{Guides, Layout};

/// Least share of a hole's circumference in view that tells anything.
const LEAST_VIEW: f64 = 0.25;

/// Share of what is in view that makes a hole's edge.
const EDGE_SHARE: f64 = 0.5;

/// What one guide hole shows.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct HoleSight {
    /// Share of the circumference in view.
    pub in_view: f64,
    /// Share of what is in view that shows an edge.
    pub share: f64,
    /// Measured edge, pixels of the base plane.
    pub circle: Circle,
    /// Luminance within over luminance beside; 1 if it cannot be told.
    pub light: f64,
}

impl HoleSight {
    fn seen(&self) -> bool {
        self.in_view >= LEAST_VIEW && self.share >= EDGE_SHARE
    }

    fn absent(&self) -> bool {
        self.in_view >= 0.5 && self.share < 0.25
    }
}

/// What the two guide holes show, the one at negative face x first.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct GuideSight {
    pub holes: [HoleSight; 2],
}

impl GuideSight {
    /// Looks for the holes about the face's origin at place `k` of the line, `across` pixels beside it;
    /// `right` is 1 where face x runs right in the picture and -1 where it runs left.
    pub fn new(
        plane: &Plane<f32>,
        grid: &Grid,
        layout: &Layout,
        (k, across): (f64, f64),
        right: f64,
    ) -> Self {
        let half = layout.guides.spacing.0 / 2.0 / layout.pitch.0;
        let radius = grid.line.pitch() * layout.guides.diameter.0 / 2.0 / layout.pitch.0;
        let hole = |side: f64| {
            let (x, y) = grid.line.place(k + side * right * half, across);
            hole(plane, grid.grain, Circle { x, y, radius })
        };
        GuideSight { holes: [hole(-1.0), hole(1.0)] }
    }

    /// What they add to the cost of a numbering: a hole in its place is strong evidence, a missing one some.
    pub fn cost(&self) -> f64 {
        let one = |hole: &HoleSight| match (hole.seen(), hole.absent()) {
            (true, _) => -4.0,
            (_, true) => 2.0,
            _ => 0.0,
        };
        self.holes.iter().map(one).sum()
    }

    /// Whether one of them shows where the layout has it.
    pub fn any(&self) -> bool {
        self.holes.iter().any(HoleSight::seen)
    }

    /// Pins if a hole that shows is not dark.
    pub fn guides(&self) -> Guides {
        let seen: Vec<&HoleSight> = self.holes.iter().filter(|h| h.seen()).collect();
        match seen.iter().map(|h| h.light).reduce(f64::max) {
            None => Guides::NotInView,
            Some(light) if light > 0.75 => Guides::Pins,
            Some(_) => Guides::Holes,
        }
    }

    /// Distance of the measured centres, pixels of the base plane; none unless both show wholly.
    pub fn spacing(&self) -> Option<f64> {
        let [a, b] = self.holes;
        let whole = |h: &HoleSight| h.seen() && h.in_view >= 0.6;
        (whole(&a) && whole(&b)).then(|| (a.circle.x - b.circle.x).hypot(a.circle.y - b.circle.y))
    }
}

/// Radii, in pitches, at which holes of unknown size are looked for; an edge is seen a seventh to either side.
const RADII: [f64; 4] = [0.85, 1.1, 1.4, 1.8];

/// Steps along the line, in pitches, at which they are looked for.
const STRIDE: f64 = 0.1;

/// Share of the circumference that an unexpected hole must show: whatever is round is not a guide hole.
const CLEAR_SHARE: f64 = 0.8;

/// How far the two of a pair may differ in size and in distance from the middle, and lie off the line, in pitches.
const ALIKE: f64 = 0.12;

/// How far from the layout's a pair must lie to be another one, in pitches: a chamfer lies about the same middle.
const ELSEWHERE: f64 = 0.3;

/// Distance, in pitches, of two whole holes that lie alike to both sides of the sites' middle at place `k` of the
/// line, `across` pixels beside it, though not where the layout has its guide holes. None unless they are clear.
pub(crate) fn elsewhere(
    plane: &Plane<f32>,
    grid: &Grid,
    layout: &Layout,
    (k, across): (f64, f64),
) -> Option<f64> {
    let pitch = grid.line.pitch();
    let due = layout.guides.spacing.0 / layout.pitch.0;
    let middle = grid.line.place(k, across);
    let along = grid.line.place(k + 1.0, across);
    let (ux, uy) = ((along.0 - middle.0) / pitch, (along.1 - middle.1) / pitch);
    let least = f64::from(layout.columns) / 2.0 + 1.0;
    let most = plane.width().max(plane.height()) as f64 / pitch;
    let clear = |side: f64| {
        let steps =
            (0..=((most - least).max(0.0) / STRIDE) as u32).map(move |i| least + f64::from(i) * STRIDE);
        let all = steps.flat_map(|h| RADII.map(|r| (h, r)));
        let seen = all.filter_map(|(h, r)| {
            let (x, y) = grid.line.place(k + side * h, across);
            let expected = Circle { x, y, radius: r * pitch };
            let sight = lies_in(plane, expected).then(|| hole(plane, grid.grain, expected))?;
            let (dx, dy) = (sight.circle.x - middle.0, sight.circle.y - middle.1);
            let on_line = (dy * ux - dx * uy).abs() < ALIKE * pitch;
            let whole = sight.in_view >= 0.95 && sight.share >= CLEAR_SHARE;
            (whole && on_line).then_some((side * (dx * ux + dy * uy) / pitch, sight.circle.radius / pitch))
        });
        seen.collect::<Vec<_>>()
    };
    let (left, right) = (clear(-1.0), clear(1.0));
    let pairs = left.iter().flat_map(|a| right.iter().map(move |b| (a, b)));
    let alike = pairs.filter(|(a, b)| (a.0 - b.0).abs() < ALIKE && (a.1 - b.1).abs() < ALIKE);
    let apart = alike.map(|(a, b)| a.0 + b.0).filter(|apart| (apart - due).abs() > 2.0 * ELSEWHERE);
    // The nearest to the layout's: of two edges about one middle either tells the same.
    apart.min_by(|a, b| (a - due).abs().total_cmp(&(b - due).abs()))
}

/// Whether the whole of a circle lies in a plane.
fn lies_in(plane: &Plane<f32>, c: Circle) -> bool {
    let within = |v: f64, size: usize| v >= c.radius && v + c.radius <= size as f64 - 1.0;
    within(c.x, plane.width()) && within(c.y, plane.height())
}

fn hole(plane: &Plane<f32>, grain: Grain, expected: Circle) -> HoleSight {
    let out_of_reach = expected.x + expected.radius < 0.0
        || expected.y + expected.radius < 0.0
        || expected.x - expected.radius > plane.width() as f64
        || expected.y - expected.radius > plane.height() as f64;
    if out_of_reach {
        return HoleSight::default();
    }
    let profiles = Profiles::new(plane, expected);
    let dark = profiles.rim(Polarity::Dark, grain);
    let bright = profiles.rim(Polarity::Bright, grain);
    let best = if bright.share > dark.share { bright } else { dark };
    HoleSight {
        in_view: best.in_view,
        share: best.share,
        circle: best.circle,
        light: light(plane, best.circle),
    }
}

/// Median luminance within a circle over that on a ring outside of it.
fn light(plane: &Plane<f32>, c: Circle) -> f64 {
    let ring = |shares: &[f64]| {
        let mut values = Vec::new();
        for ray in 0..32 {
            let (sin, cos) = (f64::from(ray) * std::f64::consts::TAU / 32.0).sin_cos();
            for share in shares {
                let (x, y) = (c.x + share * c.radius * cos, c.y + share * c.radius * sin);
                if x >= 0.0 && y >= 0.0 && x < plane.width() as f64 && y < plane.height() as f64 {
                    values.extend(Some(plane.sample(x, y)).filter(|v| v.is_finite()));
                }
            }
        }
        (!values.is_empty()).then(|| f64::from(median(values)))
    };
    match (ring(&[0.3, 0.5, 0.7]), ring(&[1.15, 1.25])) {
        (Some(inside), Some(outside)) => inside / (outside + 0.005),
        _ => 1.0,
    }
}
