//! What goes wrong in an afternoon.

use crate::specimen::series::Specimen;
use image::RgbImage;
use image::codecs::jpeg::JpegEncoder;
use imageproc::filter::gaussian_blur_f32;
use imageproc::geometric_transformations::{Border, Interpolation, rotate_about_center, translate};
use std::io;

/// One photograph's fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fault {
    None,
    /// Out of focus.
    Blurred,
    /// The copying broke off.
    Truncated,
    /// A letter with a photograph's name.
    Text,
    /// Something else than a print.
    NoPrint,
    /// The file before, copied.
    SameFile,
    /// The spot before, photographed again.
    SameSpot,
}

impl Fault {
    #[cfg(test)]
    pub const ALL: [Self; 7] = [
        Self::None,
        Self::Blurred,
        Self::Truncated,
        Self::Text,
        Self::NoPrint,
        Self::SameFile,
        Self::SameSpot,
    ];

    /// The fault of a photograph of a sheet, by their numbers.
    pub fn of(sheet: u64, photo: u64) -> Self {
        match (sheet % 10, photo) {
            (2, 1) => Self::Blurred,
            (3, 2) => Self::SameSpot,
            (4, 0) => Self::NoPrint,
            (5, 1) => Self::Truncated,
            (7, 3) => Self::SameFile,
            (8, 0) => Self::Text,
            _ => Self::None,
        }
    }

    /// Whether it shows what the photograph before it shows.
    pub fn repeats(self) -> bool {
        matches!(self, Self::SameFile | Self::SameSpot)
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::None => "",
            Self::Blurred => "blurred",
            Self::Truncated => "truncated",
            Self::Text => "text file",
            Self::NoPrint => "no print",
            Self::SameFile => "same file",
            Self::SameSpot => "same spot",
        }
    }
}

/// The bytes of a photograph with its fault.
pub(super) fn damaged(drawn: &Specimen, fault: Fault, seed: u64) -> io::Result<Vec<u8>> {
    /// Standard deviation of the blur, px: no dot survives it.
    const BLUR_PX: f32 = 7.0;
    match fault {
        Fault::None | Fault::NoPrint | Fault::SameFile | Fault::Text => jpeg(&drawn.photo),
        Fault::Blurred => jpeg(&gaussian_blur_f32(&drawn.photo, BLUR_PX)),
        Fault::Truncated => {
            let mut bytes = jpeg(&drawn.photo)?;
            bytes.truncate(bytes.len() / 3);
            Ok(bytes)
        }
        Fault::SameSpot => jpeg(&again(&drawn.photo, seed)),
    }
}

/// The same spot again: turned and moved a little, in other light.
fn again(photo: &RgbImage, seed: u64) -> RgbImage {
    let turned = rotate_about_center(
        photo,
        1.5f32.to_radians(),
        Interpolation::Bilinear,
        Border::Replicate,
    );
    let (width, height) = photo.dimensions();
    let away = ((width / 14) as i32, -((height / 20) as i32));
    let moved = translate(&turned, away, Border::Replicate);
    let light = 0.86 + (seed % 7) as f32 * 0.01;
    RgbImage::from_fn(width, height, |x, y| {
        image::Rgb(
            moved
                .get_pixel(x, y)
                .0
                .map(|v| (f32::from(v) * light) as u8),
        )
    })
}

pub(super) fn jpeg(photo: &RgbImage) -> io::Result<Vec<u8>> {
    /// As telephones save.
    const QUALITY: u8 = 93;
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, QUALITY)
        .encode_image(photo)
        .map_err(|e| io::Error::other(e.to_string()))?;
    Ok(bytes)
}
