//! The shape of a screen's cell.

use super::InkScreen;

/// Skew up to which a cell passes for a square seen aslant: a camera tilted by 18° shortens one way by a twentieth. Screens of
/// other people's simulators reach 0.003, a real letterpress block 0.019, tints of real cards laid piece by piece 0.023.
const SQUARE: f64 = 0.05;

impl InkScreen {
    /// How far the cell of a screen of dots is from a square, as a share of its side: one of its frequency vectors against
    /// the other turned by a right angle. Printing screens are square by their making; lines that a hand crosses seldom lie
    /// at one distance and at a right angle. None for a screen of lines.
    #[must_use]
    pub fn skew(&self) -> Option<f64> {
        let [[ax, ay], [bx, by]] = self.vectors_per_px[..] else {
            return None;
        };
        let mean = 0.5 * (ax.hypot(ay) + bx.hypot(by));
        let off = [1.0, -1.0].map(|way| (ax - way * by).hypot(ay + way * bx) / mean);
        Some(off[0].min(off[1]))
    }

    /// Whether it is of dots in a square cell, be it seen a little aslant, as printing screens are.
    #[must_use]
    pub fn is_square(&self) -> bool {
        self.skew().is_some_and(|skew| skew <= SQUARE)
    }
}

#[cfg(test)]
mod tests {
    use crate::ink::Ink;
    use crate::measure::lattice::rosette::tests::screen;
    use approx::assert_abs_diff_eq;

    #[test]
    fn a_square_cell_has_no_skew_however_it_is_turned() {
        for angle in [0.0, 23.0, 45.0, 71.5, 100.0] {
            let square = screen(Ink::K, angle, 2);
            assert_abs_diff_eq!(square.skew().unwrap(), 0.0, epsilon = 1e-12);
            assert!(square.is_square());
        }
    }

    #[test]
    fn another_length_or_angle_is_told() {
        let mut longer = screen(Ink::K, 30.0, 2);
        longer.vectors_per_px[1] = longer.vectors_per_px[1].map(|f| 1.2 * f);
        // A fifth longer than the one, a tenth than the mean of both.
        assert_abs_diff_eq!(longer.skew().unwrap(), 0.2 / 1.1, epsilon = 1e-12);
        let mut turned = screen(Ink::K, 30.0, 2);
        let [x, y] = turned.vectors_per_px[1];
        let (sin, cos) = 10f64.to_radians().sin_cos();
        turned.vectors_per_px[1] = [cos * x - sin * y, sin * x + cos * y];
        // A chord of 10° on a circle of radius 1.
        assert_abs_diff_eq!(
            turned.skew().unwrap(),
            2.0 * 5f64.to_radians().sin(),
            epsilon = 1e-12
        );
        assert!(!longer.is_square() && !turned.is_square());
        assert_eq!(screen(Ink::K, 30.0, 1).skew(), None);
    }
}
