//! Logistic regression of hits in trials by iteratively reweighted least squares.

use crate::matrix::{dot, inverse, times};

/// What was tried under the same conditions, and how often it succeeded.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The conditions, one for each coefficient; 1 for an intercept.
    pub x: Vec<f64>,
    /// How often it was tried.
    pub trials: f64,
    /// How often it succeeded, at most `trials`.
    pub hits: f64,
}

/// What is made largest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Likelihood {
    /// The likelihood itself, as published worked examples have it. Without a maximum where the data are
    /// separated, that is, where a plane divides all hits from all misses.
    Plain,
    /// Penalised by Jeffreys' prior, which has a maximum whatever the data (Firth, 1993, Bias reduction of
    /// maximum likelihood estimates; Heinze and Schemper, 2002, A solution to the problem of separation).
    Penalised,
}

/// A fitted model: ln(p / (1 - p)) is the inner product of coefficients and conditions.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// One for each condition.
    pub coefficients: Vec<f64>,
    /// Their covariance: the inverse of the information at the maximum.
    pub covariance: Vec<Vec<f64>>,
    /// Twice the loss of (plain) log-likelihood against the model that fits every row on its own.
    pub deviance: f64,
}

impl Fit {
    /// Standard error of a coefficient.
    pub fn standard_error(&self, k: usize) -> f64 {
        self.covariance[k][k].sqrt()
    }
}

/// Why there is no fit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoFit {
    /// No row, or fewer different conditions than coefficients.
    #[error("there are too few different conditions for the number of coefficients")]
    TooFew,
    /// The likelihood grows for ever.
    #[error(
        "the data are separated: hits and misses do not overlap, and the plain likelihood has no maximum"
    )]
    Separated,
}

/// Fits the rows, whose conditions are all equally many.
pub fn fit(rows: &[Row], likelihood: Likelihood) -> Result<Fit, NoFit> {
    let size = rows.first().map_or(0, |row| row.x.len());
    let mut at = State::new(rows, vec![0.0; size], likelihood).ok_or(NoFit::TooFew)?;
    for _ in 0..200 {
        let step = times(&at.covariance, &at.score);
        let small = step.iter().zip(&at.coefficients).all(|(s, b)| s.abs() < 1e-9 * (1.0 + b.abs()));
        if small {
            let State { coefficients, covariance, .. } = at;
            let deviance = deviance(rows, &coefficients);
            return Ok(Fit { coefficients, covariance, deviance });
        }
        at = at.moved(rows, &step, likelihood).ok_or(NoFit::Separated)?;
    }
    Err(NoFit::Separated)
}

/// The likelihood and its slope at one set of coefficients.
struct State {
    coefficients: Vec<f64>,
    covariance: Vec<Vec<f64>>,
    score: Vec<f64>,
    value: f64,
}

impl State {
    fn new(rows: &[Row], coefficients: Vec<f64>, likelihood: Likelihood) -> Option<State> {
        let chances: Vec<f64> = rows.iter().map(|row| chance(dot(&row.x, &coefficients))).collect();
        let weight = |row: &Row, p: f64| row.trials * p * (1.0 - p);
        let size = coefficients.len();
        let mut information = vec![vec![0.0; size]; size];
        for (row, &p) in rows.iter().zip(&chances) {
            for i in 0..size {
                for j in 0..size {
                    information[i][j] += weight(row, p) * row.x[i] * row.x[j];
                }
            }
        }
        let (covariance, ln_det) = inverse(&information)?;
        let mut score = vec![0.0; size];
        let mut value = rows.iter().map(|row| log_likelihood(row, dot(&row.x, &coefficients))).sum();
        for (row, &p) in rows.iter().zip(&chances) {
            let mut left = row.hits - row.trials * p;
            if likelihood == Likelihood::Penalised {
                let leverage = weight(row, p) * dot(&row.x, &times(&covariance, &row.x));
                left += leverage * (0.5 - p);
            }
            score.iter_mut().zip(&row.x).for_each(|(s, x)| *s += left * x);
        }
        if likelihood == Likelihood::Penalised {
            value += 0.5 * ln_det;
        }
        Some(State { coefficients, covariance, score, value })
    }

    /// The state after a step, halved until the likelihood does not fall.
    fn moved(self, rows: &[Row], step: &[f64], likelihood: Likelihood) -> Option<State> {
        let mut share = 1.0;
        for _ in 0..40 {
            let to = self.coefficients.iter().zip(step).map(|(b, s)| b + share * s).collect();
            match State::new(rows, to, likelihood) {
                Some(next) if next.value >= self.value - 1e-10 * self.value.abs() => return Some(next),
                _ => share *= 0.5,
            }
        }
        None
    }
}

/// Probability of a linear predictor.
pub fn chance(eta: f64) -> f64 {
    1.0 / (1.0 + (-eta).exp())
}

/// ln(1 + e^v) without overflow.
fn softplus(v: f64) -> f64 {
    v.max(0.0) + (-v.abs()).exp().ln_1p()
}

fn log_likelihood(row: &Row, eta: f64) -> f64 {
    -row.hits * softplus(-eta) - (row.trials - row.hits) * softplus(eta)
}

fn deviance(rows: &[Row], coefficients: &[f64]) -> f64 {
    let own = |count: f64, of: f64| if count > 0.0 { count * (count / of).ln() } else { 0.0 };
    let loss = |row: &Row| {
        own(row.hits, row.trials) + own(row.trials - row.hits, row.trials)
            - log_likelihood(row, dot(&row.x, coefficients))
    };
    2.0 * rows.iter().map(loss).sum::<f64>()
}
