//! Optical density over the local paper.

use super::paper::Ground;
use crate::plane::{Plane, Rgb};

/// Darkest reflectance told from black; density is capped at 3 (R / R_paper = 0.001), beyond
/// which a photograph holds only noise.
pub const MAX_DENSITY: f32 = 3.0;

/// Density per channel, −log10(R / R_paper), capped at [`MAX_DENSITY`]; noise may make it
/// slightly negative on bare paper.
#[must_use]
pub fn over_paper(linear: &Rgb, _ground: &Ground) -> Rgb {
    linear
        .clone()
        .map(|plane| plane.mapv(|v| (-(v.max(1e-4)).log10()).min(MAX_DENSITY)))
}

/// Mean of the three channels.
#[must_use]
pub fn mean_of_channels(density: &Rgb) -> Plane {
    let [r, g, b] = density;
    (r + g + b) / 3.0
}
