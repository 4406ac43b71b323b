//! Verdicts against the truth: what was let through, what was rejected without need, what was refused.

use crate::binomial::Share;
use grade::Verdict;

/// How often each true verdict was met by each verdict.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Confusion {
    /// `counts[true fail][said]`; said in the order pass, fail, ungraded.
    counts: [[usize; 3]; 2],
}

/// The column of a verdict.
pub const fn class(verdict: Verdict) -> usize {
    match verdict {
        Verdict::Pass => 0,
        Verdict::Fail => 1,
        Verdict::Ungraded => 2,
    }
}

impl Confusion {
    /// Counts one fibre whose truth is pass or fail; a fibre without a true verdict is not counted.
    pub fn add(&mut self, truth: Verdict, said: Verdict) {
        if truth != Verdict::Ungraded {
            self.counts[class(truth)][class(said)] += 1;
        }
    }

    /// How often a truth was met by a verdict.
    pub fn count(&self, truth: Verdict, said: Verdict) -> usize {
        if truth == Verdict::Ungraded { 0 } else { self.counts[class(truth)][class(said)] }
    }

    fn row(&self, truth: Verdict) -> usize {
        self.counts[class(truth)].iter().sum()
    }

    /// Verdicts that agree, of all.
    pub fn agree(&self) -> Share {
        let count = self.counts[0][0] + self.counts[1][1];
        Share { count, of: self.counts.iter().flatten().sum() }
    }

    /// Fails that were passed, of all true fails.
    pub fn escapes(&self) -> Share {
        Share { count: self.counts[1][0], of: self.row(Verdict::Fail) }
    }

    /// Passes that were failed, of all true passes.
    pub fn overkill(&self) -> Share {
        Share { count: self.counts[0][1], of: self.row(Verdict::Pass) }
    }

    /// Fibres left ungraded, of all.
    pub fn ungraded(&self) -> Share {
        Share { count: self.counts[0][2] + self.counts[1][2], of: self.agree().of }
    }
}
