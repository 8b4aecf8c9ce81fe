//! A photo file → linear light, usable field, scale and adequacy.

pub mod adequacy;
mod binning;
mod capture;
mod claims;
mod cmyk;
pub mod colour;
mod container;
pub mod decode;
pub mod field;
mod jpeg;
mod pixels;
pub mod rule;
pub mod scale;
mod tiff_file;
mod upright;

use crate::plane::{Mask, Rgb};

pub use adequacy::Adequacy;
pub use binning::Binning;
pub use decode::{PhotoError, ReadOptions, from_bytes, from_linear, read, sha256_hex};
pub use field::Field;
pub use rule::{RuleError, RuleReading, measure_common_rule, measure_rule, shows_rule};
pub use scale::Scale;

/// What is known of a file besides its pixels, kept as provenance.
#[derive(Clone, Debug, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct Provenance {
    /// File name as given, without its folder.
    pub file: String,
    /// SHA-256 of the file's bytes, lower-case hex.
    pub sha256: String,
    /// Container format in plain words ("JPEG", "PNG", "TIFF", "WebP").
    pub format: String,
    /// Bits per sample in the file.
    pub bits_per_sample: u8,
    /// What the pixel values were taken to mean ("sRGB (assumed)", "Display P3 (embedded profile)").
    pub colour_space: String,
    /// Camera, lens, time, focal length and the like: label and value as the file states them.
    pub capture: Vec<(String, String)>,
}

/// A photograph in linear light with all that is known of how it was taken.
#[derive(Clone, Debug)]
pub struct Photo {
    /// Where it came from.
    pub provenance: Provenance,
    /// Linear light, sRGB primaries, D65; 0 = black, 1 = the encoding's white.
    pub linear: Rgb,
    /// True when the file holds no colour (grey, or three equal channels).
    pub grey: bool,
    /// Pixels that may be measured: inside the field, not glare, not beside the sheet, not transparent; clipped ones too.
    pub usable: Mask,
    /// The round loupe field, or the whole frame.
    pub field: Field,
    /// Pixels per millimetre where known.
    pub scale: Option<Scale>,
    /// Sharpness, noise, clipping, compression.
    pub adequacy: Adequacy,
    /// How these pixels came from the file's: everything else here is in these pixels.
    pub binning: Binning,
}

impl Photo {
    /// Joins a picture in linear light with its field, scale and adequacy.
    fn judged(
        mut picture: colour::LinearPicture,
        provenance: Provenance,
        resolution: &scale::ResolutionClaim,
        options: &ReadOptions,
    ) -> Self {
        picture.blacken_unseen();
        let found = field::find(&picture.linear);
        let sheet = field::sheet(&picture.linear, &found, picture.opaque.as_ref());
        let clipped = adequacy::clipped_share(&picture.linear, &sheet.seen);
        let beside = sheet.beside;
        let usable = sheet.without_glare();
        let scale = scale::settle(options, &found, resolution);
        let adequacy = adequacy::judge(&picture.linear, &usable, scale.as_ref(), clipped, beside);
        Self {
            binning: Binning::none(usable.ncols(), usable.nrows()),
            provenance,
            linear: picture.linear,
            grey: picture.grey,
            usable,
            field: found.field,
            scale,
            adequacy,
        }
    }

    /// Width in pixels.
    #[must_use]
    pub fn width(&self) -> usize {
        self.usable.ncols()
    }

    /// Height in pixels.
    #[must_use]
    pub fn height(&self) -> usize {
        self.usable.nrows()
    }
}
