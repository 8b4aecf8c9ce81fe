//! The usable field: the round loupe field where there is one, without rim, glare and clipping.

mod circle;
mod overview;
mod rim;
mod rim_profile;
mod usable;

pub(in crate::photo) use rim::quantile;
pub(in crate::photo) use usable::{CLIPPED_BLACK, CLIPPED_WHITE};

use crate::plane::{Mask, Rgb};
pub use overview::Overview;

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

/// The pixels that may be measured: inside the field by a margin of the rim's own softness,
/// opaque, not glare, and not in a large black surround that holds no light at all.
#[must_use]
pub fn usable(linear: &Rgb, found: &FoundField, opaque: Option<&Mask>) -> Mask {
    usable::mask(linear, found, opaque)
}
