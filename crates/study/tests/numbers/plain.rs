//! Sizes against the truth and verdicts against the truth, by hand.

use crate::near;
use grade::Verdict::{Fail, Pass, Ungraded};
use study::binomial::Share;
use study::confusion::Confusion;
use study::sizing::{Measured, percentile, sizing};

#[test]
fn errors_of_size_are_summed_up() {
    let of = |error: f64, u: f64| Measured { truth: 3.0, size: 3.0 + error, u };
    let found = sizing(&[of(0.1, 0.11), of(-0.1, 0.04), of(0.3, 0.2), of(0.5, 0.125)]).unwrap();
    near(found.bias, 0.2, 1e-12);
    // Squares about 0.2: 0.01, 0.09, 0.01, 0.09; their sum over 3.
    near(found.spread.unwrap(), (0.2f64 / 3.0).sqrt(), 1e-12);
    near(found.median, 0.2, 1e-12);
    assert_eq!(found.within_u, Share { count: 1, of: 4 });
    assert_eq!(found.within_2u, Share { count: 2, of: 4 });
    assert_eq!(sizing(&[of(0.2, 0.1)]).unwrap().spread, None);
    assert_eq!(sizing(&[]), None);
}

/// Type 7 of Hyndman and Fan, the default of R and numpy.
#[test]
fn percentiles_are_linear_between_values() {
    let sorted = [1.0, 2.0, 4.0, 8.0];
    near(percentile(&sorted, 0.5), 3.0, 1e-12);
    near(percentile(&sorted, 0.9), 6.8, 1e-12);
    assert_eq!((percentile(&sorted, 0.0), percentile(&sorted, 1.0)), (1.0, 8.0));
}

#[test]
fn verdicts_are_counted_by_what_is_true() {
    let mut table = Confusion::default();
    let pairs = [(Pass, Pass), (Pass, Pass), (Pass, Fail), (Fail, Fail), (Fail, Pass), (Fail, Ungraded)];
    pairs.iter().for_each(|(truth, said)| table.add(*truth, *said));
    table.add(Ungraded, Pass);
    assert_eq!(table.agree(), Share { count: 3, of: 6 });
    assert_eq!(table.escapes(), Share { count: 1, of: 3 });
    assert_eq!(table.overkill(), Share { count: 1, of: 3 });
    assert_eq!(table.ungraded(), Share { count: 1, of: 6 });
    assert_eq!((table.count(Pass, Pass), table.count(Fail, Ungraded)), (2, 1));
}
