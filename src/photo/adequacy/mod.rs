//! What the photograph can bear: sharpness, noise, sampling, clipping, motion, compression.

mod blocking;
mod clipping;
mod edges;
mod noise;
mod spectrum;
mod verdict;
mod windows;

use super::Scale;
use super::field::Beside;
use crate::measured::Measured;
use crate::plane::{Mask, Rgb};
pub(super) use clipping::share as clipped_share;
use schemars::JsonSchema;
use serde::Serialize;

/// Contrast left at the frequency called "sharpness": a tenth, as the eye's limit is put.
const SHARP_CONTRAST: f64 = 0.1;
/// The sampling limit, cycles per px.
const NYQUIST: f64 = 0.5;

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
    /// Highest spatial frequency still carrying contrast, cycles per px: where the blur of the
    /// steepest edges leaves a tenth of it, or where the spectrum falls into the noise floor,
    /// whichever is lower. At most 0.5, the sampling limit.
    pub sharpness_cycles_per_px: Measured,
    /// The same in line pairs per millimetre; missing without a scale.
    pub sharpness_lp_per_mm: Measured,
    /// Equivalent Gaussian blur of edges, standard deviation in px.
    pub blur_sigma_px: Measured,
    /// Standard deviation of noise in linear light at the paper's level, 0–1 (green channel).
    pub noise: Measured,
    /// Share of the field that is clipped white in some channel or black in all, 0–1.
    pub clipped_share: Measured,
    /// Ratio of blur along the worst direction to the best one; 1 = no motion.
    pub motion_ratio: Measured,
    /// Strength of the 8-px block edges against the picture's own differences; 1 = none.
    pub blocking: Measured,
    /// Shares of the frame that show no sheet; told among the notes.
    #[serde(skip)]
    #[schemars(skip)]
    pub beside: Beside,
    /// In one word.
    pub verdict: Verdict,
    /// Plain sentences for the report, each with what to do.
    pub notes: Vec<String>,
}

/// Judges a picture in linear light, inside its usable field.
#[must_use]
pub(super) fn judge(
    linear: &Rgb,
    usable: &Mask,
    scale: Option<&Scale>,
    clipped_share: Measured,
    beside: Beside,
) -> Adequacy {
    let adequacy = Adequacy {
        clipped_share,
        beside,
        ..figures(linear, usable, scale)
    };
    adequacy.judged(linear, usable)
}

impl Adequacy {
    /// The same with verdict and notes.
    pub(super) fn judged(mut self, linear: &Rgb, usable: &Mask) -> Self {
        verdict::pass(&mut self, linear, usable);
        self
    }

    /// Takes back the sharpness of a photograph on which nothing was found, unless edges gave it: the spectrum of bare
    /// paper ends where its fibres or the camera's noise do, however sharp the lens. The verdict stays, for
    /// nothing better is known of the photograph than before.
    pub fn tell_no_sharpness(&mut self) {
        if self.blur_sigma_px.figure().is_some() || self.sharpness_cycles_per_px.figure().is_none()
        {
            return;
        }
        verdict::take_back_resolution(self);
        let untold = Measured::missing(
            "nothing sharp was found to tell it by, and bare paper and noise do not; photograph a place with marks",
        );
        self.sharpness_lp_per_mm = untold.clone();
        self.sharpness_cycles_per_px = untold;
    }
}

/// The figures alone; the verdict is still to be given.
pub(super) fn figures(linear: &Rgb, usable: &Mask, scale: Option<&Scale>) -> Adequacy {
    let windows = windows::Windows::choose(&linear[1], usable);
    let noise = noise::measure(&windows);
    let deviation = noise.deviation.value().unwrap_or(0.0);
    let blur = edges::measure(&windows, noise.bright, deviation as f32);
    let floor = spectrum::floor_frequency(&windows, deviation);
    let sharpness = sharpness(&blur.sigma_px, floor);
    Adequacy {
        sharpness_lp_per_mm: in_line_pairs(&sharpness, scale),
        sharpness_cycles_per_px: sharpness,
        blur_sigma_px: blur.sigma_px,
        noise: noise.deviation,
        clipped_share: Measured::missing("it is counted in the file's own pixels"),
        motion_ratio: blur.motion_ratio,
        blocking: blocking::measure(&windows),
        beside: Beside::default(),
        verdict: Verdict::Good,
        notes: Vec::new(),
    }
}

/// Frequency at which a Gaussian blur leaves a tenth of the contrast:
/// exp(−2 π² σ² f²) = 0.1.
fn gaussian_limit(sigma_px: f64) -> f64 {
    let limit = (-SHARP_CONTRAST.ln() / 2.0).sqrt() / (std::f64::consts::PI * sigma_px.max(1e-6));
    limit.min(NYQUIST)
}

/// The lower of the blur's and the noise floor's limit.
fn sharpness(blur: &Measured, floor: Option<(f64, usize)>) -> Measured {
    // Half a bin either side for the spectrum's limit, and what the floor's definition leaves.
    const FLOOR_SHARE: f64 = 0.15;
    match (blur.figure(), floor) {
        (Some(blur), floor) => {
            let cap = floor.map_or(NYQUIST, |(frequency, _)| frequency);
            let floor_decides = floor.is_some() && gaussian_limit(blur.value) > cap;
            let least = if floor_decides {
                cap * (1.0 - FLOOR_SHARE)
            } else {
                cap
            };
            Measured::with_interval(
                gaussian_limit(blur.value).min(cap),
                gaussian_limit(blur.hi).min(least),
                gaussian_limit(blur.lo)
                    .min(cap * (1.0 + FLOOR_SHARE))
                    .min(NYQUIST),
                "cycles/px",
                blur.n,
            )
        }
        (None, Some((frequency, n))) => Measured::with_interval(
            frequency,
            frequency * (1.0 - FLOOR_SHARE),
            (frequency * (1.0 + FLOOR_SHARE)).min(NYQUIST),
            "cycles/px",
            n,
        ),
        (None, None) => Measured::missing("nothing in the field stands out of the noise"),
    }
}

fn in_line_pairs(sharpness: &Measured, scale: Option<&Scale>) -> Measured {
    match (sharpness.figure(), scale) {
        (Some(s), Some(scale)) => Measured::with_interval(
            s.value * scale.value,
            s.lo * scale.lo,
            s.hi * scale.hi,
            "lp/mm",
            s.n,
        ),
        (Some(_), None) => crate::measured::NotMeasured::no_scale().into(),
        (None, _) => sharpness.clone(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_floor_leaves_room_on_either_side_where_it_decides() {
        let blur = |sigma: f64| Measured::with_interval(sigma, 0.9 * sigma, 1.1 * sigma, "px", 9);
        let figure = |sigma: f64, floor: Option<(f64, usize)>| {
            let found = sharpness(&blur(sigma), floor);
            found.figure().map(|f| (f.value, f.lo, f.hi)).expect("told")
        };
        let (value, lo, hi) = figure(0.3, Some((0.3, 40)));
        assert_eq!(value, 0.3);
        approx::assert_abs_diff_eq!(lo, 0.255, epsilon = 1e-12);
        approx::assert_abs_diff_eq!(hi, 0.345, epsilon = 1e-12);
        // Where the blur decides its own interval counts.
        let (value, lo, hi) = figure(2.0, Some((0.45, 40)));
        assert!(lo < value && value < hi && hi < 0.3);
        assert_eq!(figure(2.0, None), (value, lo, hi));
    }
}
