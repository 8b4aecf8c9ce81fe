//! The usable field: the round loupe field where there is one, without rim, glare and clipping.

mod border;
mod circle;
mod overview;
mod rim;
mod rim_profile;
mod usable;

pub(in crate::photo) use rim::quantile;
pub(in crate::photo) use usable::{CLIPPED_BLACK, CLIPPED_WHITE};

use crate::plane::{Mask, Rgb};
pub use overview::Overview;
pub use usable::{Beside, Sheet};

/// The part of the frame that shows the sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Field {
    /// The sheet fills the frame.
    Frame,
    /// A round loupe field; centre and radius in pixels.
    Round {
        /// Centre, px from the left.
        cx: f64,
        /// Centre, px from the top.
        cy: f64,
        /// Radius in px to the dark rim (before the safety margin is taken off).
        radius: f64,
    },
}

/// A field with how well it was found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FoundField {
    /// The field.
    pub field: Field,
    /// Standard error of the radius, px; 0 for the whole frame.
    pub radius_se_px: f64,
    /// Width over which the rim rises from 10 % to 90 %, px; 0 for the whole frame.
    pub softness_px: f64,
}

impl FoundField {
    const FRAME: Self = Self {
        field: Field::Frame,
        radius_se_px: 0.0,
        softness_px: 0.0,
    };

    /// Radius in px where the field is round.
    #[must_use]
    pub fn radius_px(&self) -> Option<f64> {
        match self.field {
            Field::Frame => None,
            Field::Round { radius, .. } => Some(radius),
        }
    }
}

/// Finds the round field of a loupe, or says that the sheet fills the frame.
///
/// `linear` is linear light 0–1; the picture may be of any size and content.
#[must_use]
pub fn find(linear: &Rgb) -> FoundField {
    let overview = Overview::of(linear);
    rim::find(linear, &overview).unwrap_or(FoundField::FRAME)
}

/// The pixels that show the sheet: inside the field by a margin of the rim's own softness, opaque, and not in a
/// large surround of pure black, or of pure white beside a sheet that is darker.
#[must_use]
pub fn sheet(linear: &Rgb, found: &FoundField, opaque: Option<&Mask>) -> Sheet {
    usable::sheet(linear, found, opaque)
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::Array2;
    use rand::{RngExt, SeedableRng};

    /// A printed sheet of dots behind a rim whose light falls off over `soft` px (10 % to 90 %).
    fn through_a_loupe(radius: f64, soft: f64) -> Rgb {
        let (height, width) = (800, 1000);
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(11);
        let plane = Array2::from_shape_fn((height, width), |(y, x)| {
            let (dx, dy) = (x as f64 - 510.0, y as f64 - 395.0);
            // A straight ramp rises from 10 to 90 % over four fifths of its length.
            let light = (0.5 + (radius - dx.hypot(dy)) * 0.8 / soft).clamp(0.0, 1.0);
            let dot = ((x % 37) as f64 - 18.0).hypot((y % 41) as f64 - 20.0) < 9.0;
            let noise: f64 = (0..12).map(|_| rng.random::<f64>()).sum::<f64>() - 6.0;
            let paper = if dot { 0.15 } else { 0.8 };
            (0.004 + paper * light + 0.02 * noise).max(0.0) as f32
        });
        [plane.clone(), plane.clone(), plane]
    }

    #[test]
    fn a_soft_and_noisy_rim_over_dots_is_found() {
        for soft in [4.0, 25.0, 60.0] {
            let linear = through_a_loupe(360.0, soft);
            let found = find(&linear);
            let Some(radius) = found.radius_px() else {
                panic!("no round field with a rim of {soft} px");
            };
            assert!((radius / 360.0 - 1.0).abs() < 0.02, "{radius} at {soft} px");
            let usable = sheet(&linear, &found, None).without_glare();
            let outside = usable
                .indexed_iter()
                .filter(|&((y, x), u)| *u && (x as f64 - 510.0).hypot(y as f64 - 395.0) > 360.0)
                .count();
            assert_eq!(outside, 0, "surround measured at {soft} px");
        }
    }
}
