//! The phase of one frequency vector over the field: a plane wave bent by a smooth polynomial.

/// Polynomial terms of the bend: three quadratic (tilt of the camera), four cubic (radial
/// distortion).
pub const TERMS: usize = 7;

/// The coordinates the bend is written in: centre of the frame and half its diagonal, px.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// Centre of the frame, px.
    pub centre_px: [f64; 2],
    /// Half of the diagonal, px.
    pub radius_px: f64,
}

impl Frame {
    /// The frame of a picture of this size.
    #[must_use]
    pub fn new(width_px: usize, height_px: usize) -> Self {
        let (w, h) = (width_px as f64, height_px as f64);
        Self {
            centre_px: [(w - 1.0) / 2.0, (h - 1.0) / 2.0],
            radius_px: (w.hypot(h) / 2.0).max(1.0),
        }
    }

    /// Position from the centre in half diagonals.
    #[must_use]
    pub fn unit(&self, at_px: [f64; 2]) -> [f64; 2] {
        [0, 1].map(|k| (at_px[k] - self.centre_px[k]) / self.radius_px)
    }

    /// u², uv, v², u³, u²v, uv², v³ at a position.
    #[must_use]
    pub fn terms(&self, at_px: [f64; 2]) -> [f64; TERMS] {
        let [u, v] = self.unit(at_px);
        [
            u * u,
            u * v,
            v * v,
            u * u * u,
            u * u * v,
            u * v * v,
            v * v * v,
        ]
    }

    /// Slopes of the terms along x and y, per px.
    #[must_use]
    pub fn slopes(&self, at_px: [f64; 2]) -> [[f64; TERMS]; 2] {
        let [u, v] = self.unit(at_px);
        let along_u = [2.0 * u, v, 0.0, 3.0 * u * u, 2.0 * u * v, v * v, 0.0];
        let along_v = [0.0, u, 2.0 * v, 0.0, u * u, 2.0 * u * v, 3.0 * v * v];
        [along_u, along_v].map(|slopes| slopes.map(|s| s / self.radius_px))
    }
}

/// Phase in cycles: offset + frequency · (x − centre) + bend · terms.
#[derive(Clone, Debug, PartialEq)]
pub struct Phase {
    /// Cycles at the centre of the frame.
    pub offset: f64,
    /// Cycles per px at the centre of the frame, y down.
    pub frequency: [f64; 2],
    /// Cycles per term.
    pub bend: [f64; TERMS],
}

impl Phase {
    /// An unbent wave.
    #[must_use]
    pub fn plane(frequency: [f64; 2]) -> Self {
        Self {
            offset: 0.0,
            frequency,
            bend: [0.0; TERMS],
        }
    }

    /// This wave less a multiple of another.
    #[must_use]
    pub fn less(&self, times: f64, other: &Self) -> Self {
        Self {
            offset: self.offset - times * other.offset,
            frequency: [0, 1].map(|k| self.frequency[k] - times * other.frequency[k]),
            bend: std::array::from_fn(|t| self.bend[t] - times * other.bend[t]),
        }
    }

    /// Cycles at a position.
    #[must_use]
    pub fn cycles(&self, frame: &Frame, at_px: [f64; 2]) -> f64 {
        let terms = frame.terms(at_px);
        self.offset
            + (0..2)
                .map(|k| self.frequency[k] * (at_px[k] - frame.centre_px[k]))
                .sum::<f64>()
            + self.bend.iter().zip(terms).map(|(b, t)| b * t).sum::<f64>()
    }

    /// Local frequency, cycles per px, y down.
    #[must_use]
    pub fn local_frequency(&self, frame: &Frame, at_px: [f64; 2]) -> [f64; 2] {
        let slopes = frame.slopes(at_px);
        [0, 1].map(|k| {
            self.frequency[k]
                + self
                    .bend
                    .iter()
                    .zip(slopes[k])
                    .map(|(b, s)| b * s)
                    .sum::<f64>()
        })
    }
}

/// Displacement of the paper under a flat grid, shared by all inks of a photograph: per axis
/// the polynomial's coefficients in px.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Warp(pub [[f64; TERMS]; 2]);

impl Warp {
    /// A flat sheet seen squarely.
    pub const FLAT: Self = Self([[0.0; TERMS]; 2]);

    /// The bend it gives to a wave.
    #[must_use]
    pub fn bend(&self, frequency: [f64; 2]) -> [f64; TERMS] {
        std::array::from_fn(|t| frequency[0] * self.0[0][t] + frequency[1] * self.0[1][t])
    }
}

/// Cycles folded into [−½, ½).
#[must_use]
pub fn wrapped(cycles: f64) -> f64 {
    cycles - (cycles + 0.5).floor()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn local_frequency_is_the_slope_of_the_phase() {
        let frame = Frame::new(641, 377);
        let phase = Phase {
            offset: 0.3,
            frequency: [0.08, -0.05],
            bend: [0.9, -1.4, 0.3, 2.0, -0.7, 0.2, 1.1],
        };
        let at = [101.0, 302.0];
        let slope = |dx: f64, dy: f64| {
            phase.cycles(&frame, [at[0] + dx, at[1] + dy])
                - phase.cycles(&frame, [at[0] - dx, at[1] - dy])
        };
        let local = phase.local_frequency(&frame, at);
        assert!((local[0] - slope(0.5, 0.0)).abs() < 1e-6);
        assert!((local[1] - slope(0.0, 0.5)).abs() < 1e-6);
    }

    #[test]
    fn wrapped_stays_within_half_a_cycle() {
        for (cycles, expected) in [(0.2, 0.2), (0.7, -0.3), (-3.6, 0.4), (0.5, -0.5)] {
            assert!((wrapped(cycles) - expected).abs() < 1e-12);
        }
    }
}
