//! Means of a bent wave's frequency over the usable field.

use super::phase::{Frame, Phase, TERMS};
use super::sheet::Sheet;
use crate::plane::{Mask, angle_deg};

/// Places per axis at which the frequency is taken; the bend is cubic, so more add nothing.
const PLACES: usize = 24;

/// Mean frequency of one wave over the usable field.
#[derive(Clone, Copy, Debug)]
pub struct FieldMean {
    /// Cycles per px, mean of the local magnitudes.
    pub magnitude: f64,
    /// Degrees counter-clockwise as seen, [0, 180).
    pub angle_deg: f64,
    /// Mean vector, cycles per px.
    pub vector: [f64; 2],
    /// Standard error of the magnitude.
    pub magnitude_se: f64,
    /// Standard error of the angle, degrees.
    pub angle_se_deg: f64,
}

/// Places spread over the usable field, px.
#[must_use]
pub fn places(usable: &Mask) -> Vec<[f64; 2]> {
    let (height, width) = usable.dim();
    let mut out = Vec::new();
    for j in 0..PLACES {
        for i in 0..PLACES {
            let at =
                |k: usize, length: usize| (k as f64 + 0.5) / PLACES as f64 * length as f64 - 0.5;
            let (x, y) = (at(i, width), at(j, height));
            if usable[[
                (y.round() as usize).min(height - 1),
                (x.round() as usize).min(width - 1),
            ]] {
                out.push([x, y]);
            }
        }
    }
    out
}

/// The mean of a wave over the places; `frequency_se` is the standard error of each component
/// of its own frequency, cycles per px.
#[must_use]
pub fn mean(
    frame: &Frame,
    places: &[[f64; 2]],
    phase: &Phase,
    sheet: &Sheet,
    frequency_se: f64,
) -> FieldMean {
    let count = places.len().max(1) as f64;
    let base = phase.frequency;
    let base_angle = angle_deg(base[0], base[1]);
    let (mut magnitude, mut turn, mut vector) = (0.0, 0.0, [0.0; 2]);
    let mut along = [0.0; 2 * TERMS];
    let mut across = [0.0; 2 * TERMS];
    let length = base[0].hypot(base[1]);
    let toward = base.map(|f| f / length);
    for &at in places {
        let local = phase.local_frequency(frame, at);
        magnitude += local[0].hypot(local[1]) / count;
        let off = angle_deg(local[0], local[1]) - base_angle;
        turn += ((off + 180.0).rem_euclid(360.0) - 180.0) / count;
        let slopes = frame.slopes(at);
        for k in 0..2 {
            vector[k] += local[k] / count;
            for t in 0..TERMS {
                // ∂g/∂W: the slope of the term, times the frequency along that axis.
                let parallel = toward[0] * slopes[0][t] + toward[1] * slopes[1][t];
                let normal = -toward[1] * slopes[0][t] + toward[0] * slopes[1][t];
                along[k * TERMS + t] += base[k] * parallel / count;
                across[k * TERMS + t] += base[k] * normal / count;
            }
        }
    }
    let spread = |g: &[f64]| sheet.variance(g) + frequency_se * frequency_se;
    FieldMean {
        magnitude,
        angle_deg: (base_angle + turn).rem_euclid(180.0),
        vector,
        magnitude_se: spread(&along).max(0.0).sqrt(),
        angle_se_deg: (spread(&across).max(0.0).sqrt() / length).to_degrees(),
    }
}
