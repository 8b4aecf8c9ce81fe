//! What goes wrong in an afternoon.

use crate::specimen::views::View;
use image::RgbImage;
use image::codecs::jpeg::JpegEncoder;
use imageproc::filter::gaussian_blur_f32;
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

    /// How the photograph of a place is taken: the spot photographed again is turned and moved a
    /// little, in other light.
    pub fn view(self, place: usize) -> View {
        match self {
            Self::SameSpot => View {
                place,
                moved: [1.0 / 14.0, -1.0 / 20.0],
                turned_deg: 1.5,
                light: 0.88,
            },
            _ => View::of(place),
        }
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
pub(super) fn damaged(photo: &RgbImage, fault: Fault) -> io::Result<Vec<u8>> {
    /// Standard deviation of the blur, px: no dot survives it.
    const BLUR_PX: f32 = 7.0;
    match fault {
        Fault::Blurred => jpeg(&gaussian_blur_f32(photo, BLUR_PX)),
        Fault::Truncated => {
            let mut bytes = jpeg(photo)?;
            bytes.truncate(bytes.len() / 3);
            Ok(bytes)
        }
        _ => jpeg(photo),
    }
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
