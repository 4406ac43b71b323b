//! Small symmetric matrices: the inverse and the determinant that the fits need.

/// Inverse of a symmetric positive definite matrix by Gauss and Jordan, and the logarithm of its determinant;
/// none if it is not positive definite.
pub(crate) fn inverse(matrix: &[Vec<f64>]) -> Option<(Vec<Vec<f64>>, f64)> {
    let n = matrix.len();
    let mut left = matrix.to_vec();
    let mut right: Vec<Vec<f64>> =
        (0..n).map(|i| (0..n).map(|j| f64::from(u8::from(i == j))).collect()).collect();
    let mut ln_det = 0.0;
    for k in 0..n {
        let pivot = left[k][k];
        if !(pivot > 1e-14 * matrix[k][k].abs() && pivot.is_finite()) {
            return None;
        }
        ln_det += pivot.ln();
        for j in 0..n {
            left[k][j] /= pivot;
            right[k][j] /= pivot;
        }
        for i in (0..n).filter(|i| *i != k) {
            let factor = left[i][k];
            for j in 0..n {
                left[i][j] -= factor * left[k][j];
                right[i][j] -= factor * right[k][j];
            }
        }
    }
    Some((right, ln_det))
}

/// Matrix times vector.
pub(crate) fn times(matrix: &[Vec<f64>], vector: &[f64]) -> Vec<f64> {
    matrix.iter().map(|row| dot(row, vector)).collect()
}

/// Inner product.
pub(crate) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_inverse_undoes_its_matrix() {
        let m = vec![vec![4.0, 1.0, 0.5], vec![1.0, 3.0, -0.2], vec![0.5, -0.2, 2.0]];
        let (inverse, ln_det) = inverse(&m).unwrap();
        for (i, row) in m.iter().enumerate() {
            let unit = times(&inverse, row);
            assert!(unit.iter().enumerate().all(|(j, v)| (v - f64::from(u8::from(i == j))).abs() < 1e-12));
        }
        // 4 (3 * 2 - 0.04) - 1 (2 + 0.1) + 0.5 (-0.2 - 1.5), by hand.
        assert!((ln_det.exp() - (4.0 * 5.96 - 2.1 - 0.85)).abs() < 1e-12);
        assert!(super::inverse(&[vec![1.0, 1.0], vec![1.0, 1.0]]).is_none());
    }
}
