//! Three-by-three symmetric matrices: the little linear algebra that circle fits need.

/// A symmetric matrix of three rows.
pub(super) type Matrix = [[f64; 3]; 3];

/// Eigenvector of unit length that belongs to the smallest eigenvalue, by Jacobi's rotations (1846).
pub(super) fn smallest_eigenvector(mut m: Matrix) -> [f64; 3] {
    let mut vectors = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    // Each sweep squares the size of what is left beside the diagonal; ten are more than f64 can hold.
    for _ in 0..10 {
        for (p, q) in [(0, 1), (0, 2), (1, 2)] {
            rotate(&mut m, &mut vectors, p, q);
        }
    }
    let least = (1..3).fold(0, |best, i| if m[i][i] < m[best][best] { i } else { best });
    [vectors[0][least], vectors[1][least], vectors[2][least]]
}

/// Turns the plane of axes p and q so that their mixed entry vanishes.
fn rotate(m: &mut Matrix, vectors: &mut Matrix, p: usize, q: usize) {
    if m[p][q] == 0.0 {
        return;
    }
    let theta = (m[q][q] - m[p][p]) / (2.0 * m[p][q]);
    let t = theta.signum() / (theta.abs() + theta.hypot(1.0));
    let c = 1.0 / t.hypot(1.0);
    let s = t * c;
    let turn = |rows: &mut Matrix| {
        for row in rows {
            (row[p], row[q]) = (c * row[p] - s * row[q], s * row[p] + c * row[q]);
        }
    };
    turn(m);
    *m = transposed(m);
    turn(m);
    turn(vectors);
}

fn transposed(m: &Matrix) -> Matrix {
    [[m[0][0], m[1][0], m[2][0]], [m[0][1], m[1][1], m[2][1]], [m[0][2], m[1][2], m[2][2]]]
}

/// Inverse of a positive definite matrix by Cholesky's factors; none if it is not positive definite.
pub(super) fn inverse(m: &Matrix) -> Option<Matrix> {
    let mut l = [[0.0; 3]; 3];
    for i in 0..3 {
        for j in 0..=i {
            let rest = m[i][j] - (0..j).map(|k| l[i][k] * l[j][k]).sum::<f64>();
            if i != j {
                l[i][j] = rest / l[j][j];
            } else if rest > 0.0 {
                l[i][i] = rest.sqrt();
            } else {
                return None;
            }
        }
    }
    let mut out = [[0.0; 3]; 3];
    for column in 0..3 {
        let mut unit = [0.0; 3];
        unit[column] = 1.0;
        let x = solve(&l, unit);
        for row in 0..3 {
            out[row][column] = x[row];
        }
    }
    Some(out)
}

/// Solves L L' x = b.
fn solve(l: &Matrix, b: [f64; 3]) -> [f64; 3] {
    let mut x = b;
    for i in 0..3 {
        x[i] = (x[i] - (0..i).map(|k| l[i][k] * x[k]).sum::<f64>()) / l[i][i];
    }
    for i in (0..3).rev() {
        x[i] = (x[i] - (i + 1..3).map(|k| l[k][i] * x[k]).sum::<f64>()) / l[i][i];
    }
    x
}

/// Matrix times vector.
pub(super) fn times(m: &Matrix, v: [f64; 3]) -> [f64; 3] {
    m.map(|row| row[0] * v[0] + row[1] * v[1] + row[2] * v[2])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_inverse_undoes_its_matrix_and_needs_a_positive_one() {
        let m = [[4.0, 1.0, 0.5], [1.0, 3.0, -0.2], [0.5, -0.2, 2.0]];
        let back = times(&inverse(&m).unwrap(), times(&m, [1.0, -2.0, 3.0]));
        assert!(back.iter().zip([1.0, -2.0, 3.0]).all(|(a, b)| (a - b).abs() < 1e-14));
        assert_eq!(inverse(&[[1.0, 2.0, 0.0], [2.0, 1.0, 0.0], [0.0, 0.0, 1.0]]), None);
    }

    /// Eigenvalues 2 - sqrt 2, 2, 2 + sqrt 2; the vector of the least is (1, sqrt 2, 1) / 2.
    #[test]
    fn the_least_eigenvector_of_a_known_matrix() {
        let v = smallest_eigenvector([[2.0, -1.0, 0.0], [-1.0, 2.0, -1.0], [0.0, -1.0, 2.0]]);
        let sign = v[0].signum();
        let known = [0.5, 0.5_f64.sqrt(), 0.5];
        assert!(v.iter().zip(known).all(|(a, b)| (a * sign - b).abs() < 1e-14), "{v:?}");
    }
}
