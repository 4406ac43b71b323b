//! Circles that fit scattered points: a direct algebraic fit and the least squares of distances.

use super::linear::{Matrix, inverse, smallest_eigenvector, times};
use super::polygon::finite;
use super::{Circle, Xy};

/// Why no circle can be fitted.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum FitError {
    /// A circle has three unknowns.
    #[error("a circle needs at least 3 points of weight above zero, not {0}")]
    TooFew(usize),
    /// A coordinate or a weight is no finite number, or a weight is negative.
    #[error("point {0} or its weight is not a finite number, or the weight is negative")]
    NotFinite(usize),
    /// One weight for each point.
    #[error("{points} points have {weights} weights")]
    WeightCount {
        /// Points given.
        points: usize,
        /// Weights given.
        weights: usize,
    },
    /// All points coincide or lie on one line, as far as numbers tell.
    #[error("the points lie on one line and determine no circle")]
    Straight,
    /// The iteration did not settle: the arc is too short or too rough for a circle.
    #[error("the circle fit did not settle in {0} steps")]
    Unsettled(u32),
}

/// A circle by least squares of distances, with what is needed to judge it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CircleFit {
    /// The fitted circle.
    pub circle: Circle,
    /// Weighted sum of the squared distances from the circle.
    pub sum_of_squares: f64,
    /// Points of weight above zero, less the three unknowns.
    pub freedom: usize,
    /// Inverse of the normal matrix in the order x, y, r: the covariance for residuals of unit variance at
    /// unit weight.
    pub cofactors: [[f64; 3]; 3],
}

impl CircleFit {
    /// Covariance of (x, y, r), its size taken from the residuals themselves; none for three points, which
    /// leave no residual to judge by.
    pub fn covariance(&self) -> Option<[[f64; 3]; 3]> {
        (self.freedom > 0).then(|| {
            let variance = self.sum_of_squares / self.freedom as f64;
            self.cofactors.map(|row| row.map(|v| v * variance))
        })
    }
}

/// Largest radius, in units of the points' own spread, that still counts as a circle and not as a line.
const STRAIGHT: f64 = 1e6;
/// Points narrower than this share of their length lie on one line.
const THIN: f64 = 1e-10;
/// Steps of the iteration; a sound arc settles in fewer than ten.
const STEPS: u32 = 200;

/// A circle by the gradient-weighted algebraic fit (Taubin 1991, "Estimation of planar curves, surfaces and
/// nonplanar space curves defined by implicit equations"): direct, nearly free of bias, the usual start of
/// the geometric fit.
///
/// # Errors
/// `TooFew`, `NotFinite`, `Straight`.
pub fn fit_circle_algebraic<P: Xy>(points: &[P]) -> Result<Circle, FitError> {
    let cloud = Cloud::new(points, None)?;
    Ok(cloud.restore(cloud.algebraic()?))
}

/// The circle with the least weighted sum of squared distances (Gauss-Newton steps damped after Levenberg
/// 1944 and Marquardt 1963, started from the algebraic fit). `weights` are inverse variances up to a common
/// factor, one for each point; without them all points weigh 1. A point of weight 0 is left out.
///
/// # Errors
/// `TooFew`, `NotFinite`, `WeightCount`, `Straight`, `Unsettled`.
pub fn fit_circle_geometric<P: Xy>(points: &[P], weights: Option<&[f64]>) -> Result<CircleFit, FitError> {
    let cloud = Cloud::new(points, weights)?;
    let mut circle = cloud.algebraic()?;
    let mut now = cloud.normal(circle);
    let (mut damping, mut last_step) = (1e-4, f64::INFINITY);
    for _ in 0..STEPS {
        let Some((next, step)) = now.step(circle, damping) else { return Err(FitError::Straight) };
        let then = cloud.normal(next);
        let flat = cloud.flat(then.sum, now.sum);
        if step < 1e-13 * circle.r || (flat && step >= last_step) {
            return cloud.judge(circle, &now);
        }
        // At the bottom the sum cannot tell better from worse; there the shrinking steps lead.
        if then.sum <= now.sum || flat {
            (circle, now, last_step) = (next, then, step);
            damping *= 0.1;
        } else {
            damping *= 10.0;
        }
        if circle.r > STRAIGHT {
            return Err(FitError::Straight);
        }
    }
    Err(FitError::Unsettled(STEPS))
}

/// The points moved to their mean and scaled to unit spread, where the sums are well conditioned.
struct Cloud {
    points: Vec<(f64, f64, f64)>,
    weight: f64,
    mean: (f64, f64),
    spread: f64,
}

impl Cloud {
    fn new<P: Xy>(points: &[P], weights: Option<&[f64]>) -> Result<Cloud, FitError> {
        let weighted = weigh(points, weights)?;
        let weight: f64 = weighted.iter().map(|p| p.2).sum();
        let mean_of =
            |f: &dyn Fn(&(f64, f64, f64)) -> f64| weighted.iter().map(|p| p.2 * f(p)).sum::<f64>() / weight;
        let mean = (mean_of(&|p| p.0), mean_of(&|p| p.1));
        let spread = mean_of(&|p| (p.0 - mean.0).powi(2) + (p.1 - mean.1).powi(2)).sqrt();
        if spread <= 0.0 {
            return Err(FitError::Straight);
        }
        let scaled = |p: (f64, f64, f64)| ((p.0 - mean.0) / spread, (p.1 - mean.1) / spread, p.2);
        Ok(Cloud { points: weighted.into_iter().map(scaled).collect(), weight, mean, spread })
    }

    /// Taubin's fit in the scaled frame. With the mean at zero and unit spread its constraint is the unit
    /// sphere of (2A, B, C) in A (x^2 + y^2) + B x + C y + D = 0, and D = -A.
    fn algebraic(&self) -> Result<Circle, FitError> {
        let mut sums = [[0.0; 3]; 3];
        for &(x, y, w) in &self.points {
            let row = [(x * x + y * y - 1.0) / 2.0, x, y];
            add_outer(&mut sums, row, w);
        }
        let m = sums.map(|row| row.map(|v| v / self.weight));
        if m[1][1] * m[2][2] - m[1][2] * m[1][2] <= THIN * THIN {
            return Err(FitError::Straight);
        }
        let [a2, b, c] = smallest_eigenvector(m);
        if a2.abs() * STRAIGHT <= 1.0 {
            return Err(FitError::Straight);
        }
        Ok(Circle { x: -b / a2, y: -c / a2, r: 1.0 / a2.abs() })
    }

    /// Normal equations of the distances at `circle`.
    fn normal(&self, circle: Circle) -> Normal {
        let mut normal = Normal { matrix: [[0.0; 3]; 3], right: [0.0; 3], sum: 0.0 };
        for &(x, y, w) in &self.points {
            let (dx, dy) = (x - circle.x, y - circle.y);
            let distance = dx.hypot(dy);
            if distance > 0.0 {
                let row = [dx / distance, dy / distance, 1.0];
                let residual = distance - circle.r;
                add_outer(&mut normal.matrix, row, w);
                for (sum, slope) in normal.right.iter_mut().zip(row) {
                    *sum += w * slope * residual;
                }
            }
            normal.sum += w * (distance - circle.r).powi(2);
        }
        normal
    }

    /// Whether two sums of squares differ by no more than rounding.
    fn flat(&self, a: f64, b: f64) -> bool {
        (a - b).abs() <= 1e-13 * b + 1e-28 * self.weight
    }

    fn judge(&self, circle: Circle, normal: &Normal) -> Result<CircleFit, FitError> {
        let cofactors = inverse(&normal.matrix).ok_or(FitError::Straight)?;
        Ok(CircleFit {
            circle: self.restore(circle),
            sum_of_squares: normal.sum * self.spread * self.spread,
            freedom: self.points.len() - 3,
            cofactors,
        })
    }

    fn restore(&self, c: Circle) -> Circle {
        Circle {
            x: self.mean.0 + c.x * self.spread,
            y: self.mean.1 + c.y * self.spread,
            r: c.r * self.spread,
        }
    }
}

/// Checks points and weights and leaves out those of weight zero.
fn weigh<P: Xy>(points: &[P], weights: Option<&[f64]>) -> Result<Vec<(f64, f64, f64)>, FitError> {
    if let Some(w) = weights.filter(|w| w.len() != points.len()) {
        return Err(FitError::WeightCount { points: points.len(), weights: w.len() });
    }
    let mut out = Vec::with_capacity(points.len());
    for (i, p) in points.iter().enumerate() {
        let w = weights.map_or(1.0, |w| w[i]);
        if !(finite(*p) && w.is_finite() && w >= 0.0) {
            return Err(FitError::NotFinite(i));
        }
        let (x, y) = p.xy();
        if w > 0.0 {
            out.push((x, y, w));
        }
    }
    if out.len() < 3 { Err(FitError::TooFew(out.len())) } else { Ok(out) }
}

struct Normal {
    matrix: Matrix,
    right: [f64; 3],
    sum: f64,
}

impl Normal {
    /// The damped step from `circle`, and its length.
    fn step(&self, circle: Circle, damping: f64) -> Option<(Circle, f64)> {
        let mut damped = self.matrix;
        for (i, row) in damped.iter_mut().enumerate() {
            row[i] *= 1.0 + damping;
        }
        let [x, y, r] = times(&inverse(&damped)?, self.right);
        let next = Circle { x: circle.x + x, y: circle.y + y, r: circle.r + r };
        Some((next, x.hypot(y).hypot(r)))
    }
}

fn add_outer(sums: &mut Matrix, row: [f64; 3], w: f64) {
    for i in 0..3 {
        for j in 0..3 {
            sums[i][j] += w * row[i] * row[j];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PUBLISHED: [(f64, f64); 6] =
        [(1.0, 7.0), (2.0, 6.0), (5.0, 8.0), (7.0, 7.0), (9.0, 5.0), (3.0, 7.0)];

    fn arc(from: f64, to: f64, count: u32) -> Vec<(f64, f64)> {
        (0..count)
            .map(|i| from + (to - from) * f64::from(i) / f64::from(count - 1))
            .map(|t| (300.0 + 125.0 * t.cos(), -40.0 + 125.0 * t.sin()))
            .collect()
    }

    fn assert_circle(c: Circle, (x, y, r): (f64, f64, f64), tolerance: f64) {
        let worst = (c.x - x).abs().max((c.y - y).abs()).max((c.r - r).abs());
        assert!(worst < tolerance, "{c:?} against {:?}", (x, y, r));
    }

    /// Gander, Golub and Strebel 1994, "Least-squares fitting of circles and ellipses", print the geometric
    /// fit of these points as (4.7398, 2.9835), 4.7142. The gradient-weighted one: `fixtures/outside`.
    #[test]
    fn the_published_six_points() {
        let fit = fit_circle_geometric(&PUBLISHED, None).unwrap();
        assert_circle(fit.circle, (4.739_782, 2.983_533, 4.714_226), 1e-6);
        assert!((fit.sum_of_squares - 1.227_599).abs() < 1e-6);
        assert_circle(fit_circle_algebraic(&PUBLISHED).unwrap(), (4.613_933, 2.795_209, 4.879_213), 1e-6);
    }

    #[test]
    fn exact_arcs_come_back_however_short() {
        for half in [3.1, 1.0, 0.1, 0.01] {
            let points = arc(-half, half, 41);
            // The sagitta of the arc is what carries the radius: rounding in it is amplified by its square.
            let tolerance = 1e-9 / (half * half);
            assert_circle(fit_circle_algebraic(&points).unwrap(), (300.0, -40.0, 125.0), 1e3 * tolerance);
            assert_circle(
                fit_circle_geometric(&points, None).unwrap().circle,
                (300.0, -40.0, 125.0),
                tolerance,
            );
        }
    }

    #[test]
    fn a_weight_of_zero_removes_and_a_weight_of_two_repeats() {
        let mut points = PUBLISHED.to_vec();
        points.push((40.0, 40.0));
        let without = fit_circle_geometric(&PUBLISHED, None).unwrap();
        let removed = fit_circle_geometric(&points, Some(&[1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 0.0])).unwrap();
        assert_eq!(without, removed);
        points[6] = points[0];
        let repeated = fit_circle_geometric(&points, None).unwrap();
        let doubled = fit_circle_geometric(&PUBLISHED, Some(&[2.0, 1.0, 1.0, 1.0, 1.0, 1.0])).unwrap();
        let (a, b) = (repeated.circle, doubled.circle);
        assert_circle(a, (b.x, b.y, b.r), 1e-10);
        assert_eq!((repeated.freedom, doubled.freedom), (4, 3));
    }

    /// For n points all round, the theory gives variances 2/n for x and y and 1/n for r at unit noise.
    #[test]
    fn the_covariance_of_a_full_circle_is_the_textbook_one() {
        let full = arc(0.0, std::f64::consts::TAU * 359.0 / 360.0, 360);
        let c = fit_circle_geometric(&full, None).unwrap().cofactors;
        assert!((c[0][0] - 2.0 / 360.0).abs() < 1e-9 && (c[1][1] - 2.0 / 360.0).abs() < 1e-9);
        assert!((c[2][2] - 1.0 / 360.0).abs() < 1e-9 && c[0][1].abs() < 1e-9);
    }

    #[test]
    fn three_points_fit_without_a_covariance() {
        let fit = fit_circle_geometric(&[(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0)], None).unwrap();
        assert_circle(fit.circle, (0.0, 0.0, 1.0), 1e-12);
        assert_eq!(fit.covariance(), None);
    }

    #[test]
    fn points_without_a_circle_are_told_apart() {
        let two = [(0.0, 0.0), (1.0, 0.0)];
        let line: Vec<(f64, f64)> = (0..50).map(|i| (f64::from(i) * 0.3 + 1e4, f64::from(i) * 0.1)).collect();
        let twins = [two[0], two[0], two[1], two[1], two[1]];
        assert_eq!(fit_circle_algebraic(&two), Err(FitError::TooFew(2)));
        assert_eq!(fit_circle_algebraic(&[(f64::NAN, 0.0); 4]), Err(FitError::NotFinite(0)));
        for straight in [&line[..], &twins[..], &[(5.0, 5.0); 9]] {
            assert_eq!(fit_circle_algebraic(straight), Err(FitError::Straight));
            assert_eq!(fit_circle_geometric(straight, None).unwrap_err(), FitError::Straight);
        }
        let wrong = fit_circle_geometric(&PUBLISHED, Some(&[1.0])).unwrap_err();
        assert_eq!(wrong, FitError::WeightCount { points: 6, weights: 1 });
        assert_eq!(fit_circle_geometric(&PUBLISHED, Some(&[0.0; 6])).unwrap_err(), FitError::TooFew(0));
        assert_eq!(fit_circle_geometric(&PUBLISHED, Some(&[-1.0; 6])).unwrap_err(), FitError::NotFinite(0));
    }
}
