//! Bounds of a share from counts, without a model.

use crate::special::incomplete_beta;

/// So many of so many.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Share {
    /// How many had it.
    pub count: usize,
    /// Of how many.
    pub of: usize,
}

impl Share {
    /// The share of those that hold.
    pub fn of(each: impl IntoIterator<Item = bool>) -> Share {
        each.into_iter()
            .fold(Share::default(), |s, held| Share { count: s.count + usize::from(held), of: s.of + 1 })
    }

    /// One more, which had it or not.
    #[must_use]
    pub fn and(self, held: bool) -> Share {
        Share { count: self.count + usize::from(held), of: self.of + 1 }
    }

    /// The share itself; none of nothing.
    pub fn value(self) -> Option<f64> {
        (self.of > 0).then(|| self.count as f64 / self.of as f64)
    }

    /// One-sided lower bound of the true share at `confidence` (0 to 1): 0 if none had it or there were none.
    ///
    /// Source: Clopper and Pearson, 1934, The use of confidence or fiducial limits illustrated in the case of
    /// the binomial. Exact in the sense that it never holds less often than stated.
    pub fn lower(self, confidence: f64) -> f64 {
        let (k, n) = (self.count as f64, self.of as f64);
        if self.count == 0 { 0.0 } else { solve(|p| incomplete_beta(p, k, n - k + 1.0) >= 1.0 - confidence) }
    }

    /// One-sided upper bound of the true share: 1 if all had it or there were none.
    pub fn upper(self, confidence: f64) -> f64 {
        let (k, n) = (self.count as f64, self.of as f64);
        if self.count == self.of { 1.0 } else { solve(|p| incomplete_beta(p, k + 1.0, n - k) >= confidence) }
    }

    /// Both ends of the two-sided interval.
    pub fn interval(self, confidence: f64) -> (f64, f64) {
        let side = 0.5 + 0.5 * confidence;
        (self.lower(side), self.upper(side))
    }
}

/// One-sided upper bound of the mean number of events when `count` were counted (exact; Garwood, 1936, Fiducial
/// limits for the Poisson distribution).
pub fn most_events(count: usize, confidence: f64) -> f64 {
    let at_most = |mean: f64| {
        let (mut term, mut sum) = ((-mean).exp(), (-mean).exp());
        for k in 1..=count {
            term *= mean / k as f64;
            sum += term;
        }
        sum
    };
    let far = 10.0 + 4.0 * count as f64;
    far * solve(|share| at_most(far * share) <= 1.0 - confidence)
}

/// The share from which on a rising condition holds.
fn solve(holds: impl Fn(f64) -> bool) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if holds(middle) { high = middle } else { low = middle }
    }
    0.5 * (low + high)
}
