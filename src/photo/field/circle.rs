//! Circles through and near points.

/// A circle in px.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Circle {
    pub cx: f64,
    pub cy: f64,
    pub radius: f64,
}

impl Circle {
    /// The circle through three points `(x, y)`; `None` when they are (nearly) in line.
    pub fn through([a, b, c]: [(f64, f64); 3]) -> Option<Self> {
        let (bx, by) = (b.0 - a.0, b.1 - a.1);
        let (cx, cy) = (c.0 - a.0, c.1 - a.1);
        let twice_area = bx * cy - by * cx;
        if twice_area.abs() < 1e-6 {
            return None;
        }
        let (b2, c2) = (bx * bx + by * by, cx * cx + cy * cy);
        let ux = (cy * b2 - by * c2) / (2.0 * twice_area);
        let uy = (bx * c2 - cx * b2) / (2.0 * twice_area);
        Some(Self {
            cx: a.0 + ux,
            cy: a.1 + uy,
            radius: ux.hypot(uy),
        })
    }

    /// Distance of a point from the rim, px, positive outside.
    pub fn distance(&self, p: (f64, f64)) -> f64 {
        (p.0 - self.cx).hypot(p.1 - self.cy) - self.radius
    }

    /// The rim's point at an angle (radians, from +x towards +y).
    pub fn at(&self, angle: f64) -> (f64, f64) {
        (
            self.cx + self.radius * angle.cos(),
            self.cy + self.radius * angle.sin(),
        )
    }

    /// Least squares of the distances (Gauss–Newton from `start`); `None` when undetermined.
    pub fn fit(points: &[(f64, f64)], start: Self) -> Option<Self> {
        let weighted: Vec<_> = points.iter().map(|p| (*p, 1.0)).collect();
        Self::fit_weighted(&weighted, start).map(|(circle, _)| circle)
    }

    /// Weighted least squares of the distances, and the variance of the radius for residuals
    /// of unit variance.
    pub fn fit_weighted(points: &[((f64, f64), f64)], start: Self) -> Option<(Self, f64)> {
        let mut circle = start;
        let mut radius_variance = f64::NAN;
        for _ in 0..6 {
            let (normal, right) = normal_equations(points, &circle);
            let inverse = inverse_symmetric(&normal)?;
            let step: [f64; 3] =
                std::array::from_fn(|i| (0..3).map(|j| inverse[i][j] * right[j]).sum());
            circle.cx += step[0];
            circle.cy += step[1];
            circle.radius += step[2];
            radius_variance = inverse[2][2];
        }
        let sound = circle.cx.is_finite() && circle.cy.is_finite() && circle.radius > 0.0;
        sound.then_some((circle, radius_variance))
    }
}

fn normal_equations(points: &[((f64, f64), f64)], circle: &Circle) -> ([[f64; 3]; 3], [f64; 3]) {
    let mut normal = [[0.0; 3]; 3];
    let mut right = [0.0; 3];
    for ((x, y), weight) in points {
        let (dx, dy) = (x - circle.cx, y - circle.cy);
        let r = dx.hypot(dy).max(1e-9);
        let slope = [dx / r, dy / r, 1.0];
        for i in 0..3 {
            right[i] += weight * slope[i] * (r - circle.radius);
            for j in 0..3 {
                normal[i][j] += weight * slope[i] * slope[j];
            }
        }
    }
    (normal, right)
}

/// Inverse of a symmetric 3 × 3 matrix by cofactors; `None` when (nearly) singular.
fn inverse_symmetric(m: &[[f64; 3]; 3]) -> Option<[[f64; 3]; 3]> {
    let cofactor = |i: usize, j: usize| {
        let (a, b) = ((i + 1) % 3, (i + 2) % 3);
        let (c, d) = ((j + 1) % 3, (j + 2) % 3);
        m[a][c] * m[b][d] - m[a][d] * m[b][c]
    };
    let determinant: f64 = (0..3).map(|j| m[0][j] * cofactor(0, j)).sum();
    let size: f64 = m[0][0].abs().max(m[1][1].abs()).max(m[2][2].abs());
    if !determinant.is_finite() || determinant.abs() <= 1e-12 * size.powi(3) {
        return None;
    }
    Some(std::array::from_fn(|i| {
        std::array::from_fn(|j| cofactor(j, i) / determinant)
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_points_and_a_fit_give_the_drawn_circle() {
        let drawn = Circle {
            cx: 13.0,
            cy: -4.0,
            radius: 25.0,
        };
        let through =
            Circle::through([drawn.at(0.1), drawn.at(1.9), drawn.at(4.0)]).expect("a circle");
        assert!((through.radius - 25.0).abs() < 1e-9);
        let points: Vec<_> = (0..40).map(|i| drawn.at(0.05 * f64::from(i))).collect();
        let start = Circle {
            cx: 10.0,
            cy: 0.0,
            radius: 20.0,
        };
        let fitted = Circle::fit(&points, start).expect("a circle");
        assert!((fitted.cx - 13.0).abs() < 1e-6 && (fitted.radius - 25.0).abs() < 1e-6);
    }

    #[test]
    fn points_in_line_are_no_circle() {
        assert_eq!(Circle::through([(0.0, 0.0), (1.0, 1.0), (2.0, 2.0)]), None);
        let line: Vec<_> = (0..9).map(|i| (f64::from(i), 0.0)).collect();
        let start = Circle {
            cx: 4.0,
            cy: 0.0,
            radius: 3.0,
        };
        assert!(Circle::fit(&line, start).is_none_or(|c| c.radius.is_finite()));
    }
}
