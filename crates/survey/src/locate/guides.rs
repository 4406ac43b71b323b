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
    /// Measured centre, pixels of the base plane.
    pub centre: (f64, f64),
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
        (whole(&a) && whole(&b)).then(|| (a.centre.0 - b.centre.0).hypot(a.centre.1 - b.centre.1))
    }
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
        centre: (best.circle.x, best.circle.y),
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
