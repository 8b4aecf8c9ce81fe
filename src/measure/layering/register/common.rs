//! What the shifts of all patches have in common: one alike everywhere, and one along spokes.

use crate::rank::median;
use nalgebra::{Matrix3, Vector3};

/// The shift of one patch.
#[derive(Clone, Copy, Debug)]
pub(super) struct Patch {
    /// Its middle from the middle of the frame, px (x, y).
    pub(super) at: [f64; 2],
    /// Shift of the second colour against the first, px (x, y).
    pub(super) shift: [f64; 2],
    /// Standard error of either coordinate, px.
    pub(super) standard_error: f64,
}

/// Shift of all patches alike, and growth along spokes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Shift {
    pub(super) alike: [f64; 2],
    pub(super) per_px: f64,
    pub(super) standard_error: f64,
    pub(super) patches: usize,
}

/// Fewest patches for a lens to be told from the print.
const MIN_PATCHES: usize = 6;
/// Scatter between patches that is always allowed for, px: distortion, curl of the paper.
const FLOOR_PX: f64 = 0.05;

/// What the shifts of all patches have in common, patches that stray from it counting little.
pub(super) fn common(patches: &[Patch]) -> Option<Shift> {
    /// Rounds of weighing; the weights then change no more.
    const ROUNDS: usize = 8;
    if patches.len() < MIN_PATCHES {
        return None;
    }
    let trusted = |p: &Patch| 1.0 / (p.standard_error.powi(2) + FLOOR_PX * FLOOR_PX);
    let mut weights: Vec<f64> = patches.iter().map(trusted).collect();
    let mut fitted = Vector3::zeros();
    let mut usual = FLOOR_PX;
    for _ in 0..ROUNDS {
        fitted = spokes(patches, &weights)?;
        let strays: Vec<f64> = patches.iter().map(|p| stray(p, &fitted)).collect();
        usual = median(strays.iter().copied())?.max(1e-3);
        for ((weight, p), stray) in weights.iter_mut().zip(patches).zip(&strays) {
            *weight = trusted(p) / (1.0 + (stray / (2.0 * usual)).powi(2));
        }
    }
    Some(Shift {
        alike: [fitted[0], fitted[1]],
        per_px: fitted[2],
        // The median of a Rayleigh distribution is 1.18 standard deviations.
        standard_error: (usual / 1.18).hypot(FLOOR_PX) / effective(&weights).sqrt(),
        patches: patches.len(),
    })
}

/// As how many equal weights these count (Kish's effective sample size).
fn effective(weights: &[f64]) -> f64 {
    let (sum, squares) = weights
        .iter()
        .fold((0.0, 0.0), |(s, q), w| (s + w, q + w * w));
    if squares > 0.0 {
        sum * sum / squares
    } else {
        1.0
    }
}

/// How far a patch lies from what is fitted, px.
fn stray(patch: &Patch, fitted: &Vector3<f64>) -> f64 {
    let off = |k: usize| patch.shift[k] - fitted[k] - fitted[2] * patch.at[k];
    off(0).hypot(off(1))
}

/// Least squares of a shift alike everywhere and one that grows along spokes: x, y, and growth per px.
fn spokes(patches: &[Patch], weights: &[f64]) -> Option<Vector3<f64>> {
    let (mut normal, mut right) = (Matrix3::zeros(), Vector3::zeros());
    for (patch, &weight) in patches.iter().zip(weights) {
        for k in 0..2 {
            let mut terms = Vector3::zeros();
            terms[k] = 1.0;
            terms[2] = patch.at[k];
            normal.ger(weight, &terms, &terms, 1.0);
            right.axpy(weight * patch.shift[k], &terms, 1.0);
        }
    }
    Some(normal.try_inverse()? * right)
}
