//! Gauge repeatability and reproducibility. The example of ten parts, three appraisers and three trials is that
//! of AIAG, 2010, Measurement Systems Analysis, 4th edition (the table from memory; the results recomputed, and
//! in agreement with the published ones as recalled).

use crate::near;
use study::gauge::{Readings, by_anova, by_ranges};
use study::ranges::{mean_range, root_mean_square_range};

const TABLE: [[[f64; 10]; 3]; 3] = [
    [
        [0.29, -0.56, 1.34, 0.47, -0.80, 0.02, 0.59, -0.31, 2.26, -1.36],
        [0.41, -0.68, 1.17, 0.50, -0.92, -0.11, 0.75, -0.20, 1.99, -1.25],
        [0.64, -0.58, 1.27, 0.64, -0.84, -0.21, 0.66, -0.17, 2.01, -1.31],
    ],
    [
        [0.08, -0.47, 1.19, 0.01, -0.56, -0.20, 0.47, -0.63, 1.80, -1.68],
        [0.25, -1.22, 0.94, 1.03, -1.20, 0.22, 0.55, 0.08, 2.12, -1.62],
        [0.07, -0.68, 1.34, 0.20, -1.28, 0.06, 0.83, -0.34, 2.19, -1.50],
    ],
    [
        [0.04, -1.38, 0.88, 0.14, -1.46, -0.29, 0.02, -0.46, 1.77, -1.49],
        [-0.11, -1.13, 1.09, 0.20, -1.07, -0.67, 0.01, -0.56, 1.45, -1.77],
        [-0.15, -0.96, 0.67, 0.11, -1.45, -0.49, 0.21, -0.49, 1.87, -2.16],
    ],
];

fn example() -> Readings {
    let cell = |part: usize, appraiser: usize| (0..3).map(|t| TABLE[appraiser][t][part]).collect();
    Readings::new((0..10).map(|p| (0..3).map(|a| cell(p, a)).collect()).collect()).unwrap()
}

/// K1 0.8862 and 0.5908 for 2 and 3 trials, K2 0.7071 and 0.5231 for 2 and 3 appraisers, K3 0.3146 for 10 parts;
/// the range of two values is sqrt 2 times a half normal value, its square 2 on average.
#[test]
fn constants_are_those_of_the_handbook() {
    near(1.0 / mean_range(2), 0.8862, 5e-5);
    near(1.0 / mean_range(3), 0.5908, 5e-5);
    near(1.0 / root_mean_square_range(2), std::f64::consts::FRAC_1_SQRT_2, 1e-8);
    near(1.0 / root_mean_square_range(3), 0.5231, 5e-5);
    near(1.0 / root_mean_square_range(10), 0.3146, 5e-5);
    near(mean_range(2), 2.0 / std::f64::consts::PI.sqrt(), 1e-9);
}

/// The handbook's constants have four digits, which is up to 1.6e-4 of K3: the tolerance of every figure.
#[test]
fn the_range_method_gives_the_published_figures() {
    let spread = by_ranges(&example());
    near(spread.repeatability, 0.201_857, 1.6e-4 * 0.201_857);
    near(spread.reproducibility, 0.229_667, 1.6e-4 * 0.229_667);
    near(spread.gauge(), 0.305_766, 1.6e-4 * 0.305_766);
    near(spread.parts, 1.104_596, 1.6e-4 * 1.104_596);
    near(spread.total(), 1.146_135, 1.6e-4 * 1.146_135);
    near(spread.gauge_share(), 0.2668, 1.6e-4 * 0.2668);
    near(spread.classes().unwrap(), 5.09, 0.005);
}

#[test]
fn the_analysis_of_variance_gives_the_published_figures() {
    let anova = by_anova(&example());
    near(anova.parts, 88.361_934, 1e-6);
    near(anova.appraisers, 3.167_262, 1e-6);
    near(anova.interaction, 0.358_982, 1e-6);
    near(anova.error, 2.758_933, 1e-6);
    near(anova.f_interaction.unwrap(), 0.4337, 5e-5);
    assert!(anova.p_interaction.unwrap() > 0.9, "{:?}", anova.p_interaction);
    let spread = anova.spread;
    near(spread.repeatability, 0.199_933, 1e-6);
    near(spread.reproducibility, 0.226_838, 1e-6);
    assert_eq!(spread.interaction, 0.0);
    near(spread.gauge(), 0.302_372, 1e-6);
    near(spread.parts, 1.042_327, 1e-6);
    near(spread.total(), 1.085_300, 1e-6);
    near(spread.gauge_share(), 0.2786, 5e-5);
    near(spread.classes().unwrap(), 4.86, 0.005);
}

/// One set-up: parts and error alone. By hand: means 1, 2, 6; each cell scatters by +-0.1, so the variance within
/// is 0.02 and that of the means 7.
#[test]
fn one_set_up_has_no_reproducibility() {
    let cell = |m: f64| vec![vec![m - 0.1, m + 0.1]];
    let anova = by_anova(&Readings::new(vec![cell(1.0), cell(2.0), cell(6.0)]).unwrap());
    near(anova.spread.repeatability, 0.02f64.sqrt(), 1e-12);
    near(anova.spread.parts, (7.0f64 - 0.01).sqrt(), 1e-12);
    assert_eq!((anova.spread.reproducibility, anova.f_interaction), (0.0, None));
}

/// Set-ups that disagree on every part keep their interaction. By hand: cell means a +-1 saddle.
#[test]
fn a_strong_interaction_is_kept() {
    let cell = |m: f64| vec![m - 0.1, m + 0.1];
    let saddle = vec![vec![cell(1.0), cell(-1.0)], vec![cell(-1.0), cell(1.0)]];
    let anova = by_anova(&Readings::new(saddle).unwrap());
    assert!(anova.p_interaction.unwrap() < 0.001);
    near(anova.interaction, 8.0, 1e-12);
    near(anova.spread.interaction, ((8.0f64 - 0.02) / 2.0).sqrt(), 1e-12);
    near(anova.spread.repeatability, 0.02f64.sqrt(), 1e-12);
}

#[test]
fn gaps_are_no_readings() {
    let full = vec![vec![1.0, 2.0]];
    assert!(Readings::new(vec![]).is_none());
    assert!(Readings::new(vec![full.clone()]).is_none(), "one part");
    assert!(Readings::new(vec![full.clone(), vec![vec![1.0]]]).is_none(), "a trial is missing");
    assert!(Readings::new(vec![vec![vec![1.0]], vec![vec![1.0]]]).is_none(), "one trial");
    assert!(Readings::new(vec![full.clone(), vec![vec![1.0, f64::NAN]]]).is_none());
    let still = by_anova(&Readings::new(vec![vec![vec![2.0, 2.0]], vec![vec![2.0, 2.0]]]).unwrap());
    assert_eq!((still.spread.gauge(), still.spread.gauge_share(), still.spread.classes()), (0.0, 0.0, None));
}
