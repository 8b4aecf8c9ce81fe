//! Pictures stored as ink amounts (CMYK, YCCK): the general decoder would flatten them to RGB
//! before their profile could be applied.

use super::container::{Container, Refusal, jpeg_segments};
use super::pixels::Raster;
use std::io::Cursor;
use tiff::ColorType;
use tiff::decoder::{Decoder, DecodingResult, Limits};
use zune_core::bytestream::ZCursor;
use zune_core::colorspace::ColorSpace;
use zune_core::options::DecoderOptions;
use zune_jpeg::JpegDecoder;

/// Ink amounts where the file is stored as such; `None` when it holds light (grey, RGB).
/// The caller has checked the picture's size.
///
/// # Errors
/// A [`Refusal`] when the file holds ink amounts but is damaged.
pub fn read(bytes: &[u8], container: Container) -> Result<Option<Raster<u16>>, Refusal> {
    match container {
        Container::Jpeg => from_jpeg(bytes),
        Container::Tiff => from_tiff(bytes),
        Container::Png | Container::WebP => Ok(None),
    }
}

fn damaged(error: impl std::fmt::Display) -> Refusal {
    Refusal::new(
        format!("the CMYK picture is damaged or of an unusual kind ({error})"),
        "save it again as 8- or 16-bit RGB TIFF or JPEG",
    )
}

fn from_jpeg(bytes: &[u8]) -> Result<Option<Raster<u16>>, Refusal> {
    let options = DecoderOptions::default()
        .set_strict_mode(false)
        .set_max_width(usize::from(u16::MAX))
        .set_max_height(usize::from(u16::MAX));
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(bytes), options);
    decoder.decode_headers().map_err(damaged)?;
    let Some(space @ (ColorSpace::CMYK | ColorSpace::YCCK)) = decoder.input_colorspace() else {
        return Ok(None);
    };
    decoder.set_options(options.jpeg_set_out_colorspace(space));
    let stored = decoder.decode().map_err(damaged)?;
    let (width, height) = decoder
        .dimensions()
        .ok_or_else(|| damaged("no size in its header"))?;
    if stored.len() != width * height * 4 {
        return Err(damaged("unexpected number of samples"));
    }
    // Adobe's applications store CMYK inverted, and mark such files with an APP14 segment.
    let inverted = jpeg_segments(bytes)
        .any(|(marker, payload)| marker == 0xEE && bytes[payload].starts_with(b"Adobe"));
    let samples = stored
        .chunks_exact(4)
        .flat_map(|px| ink_amounts([px[0], px[1], px[2], px[3]], space, inverted))
        .map(|ink| u16::from(ink) * 257)
        .collect();
    Ok(Some(Raster {
        width,
        height,
        channels: 4,
        samples,
    }))
}

fn ink_amounts(stored: [u8; 4], space: ColorSpace, inverted: bool) -> [u8; 4] {
    let inks = if space == ColorSpace::YCCK {
        cmyk_of_ycck(stored)
    } else {
        stored
    };
    if inverted {
        inks.map(|v| 255 - v)
    } else {
        inks
    }
}

/// YCCK: the first three channels are the YCbCr (JFIF) of the complement of CMY.
fn cmyk_of_ycck([y, cb, cr, k]: [u8; 4]) -> [u8; 4] {
    let (y, cb, cr) = (f32::from(y), f32::from(cb) - 128.0, f32::from(cr) - 128.0);
    let complement = |v: f32| 255 - v.round().clamp(0.0, 255.0) as u8;
    [
        complement(y + 1.402 * cr),
        complement(y - 0.344_136 * cb - 0.714_136 * cr),
        complement(y + 1.772 * cb),
        k,
    ]
}

fn from_tiff(bytes: &[u8]) -> Result<Option<Raster<u16>>, Refusal> {
    let mut decoder = Decoder::new(Cursor::new(bytes)).map_err(damaged)?;
    let channels = match decoder.colortype().map_err(damaged)? {
        ColorType::CMYK(8 | 16) => 4,
        ColorType::CMYKA(8 | 16) => 5,
        _ => return Ok(None),
    };
    let (width, height) = decoder.dimensions().map_err(damaged)?;
    let (width, height) = (width as usize, height as usize);
    let mut limits = Limits::default();
    limits.decoding_buffer_size = width
        .saturating_mul(height)
        .saturating_mul(channels * size_of::<u16>());
    limits.intermediate_buffer_size = limits.decoding_buffer_size;
    let all: Vec<u16> = match decoder.with_limits(limits).read_image().map_err(damaged)? {
        DecodingResult::U8(v) => v.into_iter().map(|v| u16::from(v) * 257).collect(),
        DecodingResult::U16(v) => v,
        _ => return Err(damaged("samples are neither 8 nor 16 bit")),
    };
    if all.len() != width * height * channels {
        return Err(damaged("its planes are stored apart"));
    }
    let samples = all
        .chunks_exact(channels)
        .flat_map(|px| [px[0], px[1], px[2], px[3]])
        .collect();
    Ok(Some(Raster {
        width,
        height,
        channels: 4,
        samples,
    }))
}
