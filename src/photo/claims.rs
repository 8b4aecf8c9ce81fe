//! What a container's own header fields claim besides the pixels: resolution and encoding.

use super::container::{Container, jpeg_segments};
use super::scale::square_ppi;

/// Claims of the container (not of its EXIF block).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Claims {
    /// Resolution, px per inch, where both sides agree.
    pub resolution_ppi: Option<f64>,
    /// Exponent from code value to light, from a PNG's gAMA chunk, where it is not sRGB's.
    pub gamma: Option<f64>,
}

/// Reads the claims in `bytes`; damaged fields yield none.
#[must_use]
pub fn read(bytes: &[u8], container: Container) -> Claims {
    match container {
        Container::Jpeg => Claims {
            resolution_ppi: jfif_resolution(bytes),
            gamma: None,
        },
        Container::Png => from_png(bytes),
        // A TIFF's resolution is read with its EXIF tags; WebP has none of its own.
        Container::Tiff | Container::WebP => Claims::default(),
    }
}

/// JFIF APP0: unit (1 per inch, 2 per cm), then two 16-bit densities.
fn jfif_resolution(bytes: &[u8]) -> Option<f64> {
    let (_, at) = jpeg_segments(bytes)
        .find(|(marker, at)| *marker == 0xE0 && bytes[at.clone()].starts_with(b"JFIF\0"))?;
    let field = bytes[at].get(7..12)?;
    let density = |i: usize| f64::from(u16::from_be_bytes([field[i], field[i + 1]]));
    let inch = match field[0] {
        1 => 1.0,
        2 => 2.54,
        _ => return None,
    };
    square_ppi(density(1) * inch, density(3) * inch)
}

fn from_png(bytes: &[u8]) -> Claims {
    let mut claims = Claims::default();
    let mut has_better_colour = false;
    for (kind, data) in png_chunks(bytes).take_while(|(kind, _)| kind != b"IDAT") {
        match &kind {
            b"pHYs" => claims.resolution_ppi = physical(data),
            b"gAMA" => claims.gamma = gamma(data),
            b"iCCP" | b"sRGB" | b"cICP" => has_better_colour = true,
            _ => {}
        }
    }
    if has_better_colour {
        claims.gamma = None;
    }
    claims
}

/// Chunks of a PNG: four-letter name and data.
fn png_chunks(bytes: &[u8]) -> impl Iterator<Item = ([u8; 4], &[u8])> {
    let mut at = 8_usize;
    std::iter::from_fn(move || {
        let size = u32_at(bytes, at)? as usize;
        let kind = bytes.get(at + 4..at + 8)?.try_into().ok()?;
        let end = (at + 8).checked_add(size)?;
        let data = bytes.get(at + 8..end)?;
        at = end.checked_add(4)?;
        Some((kind, data))
    })
}

fn u32_at(bytes: &[u8], at: usize) -> Option<u32> {
    let four = bytes.get(at..at.checked_add(4)?)?;
    Some(u32::from_be_bytes(four.try_into().ok()?))
}

/// pHYs: px per unit in x and y, then the unit (1 = metre).
fn physical(data: &[u8]) -> Option<f64> {
    if *data.get(8)? != 1 {
        return None;
    }
    let inches_per_metre = 39.370_078_74;
    let side = |at| u32_at(data, at).map(|v| f64::from(v) / inches_per_metre);
    square_ppi(side(0)?, side(4)?)
}

/// gAMA holds 100 000 / γ. A value of 1/2.2 stands for sRGB in practice and is left to it.
fn gamma(data: &[u8]) -> Option<f64> {
    let stored = f64::from(u32_at(data, 0)?);
    let gamma = 1e5 / stored;
    let srgb_like = (gamma - 2.2).abs() < 0.02;
    let plausible = (0.9..=4.0).contains(&gamma);
    (plausible && !srgb_like).then_some(gamma)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_jfif_density_in_centimetres_becomes_inches() {
        let mut bytes = vec![0xFF, 0xD8, 0xFF, 0xE0, 0, 16];
        bytes.extend(b"JFIF\0\x01\x02\x02");
        bytes.extend([0x01, 0xD8, 0x01, 0xD8, 0, 0]);
        let claims = read(&bytes, Container::Jpeg);
        let ppi = claims.resolution_ppi.expect("a density");
        assert!((ppi - 472.0 * 2.54).abs() < 1e-9, "{ppi}");
    }

    #[test]
    fn unequal_sides_are_no_scale() {
        let mut bytes = vec![0xFF, 0xD8, 0xFF, 0xE0, 0, 16];
        bytes.extend(b"JFIF\0\x01\x02\x01");
        bytes.extend([0x01, 0x2C, 0x02, 0x58, 0, 0]);
        assert_eq!(read(&bytes, Container::Jpeg).resolution_ppi, None);
    }
}
