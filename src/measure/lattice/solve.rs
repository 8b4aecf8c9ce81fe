//! Weighted linear least squares for small, dense systems.

/// Normal equations of a weighted least-squares problem, gathered row by row.
#[derive(Clone, Debug)]
pub struct Normal {
    size: usize,
    matrix: Vec<f64>,
    right: Vec<f64>,
}

impl Normal {
    /// An empty problem of `size` unknowns.
    #[must_use]
    pub fn new(size: usize) -> Self {
        Self {
            size,
            matrix: vec![0.0; size * size],
            right: vec![0.0; size],
        }
    }

    /// Adds the equation `row · x = value` with a weight.
    pub fn add(&mut self, row: &[f64], value: f64, weight: f64) {
        for (i, &a) in row.iter().enumerate() {
            if a == 0.0 {
                continue;
            }
            self.right[i] += weight * a * value;
            for (j, &b) in row.iter().enumerate().skip(i) {
                self.matrix[i * self.size + j] += weight * a * b;
            }
        }
    }

    /// Adds a pull of every unknown towards zero, as a share of the mean diagonal: keeps a
    /// problem solvable that the data do not determine in every direction.
    pub fn add_ridge(&mut self, from: usize, share: f64) {
        let mean = (0..self.size)
            .map(|i| self.matrix[i * self.size + i])
            .sum::<f64>()
            / self.size.max(1) as f64;
        for i in from..self.size {
            self.matrix[i * self.size + i] += share * mean;
        }
    }

    /// The solution and the inverse of the normal matrix (row-major), or `None` where the
    /// equations do not determine it.
    #[must_use]
    pub fn solve(&self) -> Option<(Vec<f64>, Vec<f64>)> {
        let lower = self.cholesky()?;
        let solution = self.substitute(&lower, &self.right);
        let mut inverse = vec![0.0; self.size * self.size];
        for column in 0..self.size {
            let mut unit = vec![0.0; self.size];
            unit[column] = 1.0;
            for (row, value) in self.substitute(&lower, &unit).into_iter().enumerate() {
                inverse[row * self.size + column] = value;
            }
        }
        solution
            .iter()
            .all(|v| v.is_finite())
            .then_some((solution, inverse))
    }

    fn cholesky(&self) -> Option<Vec<f64>> {
        let n = self.size;
        let mut lower = vec![0.0; n * n];
        for i in 0..n {
            for j in 0..=i {
                let dot: f64 = (0..j).map(|k| lower[i * n + k] * lower[j * n + k]).sum();
                let rest = self.matrix[j * n + i] - dot;
                if i == j {
                    // A pivot lost to rounding means the data do not determine this unknown.
                    if rest <= self.matrix[i * n + i].abs() * 1e-12 || !rest.is_finite() {
                        return None;
                    }
                    lower[i * n + i] = rest.sqrt();
                } else {
                    lower[i * n + j] = rest / lower[j * n + j];
                }
            }
        }
        Some(lower)
    }

    fn substitute(&self, lower: &[f64], right: &[f64]) -> Vec<f64> {
        let n = self.size;
        let mut x = right.to_vec();
        for i in 0..n {
            let dot: f64 = (0..i).map(|k| lower[i * n + k] * x[k]).sum();
            x[i] = (x[i] - dot) / lower[i * n + i];
        }
        for i in (0..n).rev() {
            let dot: f64 = (i + 1..n).map(|k| lower[k * n + i] * x[k]).sum();
            x[i] = (x[i] - dot) / lower[i * n + i];
        }
        x
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_weighted_line_is_recovered() {
        let mut normal = Normal::new(2);
        for (i, weight) in [(0, 1.0), (1, 5.0), (2, 0.3), (7, 2.0)] {
            let x = f64::from(i);
            normal.add(&[1.0, x], 3.0 - 0.5 * x, weight);
        }
        let (solution, _) = normal.solve().unwrap();
        assert!((solution[0] - 3.0).abs() < 1e-12 && (solution[1] + 0.5).abs() < 1e-12);
    }

    #[test]
    fn an_undetermined_problem_is_refused() {
        let mut normal = Normal::new(2);
        normal.add(&[1.0, 2.0], 1.0, 1.0);
        assert!(normal.solve().is_none());
    }
}
