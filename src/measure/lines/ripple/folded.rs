//! Waves that are not on the photograph: too fine for the halved resolution, they come out there as coarse ones.
//!
//! Means over 2 × 2 samples leave a fifth to a third of a wave of 2.1 to 2.6 samples, folded to one about five times as
//! long: a ruling of 9 px came out as one of 57 px besides, across the first.

use super::{Ripple, WINDOW};
use crate::plane::Plane;
use rustfft::num_complex::Complex32;
use std::f64::consts::TAU;

/// Halvings that a wave is followed back through. What is folded earlier than that is a sixth or less of what was there.
const LAYERS_BACK: usize = 2;
/// Least share of its amplitude that a wave must have before those halvings: one that is there has all of it, of a folded
/// one nothing is left but what leaks from others.
const LEAST_SHARE: f64 = 0.25;

/// The resolution in which waves of a layer are looked for again.
pub(super) struct Finer<'a> {
    plane: &'a Plane,
    valid: &'a Plane,
    /// Pixels of the photograph per sample.
    step_px: f64,
    /// Raised cosine over the side of a window.
    taper: Vec<f32>,
}

impl<'a> Finer<'a> {
    /// The one for the last of these, each with half the resolution of the one before; none for the first.
    pub(super) fn above(scales: &'a [(Plane, Plane)]) -> Option<Self> {
        let back = LAYERS_BACK.min(scales.len() - 1);
        let at = scales.len() - 1 - back;
        let side = WINDOW << back;
        let hann = |n: usize| (0.5 - 0.5 * (TAU * (n as f64 + 0.5) / side as f64).cos()) as f32;
        (back > 0).then(|| Self {
            plane: &scales[at].0,
            valid: &scales[at].1,
            step_px: (1usize << at) as f64,
            taper: (0..side).map(hann).collect(),
        })
    }

    /// Whether a wave found in a window is there in this resolution, too.
    pub(super) fn shows(&self, ripple: &Ripple) -> bool {
        let side = self.taper.len();
        let corner = |centre_px: f64| {
            let centre = (centre_px + 0.5) / self.step_px;
            (centre - side as f64 / 2.0).round().max(0.0) as usize
        };
        let (y, x) = (corner(ripple.y), corner(ripple.x));
        if y + side > self.plane.nrows() || x + side > self.plane.ncols() {
            return true;
        }
        let area = ndarray::s![y..y + side, x..x + side];
        let (plane, valid) = (self.plane.slice(area), self.valid.slice(area));
        let held: f32 = valid.sum();
        let mean = (&plane * &valid).sum() / held.max(f32::MIN_POSITIVE);
        let [across, down] = [ripple.fx, ripple.fy].map(|f| self.wave(f * self.step_px));
        let mut wave = Complex32::default();
        let mut weight = 0.0;
        let rows = plane.outer_iter().zip(valid.outer_iter());
        for ((row, valid), (turn, taper)) in rows.zip(down.iter().zip(&self.taper)) {
            let mut of_row = Complex32::default();
            let mut of_valid = 0.0;
            for (((density, valid), turn), taper) in
                row.iter().zip(valid).zip(&across).zip(&self.taper)
            {
                of_row += turn * ((density - mean) * valid);
                of_valid += valid * taper;
            }
            wave += of_row * turn;
            weight += of_valid * taper;
        }
        let amplitude = 2.0 * f64::from(wave.norm() / weight.max(f32::MIN_POSITIVE));
        amplitude >= LEAST_SHARE * ripple.amplitude
    }

    /// The taper times a wave of so many cycles per sample.
    fn wave(&self, cycles: f64) -> Vec<Complex32> {
        let turn = |(i, taper): (usize, &f32)| {
            let (sin, cos) = (-TAU * cycles * i as f64).sin_cos();
            Complex32::new(cos as f32, sin as f32) * *taper
        };
        self.taper.iter().enumerate().map(turn).collect()
    }
}
