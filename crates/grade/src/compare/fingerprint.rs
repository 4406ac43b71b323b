//! Whether two pictures show one face, by what cleaning cannot change: how far each fibre lies off its site,
//! and how wide it is. Ferrule holes lie up to a few micrometres off their sites, each in its own direction,
//! and a picture tells a fibre's centre to a few hundredths: the pattern is a fingerprint of the ferrule.
//!
//! Method: the logarithm of the odds that the same face and not another one gave the differences. Normal
//! distributions; a share of outliers, since dirt on an edge can spoil a centre. What two cameras do
//! differently to the whole row, shift, turn, scale and a lens's distortion, is taken away first.

use super::seen::{FaceSeen, Glass};
use terms::Point;

/// Standard deviation of the same centre in two pictures beyond what each states, um; common practice, no
/// source.
const CENTRE_AGREES: f64 = 0.04;
/// Standard deviation of the same cladding's diameter in two pictures, um; common practice, no source.
const DIAMETER_AGREES: f64 = 0.1;
/// Share of fibres whose centre is spoilt by dirt, and of those spoilt badly.
const SPOILT: (f64, f64) = (0.15, 0.03);
/// How much wider a spoilt centre scatters.
const SPOILT_BY: f64 = 6.0;
/// Share of fibres whose diameter is spoilt.
const WIDTH_SPOILT: f64 = 0.2;
/// Least scatter of centres and diameters over the fibres of a ferrule, um: below it they tell nothing.
const LEAST_SCATTER: (f64, f64) = (0.05, 0.1);

/// Keeps densities far out from being 0 over 0.
const NOTHING: f64 = 1e-200;

/// What the fibres' places and widths say.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fingerprint {
    /// Natural logarithm of the odds for the same face.
    pub log_odds: f64,
    /// Fibres that were found in both.
    pub fibres: usize,
    /// Median over them of how far a centre lies elsewhere, um, what is common to the row taken away.
    pub apart: f64,
    /// Median distance of the fibres from their sites, um: how far apart two ferrules would be.
    pub scatter: f64,
}

/// One fibre in both pictures.
struct Twice<'a> {
    at: Point<terms::Face>,
    before: &'a Glass,
    after: &'a Glass,
}

/// Compares the fibres that were found in both.
pub fn compare(before: &FaceSeen, after: &FaceSeen) -> Fingerprint {
    let twice: Vec<Twice> = before
        .fibres
        .iter()
        .filter_map(|b| {
            let a = after.at(b.position)?;
            Some(Twice { at: b.nominal, before: b.glass.as_ref()?, after: a.glass.as_ref()? })
        })
        .collect();
    if twice.len() < 2 {
        return Fingerprint { log_odds: 0.0, fibres: twice.len(), apart: 0.0, scatter: 0.0 };
    }
    let (centres, apart, scatter) = centres(&twice);
    Fingerprint { log_odds: centres + diameters(&twice), fibres: twice.len(), apart, scatter }
}

/// Odds by the centres, median distance in the two pictures, median distance from the sites.
fn centres(twice: &[Twice]) -> (f64, f64, f64) {
    let x: Vec<f64> = twice.iter().map(|t| t.after.offset.x - t.before.offset.x).collect();
    let y: Vec<f64> = twice.iter().map(|t| t.after.offset.y - t.before.offset.y).collect();
    let (dx, left_x) = without_common(twice, x, 3);
    let (dy, left_y) = without_common(twice, y, 2);
    let offsets = twice.iter().flat_map(|t| [t.before.offset, t.after.offset]);
    let spread = 1.4826 * median(offsets.flat_map(|o| [o.x.abs(), o.y.abs()]).collect());
    let other = std::f64::consts::SQRT_2 * spread.max(LEAST_SCATTER.0);
    let odds: f64 = twice
        .iter()
        .zip(dx.iter().zip(&dy))
        .map(|(t, (x, y))| {
            let r = x.hypot(*y);
            let sd = CENTRE_AGREES.hypot(t.before.centre_u.0).hypot(t.after.centre_u.0);
            let spoilt = (SPOILT_BY * sd).min(other);
            let same = (1.0 - SPOILT.0) * round_normal(r, sd)
                + (SPOILT.0 - SPOILT.1) * round_normal(r, spoilt)
                + SPOILT.1 * round_normal(r, other);
            ((same + NOTHING) / (round_normal(r, other) + NOTHING)).max(SPOILT.1).ln()
        })
        .sum();
    let left = (left_x + left_y) as f64 / (2 * twice.len()) as f64;
    let apart = median(dx.iter().zip(&dy).map(|(x, y)| x.hypot(*y)).collect());
    let scatter = median(twice.iter().map(|t| t.before.offset.radius()).collect());
    (odds * left, apart, scatter)
}

/// Odds by the diameters.
fn diameters(twice: &[Twice]) -> f64 {
    let difference: Vec<f64> = twice.iter().map(|t| t.after.diameter.0 - t.before.diameter.0).collect();
    let common = median(difference.clone());
    let widths: Vec<f64> = twice.iter().map(|t| t.before.diameter.0).collect();
    let middle = median(widths.clone());
    let spread = 1.4826 * median(widths.iter().map(|w| (w - middle).abs()).collect());
    let other = std::f64::consts::SQRT_2 * spread.max(LEAST_SCATTER.1);
    let one = |d: &f64| {
        let d = d - common;
        let same =
            (1.0 - WIDTH_SPOILT) * normal(d, DIAMETER_AGREES) + WIDTH_SPOILT * normal(d, other.max(0.5));
        ((same + NOTHING) / (normal(d, other) + NOTHING)).clamp(WIDTH_SPOILT, 1.0 / WIDTH_SPOILT).ln()
    };
    let left = (twice.len() - 1) as f64 / twice.len() as f64;
    difference.iter().map(one).sum::<f64>() * left
}

/// The values less the smooth curve along the row (a polynomial of so high a degree where there are fibres
/// enough, and a slope across the rows) that most of them follow, and how many degrees of freedom are left.
///
/// Weighted Gram-Schmidt, reweighted by Tukey's biweight (Beaton and Tukey, 1974, "The fitting of power
/// series, meaning polynomials, illustrated on band-spectroscopic data").
fn without_common(twice: &[Twice], mut values: Vec<f64>, degree: i32) -> (Vec<f64>, usize) {
    let degree = match twice.len() {
        8.. => degree,
        5.. => 1,
        _ => 0,
    };
    let reach = twice.iter().map(|t| t.at.x.abs()).fold(1.0, f64::max);
    let mut basis: Vec<Vec<f64>> =
        (0..=degree).map(|n| twice.iter().map(|t| (t.at.x / reach).powi(n)).collect()).collect();
    let rows = twice.iter().any(|t| (t.at.y - twice[0].at.y).abs() > 1.0);
    if rows && degree > 1 {
        basis.push(twice.iter().map(|t| t.at.y / reach).collect());
    }
    let left = twice.len() - basis.len().min(twice.len());
    let mut weights = vec![1.0; values.len()];
    for _ in 0..8 {
        values = projected(values, &basis, &weights);
        let typical = median(values.iter().map(|v| v.abs()).collect()).max(CENTRE_AGREES);
        for (w, v) in weights.iter_mut().zip(&values) {
            let t = v / (6.0 * typical);
            *w = if t.abs() < 1.0 { (1.0 - t * t).powi(2) } else { 0.0 };
        }
    }
    (values, left)
}

/// The values less their weighted projection on the basis.
fn projected(mut values: Vec<f64>, basis: &[Vec<f64>], weights: &[f64]) -> Vec<f64> {
    let dot =
        |a: &[f64], b: &[f64]| -> f64 { a.iter().zip(b).zip(weights).map(|((a, b), w)| w * a * b).sum() };
    let mut square: Vec<Vec<f64>> = Vec::with_capacity(basis.len());
    for vector in basis {
        let mut vector = vector.clone();
        for done in &square {
            let share = dot(&vector, done) / dot(done, done);
            vector.iter_mut().zip(done).for_each(|(v, d)| *v -= share * d);
        }
        if dot(&vector, &vector) > 1e-9 {
            let share = dot(&values, &vector) / dot(&vector, &vector);
            values.iter_mut().zip(&vector).for_each(|(v, d)| *v -= share * d);
            square.push(vector);
        }
    }
    values
}

/// Density of a normal distribution of mean 0.
pub(crate) fn normal(x: f64, sd: f64) -> f64 {
    (-0.5 * (x / sd).powi(2)).exp() / (sd * (2.0 * std::f64::consts::PI).sqrt())
}

/// Density of a round normal distribution in the plane at distance `r` from its middle.
pub(crate) fn round_normal(r: f64, sd: f64) -> f64 {
    (-0.5 * (r / sd).powi(2)).exp() / (2.0 * std::f64::consts::PI * sd * sd)
}

/// The middle value; 0 of none.
pub(crate) fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    match values.len() {
        0 => 0.0,
        n if n % 2 == 1 => values[n / 2],
        n => 0.5 * (values[n / 2 - 1] + values[n / 2]),
    }
}
