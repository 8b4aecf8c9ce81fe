//! A straight line through points, by least squares.

/// The line `y = at_zero + slope · x`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LineFit {
    /// Rise of y per x.
    pub slope: f64,
    /// y at x = 0.
    pub at_zero: f64,
    /// Standard error of the slope, every point taken for an independent one.
    pub error: f64,
    /// Standard deviation of x.
    pub spread: f64,
}

/// The line through points (x, y); none for fewer than three or no spread in x.
#[must_use]
pub fn line(points: &[(f64, f64)]) -> Option<LineFit> {
    let n = points.len() as f64;
    if points.len() < 3 {
        return None;
    }
    let (mx, my) = points
        .iter()
        .fold((0.0, 0.0), |m, p| (m.0 + p.0 / n, m.1 + p.1 / n));
    let xx: f64 = points.iter().map(|p| (p.0 - mx) * (p.0 - mx)).sum();
    let xy: f64 = points.iter().map(|p| (p.0 - mx) * (p.1 - my)).sum();
    if xx <= 1e-12 {
        return None;
    }
    let slope = xy / xx;
    let rest: f64 = points
        .iter()
        .map(|p| (p.1 - my - slope * (p.0 - mx)).powi(2))
        .sum();
    Some(LineFit {
        slope,
        at_zero: my - slope * mx,
        error: (rest / (n - 2.0) / xx).sqrt(),
        spread: (xx / n).sqrt(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_has_its_slope_height_and_error() {
        let points = [(0.0, 1.0), (1.0, 3.0), (2.0, 5.0), (3.0, 7.0)];
        let found = line(&points).unwrap();
        assert!((found.slope - 2.0).abs() < 1e-12 && (found.at_zero - 1.0).abs() < 1e-12);
        assert!(found.error < 1e-9);
        assert!(line(&[(1.0, 1.0); 5]).is_none());
    }
}
