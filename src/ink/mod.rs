//! Linear light → optical density relative to the local paper, and separations into inks.

pub mod cielab;
pub mod contrast;
pub mod coverage;
pub mod density;
pub mod paper;
pub mod separate;

use crate::photo::{Adequacy, Photo, Scale};
use crate::plane::{Mask, Plane, Rgb};

pub use paper::Paper;

/// An ink as a process camera or a printer would name it.
#[derive(
    Clone,
    Copy,
    Debug,
    PartialEq,
    Eq,
    Hash,
    PartialOrd,
    Ord,
    serde::Serialize,
    serde::Deserialize,
    schemars::JsonSchema,
)]
pub enum Ink {
    /// Black, or the one dark ink of a single-colour print.
    K,
    /// Process cyan.
    C,
    /// Process magenta.
    M,
    /// Process yellow.
    Y,
    /// A spot colour (second ink of a duotone and the like).
    S,
}

/// How much of one ink lies at each pixel.
#[derive(Clone, Debug)]
pub struct Separation {
    /// Which ink.
    pub ink: Ink,
    /// Amount, 0 = none, 1 = the solid ink as estimated in this photo (may exceed 1).
    pub amount: Plane,
    /// Optical density of the solid ink per channel R, G, B, over paper.
    pub solid_density: [f64; 3],
}

/// A photograph as ink on paper: everything here is relative to the local paper.
#[derive(Clone, Debug)]
pub struct Inked {
    /// Optical density per channel, −log10(R / R_paper); 0 = bare paper, never NaN; outside
    /// `usable` the values are finite but mean nothing.
    pub density: Rgb,
    /// Darkness that ignores hue as well as can be: the mean of the three densities.
    pub grey_density: Plane,
    /// The paper that the densities refer to.
    pub paper: Paper,
    /// The light that was taken out, as in [`paper::Ground::light`].
    pub light: [[f64; 6]; 3],
    /// Pixels that may be measured.
    pub usable: Mask,
    /// True when the photo holds no colour.
    pub grey: bool,
    /// Pixels per millimetre where known.
    pub scale: Option<Scale>,
    /// Quality of the photograph.
    pub adequacy: Adequacy,
}

impl Inked {
    /// Whether one side is lit in another colour than the other, or looks so; a photograph without colour is not.
    #[must_use]
    pub fn is_lit_in_two_colours(&self) -> bool {
        !self.grey && self.paper.hue_drift > MOST_HUE_DRIFT
    }

    /// Pixels per millimetre where known.
    #[must_use]
    pub fn px_per_mm(&self) -> Option<f64> {
        self.scale.as_ref().map(|scale| scale.value)
    }

    /// ln of the linear light, R, G, B, that bare paper would send to a pixel.
    #[must_use]
    pub fn ln_paper_at(&self, x: f64, y: f64) -> [f64; 3] {
        let (height, width) = self.usable.dim();
        let terms = paper::terms(x, y, width, height);
        self.light
            .map(|light| light.iter().zip(terms).map(|(k, t)| k * t).sum())
    }

    /// Usable area in px.
    #[must_use]
    pub fn usable_px(&self) -> usize {
        self.usable.iter().filter(|&&u| u).count()
    }
}

/// Drift of the paper's hue over the frame beyond which its light is taken to be of two colours: of 100 drawn
/// specimens, washes, tints and colour reproductions among them, three drift farther and 95 less than 0.23 (2026-11-28).
const MOST_HUE_DRIFT: f64 = 0.3;

/// Flattens the light, finds the paper and gives densities over it.
#[must_use]
pub fn ink_on_paper(photo: &Photo) -> Inked {
    let ground = paper::find(&photo.linear, &photo.usable);
    let density = density::over_paper(&photo.linear, &ground);
    Inked {
        grey_density: density::mean_of_channels(&density),
        density,
        paper: ground.paper,
        light: ground.light,
        usable: photo.usable.clone(),
        grey: photo.grey,
        scale: photo.scale.clone(),
        adequacy: photo.adequacy.clone(),
    }
}
