//! Tone curve, sharpening, eight bits and the file.

use super::{CameraRecipe, Hardness};
use crate::plane::{Plane, Rgb};
use crate::specimen::blur;
use image::codecs::jpeg::JpegEncoder;
use image::codecs::png::PngEncoder;
use image::{ExtendedColorType, ImageEncoder, ImageResult, RgbImage};
use rand::{Rng, RngExt};
use serde::{Deserialize, Serialize};

/// How the picture is stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum FileKind {
    /// Without loss.
    Png,
    /// With loss.
    Jpeg {
        /// Quality, 1–100.
        quality: u8,
        /// Whether colour is kept at half the resolution, as most cameras do.
        half_colour: bool,
    },
}

impl FileKind {
    /// Mostly JPEG.
    pub fn any(hardness: Hardness, rng: &mut impl Rng) -> Self {
        if rng.random_bool(0.08) {
            return Self::Png;
        }
        let quality = match hardness {
            Hardness::Easy => rng.random_range(88..=98),
            Hardness::Usual => rng.random_range(72..=97),
            Hardness::Hard => rng.random_range(60..=88),
        };
        Self::Jpeg {
            quality,
            half_colour: rng.random_bool(0.5),
        }
    }

    /// Usual ending of the file name.
    #[must_use]
    pub fn extension(self) -> &'static str {
        match self {
            Self::Png => "png",
            Self::Jpeg { .. } => "jpg",
        }
    }

    /// Bytes of the file.
    ///
    /// # Errors
    /// Whatever the encoder reports; a picture wider than 65,535 px cannot be a JPEG.
    pub fn encode(self, photo: &RgbImage) -> ImageResult<Vec<u8>> {
        let mut bytes = Vec::new();
        let (w, h) = photo.dimensions();
        match self {
            Self::Png => {
                PngEncoder::new(&mut bytes).write_image(photo, w, h, ExtendedColorType::Rgb8)?;
            }
            Self::Jpeg { quality, .. } => {
                JpegEncoder::new_with_quality(&mut bytes, quality).write_image(
                    photo,
                    w,
                    h,
                    ExtendedColorType::Rgb8,
                )?;
            }
        }
        Ok(bytes)
    }
}

/// Linear light to eight-bit sRGB.
#[must_use]
pub fn develop(light: &Rgb, recipe: &CameraRecipe) -> RgbImage {
    let mut signal: Vec<Plane> = light
        .iter()
        .map(|plane| encoded(plane, recipe.tone_curve as f32))
        .collect();
    if recipe.sharpen > 0.0 {
        for plane in &mut signal {
            unsharp(plane, recipe.sharpen as f32);
        }
    }
    if let FileKind::Jpeg {
        half_colour: true, ..
    } = recipe.file
    {
        halve_colour(&mut signal);
    }
    let [w, h] = recipe.size_px;
    let bytes: Vec<u8> = (0..w * h)
        .flat_map(|i| [0, 1, 2].map(|c| byte(signal[c].as_slice().map_or(0.0, |s| s[i]))))
        .collect();
    RgbImage::from_raw(w as u32, h as u32, bytes)
        .unwrap_or_else(|| RgbImage::new(w as u32, h as u32))
}

fn byte(v: f32) -> u8 {
    (v * 255.0 + 0.5).clamp(0.0, 255.0) as u8
}

/// sRGB signal (IEC 61966-2-1), bent by a smooth S of the given strength.
fn encoded(plane: &Plane, curve: f32) -> Plane {
    let mut out = plane.clone();
    out.par_mapv_inplace(|v| {
        let s = srgb(v.clamp(0.0, 1.0));
        s + curve * 0.35 * (s * s * (3.0 - 2.0 * s) - s)
    });
    out
}

/// The sRGB transfer function for a linear value in [0, 1].
#[must_use]
pub fn srgb(v: f32) -> f32 {
    if v <= 0.003_130_8 {
        12.92 * v
    } else {
        1.055 * v.powf(1.0 / 2.4) - 0.055
    }
}

fn unsharp(plane: &mut Plane, amount: f32) {
    let soft = blur::gaussian(plane, 1.1);
    plane.zip_mut_with(&soft, |v, &s| *v = (*v + amount * (*v - s)).clamp(0.0, 1.0));
}

/// Replaces the colour differences of each two by two pixels by their mean, keeping the luma
/// (the weights of JFIF).
fn halve_colour(signal: &mut [Plane]) {
    const LUMA: [f32; 3] = [0.299, 0.587, 0.114];
    let (h, w) = signal[0].dim();
    for y in (0..h.saturating_sub(1)).step_by(2) {
        for x in (0..w.saturating_sub(1)).step_by(2) {
            let block = [[y, x], [y, x + 1], [y + 1, x], [y + 1, x + 1]];
            let luma = block.map(|at| (0..3).map(|c| LUMA[c] * signal[c][at]).sum::<f32>());
            for plane in signal.iter_mut() {
                let mean = (0..4).map(|i| plane[block[i]] - luma[i]).sum::<f32>() / 4.0;
                for (i, &at) in block.iter().enumerate() {
                    plane[at] = (luma[i] + mean).clamp(0.0, 1.0);
                }
            }
        }
    }
}
