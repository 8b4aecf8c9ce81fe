//! What the photograph can bear: sharpness, noise, sampling, clipping, motion, compression.

use crate::measured::Measured;
use schemars::JsonSchema;
use serde::Serialize;

/// How far the photograph can carry measurements.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Fine structure can be measured.
    Good,
    /// Some measurements are withheld or widened.
    Marginal,
    /// Nothing can be measured; take another photograph.
    Unusable,
}

/// Measured quality of a photograph.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Adequacy {
    /// Highest spatial frequency still carrying contrast (10 % of low-frequency contrast), cycles per px.
    pub sharpness_cycles_per_px: Measured,
    /// The same in line pairs per millimetre; missing without a scale.
    pub sharpness_lp_per_mm: Measured,
    /// Equivalent Gaussian blur of edges, standard deviation in px.
    pub blur_sigma_px: Measured,
    /// Standard deviation of noise in linear light at the paper's level, 0–1.
    pub noise: Measured,
    /// Share of the field that is clipped white or black, 0–1.
    pub clipped_share: Measured,
    /// Ratio of blur along the worst direction to the best one; 1 = no motion.
    pub motion_ratio: Measured,
    /// Strength of the 8-px block edges against the picture's own differences; 1 = none.
    pub blocking: Measured,
    /// In one word.
    pub verdict: Verdict,
    /// Plain sentences for the report, each with what to do.
    pub notes: Vec<String>,
}
