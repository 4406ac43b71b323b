//! How surely a mark of one picture would have been seen in the other.

use super::seen::Glass;
use super::shape::{is_line, thickness};
use terms::{Feature, Hint, Kind};

/// A mark is looked for under a smoothing of its own: the blur that remains is this much wider than the
/// picture's.
const SMOOTHED: f64 = 1.22;
/// The height seen nine times in ten over the scatter that decides it: a threshold of 5.2 and 1.28, the
/// normal distribution's 90 % point.
const SCATTERS: f64 = 6.48;
/// Marks wider than the blur are also looked for under a wider smoothing, which lowers the threshold by up to
/// this factor.
const WIDE_GAIN: f64 = 2.0;
/// Marks wider than this, um, are told from the light itself, whose model leaves so much open: the height seen half the
/// time, and its scatter; made-up films, no source.
const WIDEST: f64 = 20.0;
const LIGHT: (f64, f64) = (0.055, 0.02);
/// Hints are of marks no wider than this, um, and lie no farther from the outline's circle than the second.
const HINT: (f64, f64) = (8.0, 0.8);
/// Where it is, a mark shows at least this share of its height: what is lower by more is another or noise.
const LEFT: f64 = 0.45;
/// Nothing is seen more surely than this: marks merge, hide under others, break up.
const SUREST: f64 = 0.985;

/// Chance that a mark of this contrast and size would have been seen on a fibre.
pub fn chance_seen(mark: &Feature, on: &Glass) -> f64 {
    let gain = gain(mark, blur(on));
    chance_above(mark, on, least_seen(on) / gain, scatter(on) / gain)
}

/// Chance that a mark, as `own` shows it, would have been seen on a fibre or have left a hint there. Its height is known
/// no better than its own picture shows it.
pub fn chance_noticed(mark: &Feature, own: &Glass, on: &Glass) -> f64 {
    let gain = gain(mark, blur(on));
    let told = scatter(own) / gain;
    let seen = chance_above(mark, on, least_seen(on) / gain, (scatter(on) / gain).hypot(told));
    if !is_hinted(mark) || on.hints.is_none() {
        return seen;
    }
    seen.max(chance_above(mark, on, Hint::LEAST_SCATTERS * scatter(on), scatter(on).hypot(told)))
}

/// Chance that a mark's height on a fibre, which scatters by so much, comes out above `least`.
fn chance_above(mark: &Feature, on: &Glass, least: f64, scatter: f64) -> f64 {
    let over = (height(mark, on) * gain_at_rim(mark) - least) / scatter;
    let over_light = match !is_line(mark) && mark.size.0 > WIDEST {
        true => (mark.contrast.abs() - LIGHT.0) / LIGHT.1,
        false => f64::INFINITY,
    };
    SUREST * cumulative(over.min(over_light))
}

/// Height that is seen half the time under the finest smoothing.
fn least_seen(on: &Glass) -> f64 {
    on.faintest - 1.2816 * scatter(on)
}

/// The hint on a fibre that a mark seen elsewhere is there, too, if there is one.
pub fn hint_of<'a>(mark: &Feature, on: &'a Glass) -> Option<&'a Hint> {
    let about = 0.5 * mark.size.0 + HINT.1;
    let least = LEFT * height(mark, on);
    let fits = |h: &&Hint| {
        h.at.distance(mark.centre) < about && h.height * mark.contrast > 0.0 && h.height.abs() > least
    };
    on.hints.iter().flatten().filter(|_| is_hinted(mark)).find(fits)
}

/// Whether a mark is of those that leave hints where they are too faint to be told.
fn is_hinted(mark: &Feature) -> bool {
    !is_line(mark) && mark.size.0 < HINT.0
}

fn blur(on: &Glass) -> f64 {
    (SMOOTHED * on.blur.0).max(0.1)
}

/// Scatter of heights under the finest smoothing.
fn scatter(on: &Glass) -> f64 {
    on.faintest.max(1e-4) / SCATTERS
}

/// Height of a mark where it is looked for on a fibre.
fn height(mark: &Feature, on: &Glass) -> f64 {
    match is_line(mark) {
        true => line_height(mark, blur(on)),
        false => mark.contrast.abs() * peak_left(mark.size.0, blur(on)),
    }
}

/// Share of a disc's contrast that remains at its peak under a Gaussian blur.
fn peak_left(diameter: f64, blur: f64) -> f64 {
    1.0 - (-(diameter / blur).powi(2) / 8.0).exp()
}

/// Height of a line's ridge: the integral of a Gaussian across the width.
fn line_height(mark: &Feature, blur: f64) -> f64 {
    let width = thickness(mark);
    let half = width / (2.0 * blur);
    mark.contrast.abs() * (2.0 * cumulative(half) - 1.0)
}

/// What smoothing along or over the mark gains over the finest smoothing.
fn gain(mark: &Feature, blur: f64) -> f64 {
    match is_line(mark) {
        true => (mark.length.0 / (8.0 * blur)).sqrt().clamp(1.0, 3.0),
        false => (thickness(mark) / (3.0 * blur)).clamp(1.0, WIDE_GAIN),
    }
}

/// A mark at the glass's rim is cut: half of it may not count.
fn gain_at_rim(mark: &Feature) -> f64 {
    if mark.kind == Kind::Chip || mark.reach.outer.0 > 61.0 { 0.6 } else { 1.0 }
}

/// The normal distribution's cumulative share.
///
/// Abramowitz and Stegun (1964, "Handbook of mathematical functions"), 7.1.26; wrong by less than 2e-7.
fn cumulative(x: f64) -> f64 {
    let z = x.abs() / std::f64::consts::SQRT_2;
    let t = 1.0 / (1.0 + 0.327_591_1 * z);
    let tail = t
        * (0.254_829_592
            + t * (-0.284_496_736 + t * (1.421_413_741 + t * (-1.453_152_027 + t * 1.061_405_429))))
        * (-z * z).exp();
    if x >= 0.0 { 1.0 - 0.5 * tail } else { 0.5 * tail }
}

#[cfg(test)]
mod tests {
    use super::*;
    use terms::{FeatureId, Point, Reach, Um};

    /// Scatter of heights on the fibre below, a share of the clean glass's level.
    const S: f64 = 0.01;

    fn glass(hints: Option<Vec<Hint>>) -> Glass {
        Glass { blur: Um(0.6), faintest: SCATTERS * S, hints, ..Glass::sample(Vec::new()) }
    }

    fn mark(size: f64, contrast: f64) -> Feature {
        Feature {
            id: FeatureId(1),
            kind: Kind::Particle,
            size: Um(size),
            u: Um(0.2),
            length: Um(size),
            centre: Point::new(20.0, 5.0),
            contrast,
            reach: Reach { inner: Um(10.0), outer: Um(30.0) },
            outline: Vec::new(),
        }
    }

    /// A mark of 1.2 um that is so many scatters high; 28.53 % of a contrast is left of it: 1 - exp(-(1.2 / 0.732)^2 / 8).
    fn high(scatters: f64) -> Feature {
        mark(1.2, -scatters * S / 0.2853)
    }

    fn hint(x: f64, y: f64, height: f64) -> Hint {
        Hint { at: Point::new(x, y), height }
    }

    /// Abramowitz and Stegun (1964), table 26.1.
    #[test]
    fn the_normal_distribution_is_the_tables() {
        for (x, share) in [(0.0, 0.5), (1.0, 0.841_344_746), (1.96, 0.975_002_105), (-2.5, 0.006_209_665)] {
            assert!((cumulative(x) - share).abs() < 2e-7, "{x}");
        }
    }

    /// Where hints are looked for, a mark is noticed half the time at 3.3 scatters, where none are at 5.2; both heights
    /// scatter, so that one scatter and a half of both together, 1.5 sqrt(2), makes 93.32 % (Abramowitz and Stegun, 1964,
    /// table 26.1).
    #[test]
    fn what_is_hinted_at_is_noticed_where_it_is_too_faint_to_be_told() {
        let both = 1.5 * std::f64::consts::SQRT_2;
        for (hints, half) in [(Some(Vec::new()), 3.3), (None, 5.2)] {
            for (scatters, share) in [(half, 0.5), (half + both, 0.9332), (half - both, 0.0668)] {
                let chance = chance_noticed(&high(scatters), &glass(None), &glass(hints.clone()));
                assert!((chance - SUREST * share).abs() < 2e-3, "{scatters}: {chance}");
            }
        }
    }

    /// Only compact marks up to 8 um leave hints.
    #[test]
    fn what_leaves_no_hint_is_noticed_as_it_is_seen() {
        let line = Feature { kind: Kind::Scratch, length: Um(30.0), ..mark(0.5, -0.06) };
        for mark in [line, mark(9.0, -0.02)] {
            let [with, without] =
                [Some(Vec::new()), None].map(|hints| chance_noticed(&mark, &glass(None), &glass(hints)));
            assert_eq!(with, without, "{mark:?}");
            let hinted = glass(Some(vec![hint(20.0, 5.0, -1.0)]));
            assert_eq!(hint_of(&mark, &hinted), None, "{mark:?}");
        }
    }

    /// A mark of 2 um is as far as 1.8 um from its hint, and at least 0.45 as high there as it should be.
    #[test]
    fn a_hint_fits_by_place_sign_and_height() {
        let mark = mark(2.0, -0.1);
        let height = 0.1 * (1.0 - (-(2.0f64 / 0.732).powi(2) / 8.0).exp());
        let elsewhere = hint(40.0, 5.0, -0.5);
        for (hint, fits) in [
            (hint(20.0, 5.0, -height), true),
            (hint(21.7, 5.0, -height), true),
            (hint(20.0, 3.1, -height), false),
            (hint(20.0, 5.0, height), false),
            (hint(20.0, 5.0, -0.5 * height), true),
            (hint(20.0, 5.0, -0.4 * height), false),
        ] {
            let on = glass(Some(vec![elsewhere, hint]));
            assert_eq!(hint_of(&mark, &on).is_some(), fits, "{hint:?}");
        }
        assert_eq!(hint_of(&mark, &glass(None)), None);
    }

    /// At the rim half of a mark may not count, so that it is noticed less surely.
    #[test]
    fn a_mark_at_the_rim_is_noticed_less_surely() {
        let inner = high(5.0);
        let outer = Feature { reach: Reach { inner: Um(58.0), outer: Um(61.5) }, ..inner.clone() };
        let [inner, outer] =
            [inner, outer].map(|mark| chance_noticed(&mark, &glass(None), &glass(Some(Vec::new()))));
        assert!(inner > 0.8 && outer < 0.5, "{inner} {outer}");
    }
}
