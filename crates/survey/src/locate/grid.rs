//! The lattice as the picture shows it, before any position has a number: a line of sites that bears out
//! the edges of its circles.

use super::rim::{Circle, Polarity, Rim, median, rim, steps};
use super::row::{Chain, Line};
use imaging::Plane;

/// Share of the circumference from which a circle is taken for a cladding.
pub(crate) const FIBRE_SHARE: f64 = 0.5;

/// A line of sites whose circles were seen, in pixels of the base level.
#[derive(Clone, Debug)]
pub(crate) struct Grid {
    pub line: Line,
    /// Radius of a cladding.
    pub radius: f64,
    /// Which way the cladding's edge steps.
    pub polarity: Polarity,
    /// What a step must exceed to stand out from the ferrule's grain.
    pub threshold: f32,
    /// Shares of the circumference seen at the sites with a fibre.
    pub shares: Vec<f64>,
}

impl Grid {
    /// The circle expected at place `k`, `across` pixels beside the line.
    pub fn expected(&self, k: f64, across: f64) -> Circle {
        circle_at(&self.line, self.radius, k, across)
    }

    /// The edge at place `k`, `across` pixels beside the line.
    pub fn rim(&self, plane: &Plane<f32>, k: f64, across: f64, polarity: Polarity) -> Rim {
        rim(plane, self.expected(k, across), polarity, self.threshold)
    }

    /// Whether so much of the edges shows that chance is ruled out.
    fn borne_out(&self) -> bool {
        let mean = self.shares.iter().sum::<f64>() / self.shares.len().max(1) as f64;
        match self.shares.len() {
            0 | 1 => false,
            2 => mean >= 0.75,
            3 => mean >= 0.62,
            _ => mean >= 0.55,
        }
    }
}

fn circle_at(line: &Line, radius: f64, k: f64, across: f64) -> Circle {
    let (x, y) = line.place(k, across);
    Circle { x, y, radius }
}

/// Follows a chain to the edges of its circles; none if these do not bear it out. `law` is pitch over radius.
pub(crate) fn grid(plane: &Plane<f32>, chain: &Chain, law: f64) -> Option<Grid> {
    let ks: Vec<f64> = chain.members.iter().map(|m| f64::from(m.0)).collect();
    let total = |grid: &Grid| grid.shares.iter().sum::<f64>();
    let bright = followed(plane, &chain.line, &ks, law, Polarity::Bright);
    let dark = followed(plane, &chain.line, &ks, law, Polarity::Dark);
    let best = match (bright, dark) {
        (Some(b), Some(d)) => Some(if total(&d) > total(&b) { d } else { b }),
        (one, other) => one.or(other),
    };
    best.filter(Grid::borne_out)
}

fn followed(plane: &Plane<f32>, line: &Line, ks: &[f64], law: f64, polarity: Polarity) -> Option<Grid> {
    let mut grid =
        Grid { line: *line, radius: line.pitch() / law, polarity, threshold: 0.0, shares: Vec::new() };
    for _ in 0..3 {
        grid.threshold = threshold(plane, &grid, ks);
        let rims: Vec<(f64, Rim)> = ks.iter().map(|&k| (k, grid.rim(plane, k, 0.0, polarity))).collect();
        let sound: Vec<&(f64, Rim)> =
            rims.iter().filter(|(_, r)| r.share >= FIBRE_SHARE && r.in_view >= 0.6).collect();
        let places: Vec<_> = sound.iter().map(|(k, r)| (*k, r.circle.x, r.circle.y, r.share)).collect();
        grid.line = Line::fitted(&places)?;
        grid.radius = grid.line.pitch() / law;
        grid.shares = sound.iter().map(|(_, r)| r.share).collect();
    }
    Some(grid)
}

/// What the ferrule's grain exceeds on one profile in five, seen at circles half a pitch beside the row; at
/// least a fifth of what the row's own edges show.
fn threshold(plane: &Plane<f32>, grid: &Grid, ks: &[f64]) -> f32 {
    let heights = |across: f64| -> Vec<f32> {
        let circles = ks.iter().map(|&k| grid.expected(k, across));
        circles.flat_map(|c| steps(plane, c, grid.polarity)).map(|s| s.height).collect()
    };
    let beside = grid.line.pitch() / 2.0;
    let mut grain = heights(beside);
    grain.extend(heights(-beside));
    let own = 0.2 * median(heights(0.0));
    if grain.len() < 32 {
        return own.max(0.004);
    }
    let rank = grain.len() * 4 / 5;
    own.max(*grain.select_nth_unstable_by(rank, f32::total_cmp).1).max(0.002)
}
