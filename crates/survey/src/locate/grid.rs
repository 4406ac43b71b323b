//! The lattice as the picture shows it, before any position has a number: a line of sites that bears out
//! the edges of its circles.

use super::rim::{Circle, Polarity, Profiles, Rim, median};
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
        let (x, y) = self.line.place(k, across);
        Circle { x, y, radius: self.radius }
    }

    /// Profiles across the edge at place `k`, `across` pixels beside the line.
    pub fn profiles(&self, plane: &Plane<f32>, k: f64, across: f64) -> Profiles {
        Profiles::new(plane, self.expected(k, across))
    }

    /// Sum of the shares: how much of the row was seen.
    pub fn total(&self) -> f64 {
        self.shares.iter().sum()
    }

    /// The grid moved onto the circles that show at the places `ks`; none if fewer than two do.
    fn fitted(mut self, ks: &[f64], profiles: &[Profiles], law: f64) -> Option<Grid> {
        let rims = profiles.iter().map(|p| p.rim(self.polarity, self.threshold));
        let sound: Vec<(f64, Rim)> = ks
            .iter()
            .copied()
            .zip(rims)
            .filter(|(_, r)| r.share >= FIBRE_SHARE && r.in_view >= 0.6)
            .collect();
        let places: Vec<_> = sound.iter().map(|(k, r)| (*k, r.circle.x, r.circle.y, r.share)).collect();
        self.line = Line::fitted(&places)?;
        self.radius = self.line.pitch() / law;
        self.shares = sound.iter().map(|(_, r)| r.share).collect();
        Some(self)
    }

    /// Whether so much of the edges shows that chance is ruled out.
    fn borne_out(&self) -> bool {
        let mean = self.total() / self.shares.len().max(1) as f64;
        match self.shares.len() {
            0 | 1 => false,
            2 => mean >= 0.75,
            3 => mean >= 0.62,
            _ => mean >= 0.55,
        }
    }
}

/// Follows a chain to the edges of its circles; none if these do not bear it out. `law` is pitch over radius.
pub(crate) fn grid(plane: &Plane<f32>, chain: &Chain, law: f64) -> Option<Grid> {
    let ks: Vec<f64> = chain.members.iter().map(|m| f64::from(m.0)).collect();
    let start = Grid {
        line: chain.line,
        radius: chain.line.pitch() / law,
        polarity: Polarity::Bright,
        threshold: 0.0,
        shares: Vec::new(),
    };
    let beside = chain.line.pitch() / 2.0;
    let at = |grid: &Grid, across: f64| -> Vec<Profiles> {
        ks.iter().map(|&k| grid.profiles(plane, k, across)).collect()
    };
    let (own, mut grain) = (at(&start, 0.0), at(&start, beside));
    grain.extend(at(&start, -beside));
    let tried = [Polarity::Bright, Polarity::Dark].map(|polarity| {
        let threshold = threshold(&own, &grain, polarity);
        Grid { polarity, threshold, ..start.clone() }.fitted(&ks, &own, law)
    });
    let mut best = match tried {
        [Some(bright), Some(dark)] => Some(if dark.total() > bright.total() { dark } else { bright }),
        [one, other] => one.or(other),
    }?;
    for _ in 0..2 {
        let own = at(&best, 0.0);
        best = best.fitted(&ks, &own, law)?;
    }
    Some(best).filter(Grid::borne_out)
}

/// What the ferrule's grain exceeds on one profile in five, seen at circles half a pitch beside the row; at
/// least a fifth of what the row's own edges show.
fn threshold(own: &[Profiles], grain: &[Profiles], polarity: Polarity) -> f32 {
    let heights = |profiles: &[Profiles]| -> Vec<f32> {
        profiles.iter().flat_map(|p| p.steps(polarity)).map(|s| s.height).collect()
    };
    let own = 0.2 * median(heights(own));
    let mut grain = heights(grain);
    if grain.len() < 32 {
        return own.max(0.004);
    }
    let rank = grain.len() * 4 / 5;
    own.max(*grain.select_nth_unstable_by(rank, f32::total_cmp).1).max(0.002)
}
