//! Three by three.

/// Rows.
pub(super) type Matrix = [[f64; 3]; 3];

/// The inverse by minors; nothing where the determinant is not above `least_det` in size.
pub(super) fn inverse(m: &Matrix, least_det: f64) -> Option<Matrix> {
    let minor = |r: usize, c: usize| {
        let (r1, r2, c1, c2) = ((r + 1) % 3, (r + 2) % 3, (c + 1) % 3, (c + 2) % 3);
        m[r1][c1] * m[r2][c2] - m[r1][c2] * m[r2][c1]
    };
    let det: f64 = (0..3).map(|c| m[0][c] * minor(0, c)).sum();
    (det.is_finite() && det.abs() > least_det).then(|| [0, 1, 2].map(|r| [0, 1, 2].map(|c| minor(c, r) / det)))
}

/// Rows as columns.
pub(super) fn transposed(m: &Matrix) -> Matrix {
    [0, 1, 2].map(|r| [0, 1, 2].map(|c| m[c][r]))
}

/// The product.
pub(super) fn product(a: &Matrix, b: &Matrix) -> Matrix {
    [0, 1, 2].map(|r| [0, 1, 2].map(|c| (0..3).map(|k| a[r][k] * b[k][c]).sum()))
}
