//! Bytes to samples: what the decoder delivers, before any meaning of colour.

use super::cmyk;
use super::container::{Container, Refusal, is_cut_jpeg};
use super::jpeg;
use super::tiff_file::{self, TiffFacts};
use image::error::UnsupportedError;
use image::metadata::Orientation;
use image::{DynamicImage, ImageDecoder, ImageError, ImageReader, Limits};
use std::io::Cursor;

/// Bytes the decoder may hold for each pixel: 16-bit RGBA twice over, for its own working copy.
const DECODER_BYTES_PER_PIXEL: f64 = 16.0;

/// Interleaved samples of a picture, as stored in the file.
#[derive(Clone, Debug)]
pub struct Raster<T> {
    /// Width in pixels.
    pub width: usize,
    /// Height in pixels.
    pub height: usize,
    /// Samples a pixel.
    pub channels: usize,
    /// `width · height · channels` samples, row by row.
    pub samples: Vec<T>,
}

/// Samples by their depth and meaning.
#[derive(Clone, Debug)]
pub enum Samples {
    /// Grey, grey + alpha, RGB or RGBA (by the number of channels), 8 bit.
    Eight(Raster<u8>),
    /// The same, 16 bit.
    Sixteen(Raster<u16>),
    /// RGB or RGBA, floating point.
    Float(Raster<f32>),
    /// Ink amounts of cyan, magenta, yellow, black, 0 = none.
    Cmyk(Raster<u16>),
}

/// A decoded file with what stands beside its pixels.
#[derive(Debug)]
pub struct Decoded {
    /// The pixels, not yet turned upright.
    pub samples: Samples,
    /// Bits a sample in the file.
    pub bits_per_sample: u8,
    /// How the picture is to be turned.
    pub orientation: Orientation,
    /// Embedded ICC profile.
    pub icc: Option<Vec<u8>>,
    /// EXIF block (a TIFF structure); for a TIFF the file itself is one.
    pub exif: Option<Vec<u8>>,
    /// Pictures in a TIFF, of which the first is read; 0 for other files.
    pub pages: usize,
}

/// Why a picture was not decoded.
#[derive(Debug)]
pub enum DecodeFault {
    /// Not readable; with the reason.
    Refused(Refusal),
    /// Over the limit; size in 10⁶ px.
    TooLarge(f64),
}

impl From<Refusal> for DecodeFault {
    fn from(refusal: Refusal) -> Self {
        Self::Refused(refusal)
    }
}

/// Decodes `bytes`, refusing pictures over `max_megapixels` (10⁶ px) before any pixel is read.
///
/// # Errors
/// [`DecodeFault`] when the bytes are damaged, cut off, unsupported or over the limit.
pub fn decode(
    bytes: &[u8],
    container: Container,
    max_megapixels: f64,
) -> Result<Decoded, DecodeFault> {
    let tiff = match container {
        Container::Tiff => tiff_file::look(bytes)?,
        _ => TiffFacts::default(),
    };
    let mut reader = ImageReader::with_format(Cursor::new(bytes), container.image_format());
    let mut limits = Limits::no_limits();
    limits.max_alloc = Some(allowance(bytes.len(), max_megapixels));
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(|e| fault(&e, container))?;
    let (width, height) = decoder.dimensions();
    check_size(width, height, max_megapixels)?;
    if container == Container::Jpeg && is_cut_jpeg(bytes) {
        return Err(cut_off().into());
    }
    if container == Container::Jpeg
        && let Some(why) = jpeg::fault(bytes)
    {
        return Err(Refusal::new(
            format!("the picture data of this JPEG is damaged ({why}); parts of what it shows would not be the sheet"),
            "copy it again from the camera or its card; a copy saved by a viewer would hide the damage",
        )
        .into());
    }
    let colour = decoder.original_color_type();
    let exif = decoder.exif_metadata().ok().flatten();
    let icc = tiff.icc.or_else(|| decoder.icc_profile().ok().flatten());
    let orientation = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    let bits = colour.bits_per_pixel() / u16::from(colour.channel_count().max(1));
    let samples = match cmyk::read(bytes, container)? {
        Some(inks) => Samples::Cmyk(inks),
        None => plain(DynamicImage::from_decoder(decoder).map_err(|e| fault(&e, container))?),
    };
    Ok(Decoded {
        samples,
        bits_per_sample: u8::try_from(bits).unwrap_or(8),
        orientation,
        icc,
        exif,
        pages: tiff.pages,
    })
}

/// Bytes the decoder may take; small pictures may carry large profiles and thumbnails.
fn allowance(file_bytes: usize, max_megapixels: f64) -> u64 {
    (max_megapixels.max(1.0) * 1e6 * DECODER_BYTES_PER_PIXEL) as u64 + 4 * file_bytes as u64
}

/// Refuses an empty picture, and one over the limit.
fn check_size(width: u32, height: u32, max_megapixels: f64) -> Result<(), DecodeFault> {
    if width == 0 || height == 0 {
        return Err(Refusal::new("the picture has no pixels", "save it again").into());
    }
    let megapixels = f64::from(width) * f64::from(height) / 1e6;
    if megapixels > max_megapixels {
        return Err(DecodeFault::TooLarge(megapixels));
    }
    Ok(())
}

fn cut_off() -> Refusal {
    Refusal::new(
        "the file ends before the picture does; it was cut off in copying",
        "copy or download it again",
    )
}

/// A decoder's complaint in words a user can act on.
pub(super) fn fault(error: &ImageError, container: Container) -> DecodeFault {
    let name = container.name();
    match error {
        ImageError::IoError(io) if io.kind() == std::io::ErrorKind::UnexpectedEof => {
            cut_off().into()
        }
        ImageError::Unsupported(detail) => Refusal::new(
            format!("this kind of {name} is not read here{}", in_words(detail)),
            "save it again as 8- or 16-bit RGB JPEG, PNG or TIFF",
        )
        .into(),
        ImageError::Limits(_) => Refusal::new(
            format!("decoding this {name} would take more memory than its size allows"),
            "raise --max-megapixels, or photograph or scan a smaller part",
        )
        .into(),
        other => Refusal::new(
            format!("the {name} is damaged ({other})"),
            "copy it again, or open it in a viewer and save it again",
        )
        .into(),
    }
}

/// What the decoder says of a kind that it does not read, but for codes that say nothing to a user.
fn in_words(detail: &UnsupportedError) -> String {
    let text = detail.to_string();
    if text.contains("Unknown(") {
        String::new()
    } else {
        format!(" ({text})")
    }
}

fn plain(picture: DynamicImage) -> Samples {
    let (width, height) = (picture.width() as usize, picture.height() as usize);
    let channels = usize::from(picture.color().channel_count());
    macro_rules! raster {
        ($buffer:expr) => {
            Raster {
                width,
                height,
                channels,
                samples: $buffer.into_raw(),
            }
        };
    }
    match picture {
        DynamicImage::ImageLuma8(b) => Samples::Eight(raster!(b)),
        DynamicImage::ImageLumaA8(b) => Samples::Eight(raster!(b)),
        DynamicImage::ImageRgb8(b) => Samples::Eight(raster!(b)),
        DynamicImage::ImageRgba8(b) => Samples::Eight(raster!(b)),
        DynamicImage::ImageLuma16(b) => Samples::Sixteen(raster!(b)),
        DynamicImage::ImageLumaA16(b) => Samples::Sixteen(raster!(b)),
        DynamicImage::ImageRgb16(b) => Samples::Sixteen(raster!(b)),
        DynamicImage::ImageRgba16(b) => Samples::Sixteen(raster!(b)),
        DynamicImage::ImageRgb32F(b) => Samples::Float(raster!(b)),
        other => {
            let b = other.into_rgba32f();
            Samples::Float(Raster {
                width,
                height,
                channels: 4,
                samples: b.into_raw(),
            })
        }
    }
}
