//! Repeatability and reproducibility of measured sizes (gauge R&R), by the range method and by analysis of
//! variance. Parts are the marks; appraisers are the set-ups of the camera, one where nothing was changed;
//! trials are pictures taken one after the other.

use crate::ranges::{mean_range, root_mean_square_range};
use crate::special::f_upper_tail;

/// Sizes of parts as measured under every set-up in every trial: `values[part][appraiser][trial]`.
#[derive(Clone, Debug, PartialEq)]
pub struct Readings {
    values: Vec<Vec<Vec<f64>>>,
    appraisers: usize,
    trials: usize,
}

impl Readings {
    /// None unless there are two parts or more, two trials or more, and every cell is filled.
    pub fn new(values: Vec<Vec<Vec<f64>>>) -> Option<Readings> {
        let appraisers = values.first()?.len();
        let trials = values[0].first()?.len();
        let full =
            |part: &Vec<Vec<f64>>| part.len() == appraisers && part.iter().all(|cell| cell.len() == trials);
        let fit = values.len() >= 2 && trials >= 2 && values.iter().all(full);
        let finite = values.iter().flatten().flatten().all(|v| v.is_finite());
        (fit && finite).then_some(Readings { values, appraisers, trials })
    }

    /// How many parts.
    pub fn parts(&self) -> usize {
        self.values.len()
    }

    /// How many set-ups.
    pub fn appraisers(&self) -> usize {
        self.appraisers
    }

    /// How many trials of each part under each set-up.
    pub fn trials(&self) -> usize {
        self.trials
    }

    fn part_means(&self) -> Vec<f64> {
        self.values.iter().map(|part| mean(part.iter().flatten())).collect()
    }

    fn appraiser_means(&self) -> Vec<f64> {
        (0..self.appraisers).map(|a| mean(self.values.iter().flat_map(|part| &part[a]))).collect()
    }

    fn cells(&self) -> impl Iterator<Item = &Vec<f64>> {
        self.values.iter().flatten()
    }
}

/// Where the spread of sizes comes from; standard deviations in the unit of the readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Equipment: the same mark under the same set-up.
    pub repeatability: f64,
    /// Appraiser: between set-ups.
    pub reproducibility: f64,
    /// Set-ups that differ from mark to mark; 0 where pooled with the repeatability.
    pub interaction: f64,
    /// Between the marks themselves.
    pub parts: f64,
}

impl Spread {
    /// The gauge's own: everything but the marks.
    pub fn gauge(&self) -> f64 {
        self.repeatability.hypot(self.reproducibility).hypot(self.interaction)
    }

    /// Of all readings.
    pub fn total(&self) -> f64 {
        self.gauge().hypot(self.parts)
    }

    /// The gauge's share of the total spread, 0 to 1 (by standard deviation).
    pub fn gauge_share(&self) -> f64 {
        if self.total() > 0.0 { self.gauge() / self.total() } else { 0.0 }
    }

    /// How many classes of marks the gauge can tell apart, not cut to an integer; none for a gauge without
    /// spread.
    pub fn classes(&self) -> Option<f64> {
        (self.gauge() > 0.0).then(|| 1.41 * self.parts / self.gauge())
    }
}

/// By ranges.
///
/// Source: AIAG, 2010, Measurement Systems Analysis, 4th edition (average and range method); its constants K1
/// to K3 are computed rather than read off, so that any number of parts and trials has them.
pub fn by_ranges(readings: &Readings) -> Spread {
    let (parts, appraisers, trials) = (readings.parts(), readings.appraisers, readings.trials);
    let within = mean(readings.cells().map(|cell| range(cell)).collect::<Vec<_>>().iter());
    // With more than 15 ranges the handbook takes the mean range's constant, else the corrected one.
    let cells = (parts * appraisers) as f64;
    let (d2, single) = (mean_range(trials), root_mean_square_range(trials));
    let constant = if cells > 15.0 { d2 } else { (d2 * d2 + (single * single - d2 * d2) / cells).sqrt() };
    let repeatability = within / constant;
    let between = match appraisers {
        1 => 0.0,
        n => range(&readings.appraiser_means()) / root_mean_square_range(n),
    };
    let own = repeatability * repeatability / (parts * trials) as f64;
    Spread {
        repeatability,
        reproducibility: (between * between - own).max(0.0).sqrt(),
        interaction: 0.0,
        parts: range(&readings.part_means()) / root_mean_square_range(parts),
    }
}

/// The sums of squares of a crossed design and their degrees of freedom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Anova {
    /// Between parts.
    pub parts: f64,
    /// Between set-ups.
    pub appraisers: f64,
    /// Set-ups that differ from part to part.
    pub interaction: f64,
    /// Within cells.
    pub error: f64,
    /// F of the interaction; none with one set-up or no error.
    pub f_interaction: Option<f64>,
    /// The probability of so large an F by chance.
    pub p_interaction: Option<f64>,
    /// Where the spread comes from.
    pub spread: Spread,
}

/// Above this probability by chance the interaction is pooled with the error (AIAG, 2010; from memory).
const POOL_ABOVE: f64 = 0.25;

/// By analysis of variance, marks and set-ups both random.
///
/// Source: AIAG, 2010, Measurement Systems Analysis, 4th edition (ANOVA method).
pub fn by_anova(readings: &Readings) -> Anova {
    let sums = Sums::of(readings);
    let free = sums.free;
    let f =
        (free[2] > 0.0 && sums.error > 0.0).then(|| (sums.interaction / free[2]) / (sums.error / free[3]));
    let p = f.map(|f| f_upper_tail(f, free[2], free[3]));
    let keep = p.is_some_and(|p| p <= POOL_ABOVE);
    Anova {
        parts: sums.parts,
        appraisers: sums.appraisers,
        interaction: sums.interaction,
        error: sums.error,
        f_interaction: f,
        p_interaction: p,
        spread: sums.spread(readings, keep),
    }
}

struct Sums {
    parts: f64,
    appraisers: f64,
    interaction: f64,
    error: f64,
    /// Degrees of freedom, in that order.
    free: [f64; 4],
}

impl Sums {
    fn of(readings: &Readings) -> Sums {
        let (p, a, t) = (readings.parts() as f64, readings.appraisers as f64, readings.trials as f64);
        let grand = mean(readings.cells().flatten());
        let about =
            |means: &[f64], weight: f64| weight * means.iter().map(|m| (m - grand).powi(2)).sum::<f64>();
        let cell_means: Vec<f64> = readings.cells().map(|cell| mean(cell.iter())).collect();
        let (parts, appraisers) =
            (about(&readings.part_means(), a * t), about(&readings.appraiser_means(), p * t));
        let error = readings
            .cells()
            .zip(&cell_means)
            .map(|(cell, m)| cell.iter().map(|v| (v - m).powi(2)).sum::<f64>())
            .sum();
        Sums {
            parts,
            appraisers,
            interaction: (about(&cell_means, t) - parts - appraisers).max(0.0),
            error,
            free: [p - 1.0, a - 1.0, (p - 1.0) * (a - 1.0), p * a * (t - 1.0)],
        }
    }

    fn spread(&self, readings: &Readings, keep_interaction: bool) -> Spread {
        let (p, a, t) = (readings.parts() as f64, readings.appraisers as f64, readings.trials as f64);
        let pooled = (self.interaction + self.error) / (self.free[2] + self.free[3]);
        let (within, against) = match keep_interaction {
            true => (self.error / self.free[3], self.interaction / self.free[2]),
            false => (pooled, pooled),
        };
        let root = |variance: f64| variance.max(0.0).sqrt();
        let appraisers = if a > 1.0 { (self.appraisers / self.free[1] - against) / (p * t) } else { 0.0 };
        Spread {
            repeatability: root(within),
            reproducibility: root(appraisers),
            interaction: root((against - within) / t),
            parts: root((self.parts / self.free[0] - against) / (a * t)),
        }
    }
}

fn mean<'a>(values: impl IntoIterator<Item = &'a f64>) -> f64 {
    let (sum, count) = values.into_iter().fold((0.0, 0.0), |(s, n), v| (s + v, n + 1.0));
    sum / count
}

fn range(values: &[f64]) -> f64 {
    let (low, high) =
        values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), &v| (a.min(v), b.max(v)));
    high - low
}
