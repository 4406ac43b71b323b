//! Whether something stands out: exact tail probabilities of counts, and their correction for many looks.

use crate::binomial::Share;
use crate::special::ln_gamma;

/// Probability that at least `count` of independent events happen, each with its own chance (0 to 1).
///
/// The distribution of Poisson (1837, Recherches sur la probabilité des jugements) by adding one event at a time.
pub fn at_least(count: usize, chances: &[f64]) -> f64 {
    let mut exactly = vec![1.0];
    for chance in chances {
        exactly.push(0.0);
        for k in (0..exactly.len()).rev() {
            let before = if k == 0 { 0.0 } else { exactly[k - 1] };
            exactly[k] = exactly[k] * (1.0 - chance) + before * chance;
        }
    }
    exactly.iter().skip(count).rev().sum::<f64>().min(1.0)
}

/// Probability of as many events as in `one`, or more, if they fell on `one` and `other` alike, the number of all
/// events taken as it is.
///
/// Source: Fisher, 1934, Statistical Methods for Research Workers (exact test of a table of two by two), one-sided.
pub fn fisher_greater(one: Share, other: Share) -> f64 {
    let (all, events) = (one.of + other.of, one.count + other.count);
    let most = events.min(one.of);
    let weight =
        |k: usize| (ln_choose(one.of, k) + ln_choose(other.of, events - k) - ln_choose(all, events)).exp();
    let least = one.count.max(events.saturating_sub(other.of));
    (least..=most).rev().map(weight).sum::<f64>().min(1.0)
}

fn ln_choose(n: usize, k: usize) -> f64 {
    let ln_factorial = |n: usize| ln_gamma(n as f64 + 1.0);
    ln_factorial(n) - ln_factorial(k) - ln_factorial(n - k)
}

/// Probabilities corrected for their number, so that of all that are called significant none is so by chance more
/// often than the level, whatever hangs together; in the order given.
///
/// Source: Holm, 1979, A simple sequentially rejective multiple test procedure.
pub fn holm(each: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..each.len()).collect();
    order.sort_by(|a, b| each[*a].total_cmp(&each[*b]));
    let mut corrected = vec![0.0; each.len()];
    let mut least: f64 = 0.0;
    for (rank, k) in order.into_iter().enumerate() {
        least = least.max((each[k] * (each.len() - rank) as f64).min(1.0));
        corrected[k] = least;
    }
    corrected
}
