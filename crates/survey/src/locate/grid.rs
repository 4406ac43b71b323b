//! The lattice as the picture shows it, before any position has a number: a line of sites that bears out
//! the edges of its circles.

use super::rim::{Circle, Grain, Polarity, Profiles, Rim, median};
use super::row::{Chain, LONGEST_GAP, Line, Spot};
use imaging::Plane;

/// A dark edge must show this much better than a bright one to be taken for the cladding's: the dark ring of
/// the adhesive has a bright edge within, which is the cladding's own, and a dark edge without.
const OUTER_PENALTY: f64 = 0.7;

/// Largest root mean square distance of circles from the lattice, over their radius.
const SCATTER: f64 = 0.06;

/// A line of sites whose circles were seen, in pixels of the base level.
#[derive(Clone, Debug)]
pub(crate) struct Grid {
    pub line: Line,
    /// Radius of a cladding.
    pub radius: f64,
    /// Which way the cladding's edge steps.
    pub polarity: Polarity,
    /// What an edge must stand out from.
    pub grain: Grain,
    /// The sites with a fibre: place on the line and what was seen there.
    pub places: Vec<(f64, Rim)>,
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
        self.places.iter().map(|(_, rim)| rim.share).sum()
    }

    /// Median coherence of the edges seen.
    pub fn usual_coherence(&self) -> f64 {
        f64::from(median(self.places.iter().map(|(_, r)| r.coherence as f32).collect()))
    }

    /// The grid moved onto the circles that show at the places `ks`; none if fewer than two do.
    fn fitted(mut self, ks: &[f64], profiles: &[Profiles], law: f64) -> Option<Grid> {
        let rims = profiles.iter().map(|p| p.rim(self.polarity, self.grain));
        let sound = |(_, r): &(f64, Rim)| r.is_edge() && r.in_view >= 0.6;
        self.places = ks.iter().copied().zip(rims).filter(sound).collect();
        self.refitted(law)
    }

    fn refitted(mut self, law: f64) -> Option<Grid> {
        let spot = |(k, r): &(f64, Rim)| (*k, r.circle.x, r.circle.y, r.share);
        let spots: Vec<Spot> = self.places.iter().map(spot).collect();
        self.line = Line::fitted(&spots)?;
        self.radius = self.line.pitch() / law;
        Some(self)
    }

    /// The grid with every further fibre on its line, looked for outwards from place to place so that the
    /// line is known well enough to bridge a gap.
    fn grown(mut self, plane: &Plane<f32>, law: f64) -> Option<Grid> {
        let first = self.places.iter().map(|p| p.0).fold(f64::INFINITY, f64::min);
        for direction in [1.0, -1.0] {
            let (mut k, mut gap) = (first, 0);
            while gap <= LONGEST_GAP {
                k += direction;
                if self.places.iter().any(|p| p.0 == k) {
                    gap = 0;
                    continue;
                }
                let rim = self.profiles(plane, k, 0.0).rim(self.polarity, self.grain);
                gap += 1;
                if rim.is_edge() && rim.in_view >= 0.6 {
                    self.places.push((k, rim));
                    self = self.refitted(law)?;
                    gap = 0;
                }
            }
        }
        Some(self)
    }

    /// Whether so much of the edges shows, and so nearly on one lattice, that chance is ruled out.
    fn borne_out(&self) -> bool {
        let count = self.places.len();
        let mean = self.total() / count.max(1) as f64;
        let seen = match count {
            0 | 1 => false,
            2 => mean >= 0.75,
            3 => mean >= 0.62,
            _ => mean >= 0.55 || (mean >= 0.4 && self.places.iter().all(|(_, r)| r.coherence >= 6.0)),
        };
        seen && self.scatter() < SCATTER * self.radius && (count > 3 || self.of_one_size())
    }

    /// Whether the circles are as large as each other and as the pitch wants them; what dirt seldom is.
    fn of_one_size(&self) -> bool {
        let sizes = || self.places.iter().map(|(_, r)| r.circle.radius / self.radius);
        let (least, most) = (sizes().fold(f64::INFINITY, f64::min), sizes().fold(0.0, f64::max));
        least > 0.95 && most < 1.12 && most - least < 0.06
    }

    /// Root mean square distance of the circles from their places on the line.
    fn scatter(&self) -> f64 {
        let squares = self.places.iter().map(|(k, rim)| {
            let (px, py) = self.line.place(*k, 0.0);
            let (dx, dy) = (rim.circle.x - px, rim.circle.y - py);
            dx * dx + dy * dy
        });
        (squares.sum::<f64>() / self.places.len().max(1) as f64).sqrt()
    }
}

/// Follows a chain to the edges of its circles; none if these do not bear it out. `law` is pitch over radius.
pub(crate) fn grid(plane: &Plane<f32>, chain: &Chain, law: f64) -> Option<Grid> {
    let ks: Vec<f64> = chain.members.iter().map(|m| f64::from(m.0)).collect();
    let start = Grid {
        line: chain.line,
        radius: chain.line.pitch() / law,
        polarity: Polarity::Bright,
        grain: Grain { step: 0.0, mean_step: 1.0 },
        places: Vec::new(),
    };
    let beside = chain.line.pitch() / 2.0;
    let at = |grid: &Grid, across: f64| -> Vec<Profiles> {
        ks.iter().map(|&k| grid.profiles(plane, k, across)).collect()
    };
    let (own, mut beside_it) = (at(&start, 0.0), at(&start, beside));
    beside_it.extend(at(&start, -beside));
    let tried = [Polarity::Bright, Polarity::Dark].map(|polarity| {
        let grain = grain(&own, &beside_it, polarity);
        Grid { polarity, grain, ..start.clone() }.fitted(&ks, &own, law)
    });
    let mut best = match tried {
        [Some(bright), Some(dark)] => {
            Some(if OUTER_PENALTY * dark.total() > bright.total() { dark } else { bright })
        }
        [one, other] => one.or(other),
    }?;
    best = best.grown(plane, law)?;
    let ks: Vec<f64> = best.places.iter().map(|p| p.0).collect();
    let own: Vec<Profiles> = ks.iter().map(|&k| best.profiles(plane, k, 0.0)).collect();
    best = best.fitted(&ks, &own, law)?;
    Some(best).filter(Grid::borne_out)
}

/// What the ferrule's grain does at circles half a pitch beside the row. Its step is what it exceeds on one
/// profile in five, and at least a fifth of what the row's own edges show.
fn grain(own: &[Profiles], beside: &[Profiles], polarity: Polarity) -> Grain {
    let heights = |profiles: &[Profiles]| -> Vec<f32> {
        profiles.iter().flat_map(|p| p.steps(polarity)).map(|s| s.height).collect()
    };
    let own = 0.2 * median(heights(own));
    let mut steps = heights(beside);
    if steps.len() < 32 {
        return Grain { step: own.max(0.004), mean_step: own.max(0.004) };
    }
    let rank = steps.len() * 4 / 5;
    let step = own.max(*steps.select_nth_unstable_by(rank, f32::total_cmp).1).max(0.002);
    let whole = beside.iter().filter(|p| p.in_view() >= 0.75);
    let means: Vec<f32> = whole.flat_map(|p| p.mean_steps(polarity)).map(f32::abs).collect();
    let mean_step = if means.len() < 6 { step } else { median(means) / 0.6745 };
    Grain { step, mean_step: mean_step.max(0.0005) }
}
