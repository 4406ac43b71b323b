//! Small dense linear algebra and order statistics.

/// Solves a x = b for a symmetric positive definite `a` (n x n, row by row, of which the lower half is read; overwritten);
/// none if it is not.
pub fn cholesky(a: &mut [f64], b: &[f64]) -> Option<Vec<f64>> {
    let n = b.len();
    for i in 0..n {
        for j in 0..=i {
            let mut sum = a[i * n + j];
            for k in 0..j {
                sum -= a[i * n + k] * a[j * n + k];
            }
            if i == j {
                if sum.is_nan() || sum <= 0.0 {
                    return None;
                }
                a[i * n + i] = sum.sqrt();
            } else {
                a[i * n + j] = sum / a[j * n + j];
            }
        }
    }
    let mut x = b.to_vec();
    for i in 0..n {
        for k in 0..i {
            x[i] -= a[i * n + k] * x[k];
        }
        x[i] /= a[i * n + i];
    }
    for i in (0..n).rev() {
        for k in i + 1..n {
            x[i] -= a[k * n + i] * x[k];
        }
        x[i] /= a[i * n + i];
    }
    Some(x)
}

/// The inverse of a 3 x 3 matrix; none if it is singular.
pub fn inverse3(m: &[[f64; 3]; 3]) -> Option<[[f64; 3]; 3]> {
    let c = |a: usize, b: usize, x: usize, y: usize| m[a][x] * m[b][y] - m[a][y] * m[b][x];
    let cofactors = [
        [c(1, 2, 1, 2), -c(1, 2, 0, 2), c(1, 2, 0, 1)],
        [-c(0, 2, 1, 2), c(0, 2, 0, 2), -c(0, 2, 0, 1)],
        [c(0, 1, 1, 2), -c(0, 1, 0, 2), c(0, 1, 0, 1)],
    ];
    let det: f64 = (0..3).map(|k| m[0][k] * cofactors[0][k]).sum();
    let size = m[0][0] * m[1][1] * m[2][2];
    (det.abs() > 1e-12 * size.abs())
        .then(|| std::array::from_fn(|u| std::array::from_fn(|v| cofactors[v][u] / det)))
}

/// The median; reorders its input. 0 for none.
pub fn median(values: &mut [f64]) -> f64 {
    quantile(values, 0.5)
}

/// The value below which the share `q` (0 to 1) lies; reorders its input. 0 for none.
pub fn quantile(values: &mut [f64], q: f64) -> f64 {
    if values.is_empty() {
        return 0.0;
    }
    let k = ((values.len() - 1) as f64 * q).round() as usize;
    *values.select_nth_unstable_by(k, f64::total_cmp).1
}

/// The value below which the share `q` (0 to 1) lies; reorders its input. 0 for none.
pub fn quantile32(values: &mut [f32], q: f64) -> f32 {
    if values.is_empty() {
        return 0.0;
    }
    let k = ((values.len() - 1) as f64 * q).round() as usize;
    *values.select_nth_unstable_by(k, f32::total_cmp).1
}

/// Robust standard deviation about zero: 1.4826 times the median of the absolute values.
pub fn spread32(values: &[f32]) -> f32 {
    if values.is_empty() {
        return 0.0;
    }
    // Without their sign floats are in the order of their bits, which are quicker to compare.
    let mut bits: Vec<u32> = values.iter().map(|v| v.abs().to_bits()).collect();
    let k = ((bits.len() - 1) as f64 * 0.5).round() as usize;
    1.4826 * f32::from_bits(*bits.select_nth_unstable(k).1)
}
