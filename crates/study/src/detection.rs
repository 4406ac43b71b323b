//! Probability of detection by size: a logistic curve in the size or its logarithm, the sizes that are detected
//! with a stated probability, and their one-sided bounds.

use crate::binomial::Share;
use crate::logistic::{Fit, Likelihood, NoFit, Row, chance, fit};
use terms::normal::quantile;

/// One mark that was there, and whether it was seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Target {
    /// Its size.
    pub size: f64,
    /// Whether it was seen.
    pub hit: bool,
}

/// What the curve rises in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Axis {
    /// The size itself.
    Linear,
    /// The natural logarithm of the size.
    Log,
}

impl Axis {
    fn of(self, size: f64) -> f64 {
        if self == Axis::Log { size.ln() } else { size }
    }

    fn back(self, x: f64) -> f64 {
        if self == Axis::Log { x.exp() } else { x }
    }
}

/// A logistic curve of detection.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// What it rises in.
    pub axis: Axis,
    /// Intercept and slope on that axis.
    pub line: [f64; 2],
    /// Their covariance.
    pub covariance: [[f64; 2]; 2],
    /// By which likelihood it was fitted.
    pub likelihood: Likelihood,
}

/// What targets tell about detection.
#[derive(Clone, Debug, PartialEq)]
pub struct Detection {
    /// How many were seen, of all.
    pub seen: Share,
    /// The curve, if one rises through the targets.
    pub curve: Option<Curve>,
}

/// Fits targets of sizes above 0. The plain likelihood serves where it has a maximum; where the sizes of hits and
/// misses do not overlap, the penalised one does. There is no curve where all or none were seen, where all
/// have one size, or where the large are seen no more often than the small.
pub fn detection(targets: &[Target], axis: Axis) -> Detection {
    let seen = Share::of(targets.iter().map(|t| t.hit));
    let both = seen.count > 0 && seen.count < seen.of;
    Detection { seen, curve: if both { curve(targets, axis).ok() } else { None } }
}

fn curve(targets: &[Target], axis: Axis) -> Result<Curve, NoFit> {
    let rows: Vec<Row> = targets
        .iter()
        .map(|t| Row { x: vec![1.0, axis.of(t.size)], trials: 1.0, hits: f64::from(u8::from(t.hit)) })
        .collect();
    let likelihood = if separated(targets) { Likelihood::Penalised } else { Likelihood::Plain };
    let curve = Curve::of(&fit(&rows, likelihood)?, axis, likelihood);
    if curve.line[1] > 0.0 { Ok(curve) } else { Err(NoFit::TooFew) }
}

/// Whether one size divides all hits from all misses.
fn separated(targets: &[Target]) -> bool {
    let ends = |hit: bool| {
        let sizes = targets.iter().filter(move |t| t.hit == hit).map(|t| t.size);
        sizes.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), s| (a.min(s), b.max(s)))
    };
    let (hits, misses) = (ends(true), ends(false));
    hits.0 >= misses.1 || misses.0 >= hits.1
}

impl Curve {
    /// The curve of a fit whose first coefficient is the intercept and whose second the slope.
    fn of(fit: &Fit, axis: Axis, likelihood: Likelihood) -> Curve {
        let (b, v) = (&fit.coefficients, &fit.covariance);
        let covariance = [[v[0][0], v[0][1]], [v[1][0], v[1][1]]];
        Curve { axis, line: [b[0], b[1]], covariance, likelihood }
    }

    /// Probability that a mark of this size is seen.
    pub fn probability(&self, size: f64) -> f64 {
        chance(self.line[0] + self.line[1] * self.axis.of(size))
    }

    /// One-sided lower bound of that probability: the lower band of the linear predictor.
    pub fn lower(&self, size: f64, confidence: f64) -> f64 {
        let (x, v) = (self.axis.of(size), &self.covariance);
        let variance = v[0][0] + 2.0 * x * v[0][1] + x * x * v[1][1];
        let z = quantile(confidence).unwrap_or(f64::NAN);
        chance(self.line[0] + self.line[1] * x - z * variance.max(0.0).sqrt())
    }

    /// The size seen with probability `p`, 0 < p < 1.
    pub fn size_at(&self, p: f64) -> f64 {
        self.axis.back(self.place(p))
    }

    fn place(&self, p: f64) -> f64 {
        ((p / (1.0 - p)).ln() - self.line[0]) / self.line[1]
    }

    /// Standard error of that place on the axis, to first order.
    pub fn place_error(&self, p: f64) -> f64 {
        let (x, v) = (self.place(p), &self.covariance);
        (v[0][0] + 2.0 * x * v[0][1] + x * x * v[1][1]).sqrt() / self.line[1]
    }

    /// The size at which the lower bound (at `confidence`) of the probability reaches `p`, by inverting the lower
    /// band of the linear predictor; none where the band never reaches it, the slope being too uncertain.
    ///
    /// Method: MIL-HDBK-1823A, 2009, Nondestructive Evaluation System Reliability Assessment (Wald's band).
    pub fn bound(&self, p: f64, confidence: f64) -> Option<f64> {
        let z = quantile(confidence)?;
        let (v, slope) = (&self.covariance, self.line[1]);
        let above = self.line[0] - (p / (1.0 - p)).ln();
        // (above + slope x)^2 = z^2 (v00 + 2 v01 x + v11 x^2); the larger root lies beyond the estimate.
        let a = slope * slope - z * z * v[1][1];
        let b = 2.0 * (above * slope - z * z * v[0][1]);
        let c = above * above - z * z * v[0][0];
        let root = b * b - 4.0 * a * c;
        (a > 0.0 && root >= 0.0).then(|| self.axis.back((-b + root.sqrt()) / (2.0 * a)))
    }
}
