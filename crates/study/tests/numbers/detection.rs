//! Logistic curves of hits by size. The budworm data are Collett's (1991, Modelling Binary Data) as worked in
//! Venables and Ripley (Modern Applied Statistics with S, section 7.2); the beetle data are Bliss's (1935, The
//! calculation of the dosage-mortality curve). Values marked "recomputed" come from another program.

use crate::near;
use study::binomial::Share;
use study::detection::{Axis, Target, detection};
use study::logistic::{Likelihood, NoFit, Row, fit};

const MALES: [f64; 6] = [1.0, 4.0, 9.0, 13.0, 18.0, 20.0];
const FEMALES: [f64; 6] = [0.0, 2.0, 6.0, 10.0, 12.0, 16.0];

fn budworm() -> Vec<Row> {
    let row = |female: bool, dose: usize, hits: f64| Row {
        x: vec![f64::from(u8::from(female)), f64::from(u8::from(!female)), dose as f64],
        trials: 20.0,
        hits,
    };
    let males = MALES.iter().enumerate().map(|(d, &h)| row(false, d, h));
    males.chain(FEMALES.iter().enumerate().map(|(d, &h)| row(true, d, h))).collect()
}

/// Published: coefficients, standard errors and deviance of the model with a common slope.
#[test]
fn the_budworm_model_is_the_published_one() {
    let fit = fit(&budworm(), Likelihood::Plain).unwrap();
    let (b, se) = ([-3.473_155, -2.372_412, 1.064_214], [0.468_520, 0.385_511, 0.131_077]);
    for k in 0..3 {
        near(fit.coefficients[k], b[k], 1e-6);
        near(fit.standard_error(k), se[k], 1e-6);
    }
    near(fit.deviance, 6.757_064, 1e-6);
}

const BEETLES: [(f64, usize, usize); 8] = [
    (1.6907, 59, 6),
    (1.7242, 60, 13),
    (1.7552, 62, 18),
    (1.7842, 56, 28),
    (1.8113, 63, 52),
    (1.8369, 59, 53),
    (1.8610, 62, 61),
    (1.8839, 60, 60),
];

fn beetles() -> Vec<Target> {
    let each = |&(size, of, hits): &(f64, usize, usize)| (0..of).map(move |k| Target { size, hit: k < hits });
    BEETLES.iter().flat_map(each).collect()
}

/// Published: coefficients and the standard error of x50; recomputed: x90 and its bounds, by the estimate plus
/// 1.645 standard errors and by inverting the band.
#[test]
fn the_beetle_curve_is_the_published_one() {
    let curve = detection(&beetles(), Axis::Linear).curve.unwrap();
    assert_eq!(curve.likelihood, Likelihood::Plain);
    near(curve.line[0], -60.717_455, 1e-5);
    near(curve.line[1], 34.270_326, 1e-5);
    near(curve.covariance[0][0].sqrt(), 5.180_711, 1e-5);
    near(curve.covariance[1][1].sqrt(), 2.912_140, 1e-5);
    near(curve.size_at(0.5), 1.771_721, 1e-6);
    near(curve.place_error(0.5), 0.003_858_052, 1e-8);
    near(curve.size_at(0.9), 1.835_835, 1e-6);
    near(curve.size_at(0.9) + 1.644_854 * curve.place_error(0.9), 1.846_021, 1e-6);
    let bound = curve.bound(0.9, 0.95).unwrap();
    near(bound, 1.847_329, 1e-6);
    near(curve.lower(bound, 0.95), 0.9, 1e-9);
    near(curve.probability(curve.size_at(0.3)), 0.3, 1e-12);
}

/// Grouped rows and single trials are the same data; published deviance of the grouped ones.
#[test]
fn beetles_in_groups_have_the_published_deviance() {
    let row =
        |&(x, of, hits): &(f64, usize, usize)| Row { x: vec![1.0, x], trials: of as f64, hits: hits as f64 };
    let fit = fit(&BEETLES.iter().map(row).collect::<Vec<_>>(), Likelihood::Plain).unwrap();
    near(fit.deviance, 11.232_231, 1e-6);
    near(fit.coefficients[1], 34.270_326, 1e-5);
}

/// Of the females alone, by the model with a common slope: x25 to x90 with their standard errors (published) and
/// the bound on x90 by inverting the band (recomputed).
#[test]
fn doses_of_the_budworms_are_the_published_ones() {
    let fit = fit(&budworm(), Likelihood::Plain).unwrap();
    let v = &fit.covariance;
    let curve = study::detection::Curve {
        axis: Axis::Linear,
        line: [fit.coefficients[0], fit.coefficients[2]],
        covariance: [[v[0][0], v[0][2]], [v[2][0], v[2][2]]],
        likelihood: Likelihood::Plain,
    };
    let table = [
        (0.25, 2.231_265, 0.249_908_9),
        (0.5, 3.263_587, 0.229_753_9),
        (0.75, 4.295_910, 0.274_687_4),
        (0.9, 5.328_233, 0.361_183),
    ];
    for (p, size, se) in table {
        near(curve.size_at(p), size, 1e-5);
        near(curve.place_error(p), se, 1e-5);
    }
    near(curve.bound(0.9, 0.95).unwrap(), 6.039_903, 1e-5);
}

fn targets(hits: &[f64], misses: &[f64]) -> Vec<Target> {
    let of = |sizes: &[f64], hit| sizes.iter().map(|&size| Target { size, hit }).collect::<Vec<_>>();
    [of(hits, true), of(misses, false)].concat()
}

#[test]
fn separated_sizes_still_give_a_curve_and_say_how() {
    let apart = targets(&[2.0, 2.5, 3.0, 4.0], &[0.5, 0.8, 1.0, 1.5]);
    let found = detection(&apart, Axis::Log);
    let curve = found.curve.unwrap();
    assert_eq!(curve.likelihood, Likelihood::Penalised);
    let a50 = curve.size_at(0.5);
    assert!(a50 > 1.5 && a50 < 2.0, "{a50}");
    let rows: Vec<Row> = apart
        .iter()
        .map(|t| Row { x: vec![1.0, t.size], trials: 1.0, hits: f64::from(u8::from(t.hit)) })
        .collect();
    assert_eq!(fit(&rows, Likelihood::Plain), Err(NoFit::Separated));
}

#[test]
fn there_is_no_curve_without_hits_and_misses_or_against_the_size() {
    let none = detection(&targets(&[], &[1.0, 2.0]), Axis::Log);
    assert_eq!((none.seen, none.curve), (Share { count: 0, of: 2 }, None));
    assert!(detection(&targets(&[1.0, 2.0], &[]), Axis::Log).curve.is_none());
    assert!(detection(&targets(&[1.0, 1.0], &[1.0]), Axis::Log).curve.is_none(), "one size");
    assert!(detection(&targets(&[1.0, 2.0, 2.5], &[2.2, 3.0, 4.0]), Axis::Log).curve.is_none());
    assert!(detection(&[], Axis::Log).curve.is_none());
}

/// A slope that may be none at all bounds nothing.
#[test]
fn few_targets_give_no_bound() {
    let few = targets(&[1.0, 2.0, 3.0], &[0.9, 1.5, 2.5]);
    let curve = detection(&few, Axis::Log).curve.unwrap();
    assert_eq!(curve.bound(0.9, 0.95), None);
}
