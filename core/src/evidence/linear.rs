//! Small systems of linear equations.

/// A symmetric matrix with positive pivots, as its lower triangle.
#[derive(Debug, Clone)]
pub(crate) struct Cholesky {
    size: usize,
    lower: Vec<f64>,
}

impl Cholesky {
    /// Factors a symmetric matrix given row by row; nothing when it is not positive definite.
    pub(crate) fn new(matrix: &[f64], size: usize) -> Option<Self> {
        let mut lower = matrix.to_vec();
        for j in 0..size {
            for i in j..size {
                let dot: f64 = (0..j).map(|k| lower[i * size + k] * lower[j * size + k]).sum();
                let rest = lower[i * size + j] - dot;
                if i > j {
                    lower[i * size + j] = rest / lower[j * size + j];
                } else if rest > matrix[j * size + j].abs() * 1e-13 && rest.is_finite() {
                    lower[j * size + j] = rest.sqrt();
                } else {
                    return None;
                }
            }
        }
        Some(Self { size, lower })
    }

    /// Solves matrix · x = right.
    pub(crate) fn solve(&self, right: &[f64]) -> Vec<f64> {
        self.backward(&self.forward(right))
    }

    /// Solves the transposed lower triangle · x = right: of standard normal numbers, some with the inverse as covariance.
    pub(crate) fn backward(&self, right: &[f64]) -> Vec<f64> {
        let (size, lower) = (self.size, &self.lower);
        let mut x = right.to_vec();
        for i in (0..size).rev() {
            let dot: f64 = (i + 1..size).map(|k| lower[k * size + i] * x[k]).sum();
            x[i] = (x[i] - dot) / lower[i * size + i];
        }
        x
    }

    /// Solves lower · x = right.
    pub(crate) fn forward(&self, right: &[f64]) -> Vec<f64> {
        let (size, lower) = (self.size, &self.lower);
        let mut x = right.to_vec();
        for i in 0..size {
            let dot: f64 = (0..i).map(|k| lower[i * size + k] * x[k]).sum();
            x[i] = (x[i] - dot) / lower[i * size + i];
        }
        x
    }

    /// The lower triangle row by row, zeros above it.
    pub(crate) fn rows(&self) -> Vec<f64> {
        let size = self.size;
        let entry = |at: usize| if at % size > at / size { 0.0 } else { self.lower[at] };
        (0..size * size).map(entry).collect()
    }

    /// Natural logarithm of the determinant.
    pub(crate) fn ln_determinant(&self) -> f64 {
        (0..self.size).map(|i| 2.0 * self.lower[i * self.size + i].ln()).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::Cholesky;

    #[test]
    fn a_known_system() {
        let factored = Cholesky::new(&[4.0, 2.0, 2.0, 3.0], 2).expect("positive definite");
        let x = factored.solve(&[10.0, 9.0]);
        assert!((x[0] - 1.5).abs() < 1e-14 && (x[1] - 2.0).abs() < 1e-14);
        assert!((factored.ln_determinant() - 8_f64.ln()).abs() < 1e-14);
        assert!(Cholesky::new(&[1.0, 2.0, 2.0, 4.0], 2).is_none());
        assert!(Cholesky::new(&[f64::NAN], 1).is_none());
    }
}
