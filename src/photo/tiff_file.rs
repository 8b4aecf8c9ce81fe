//! What the first directory of a TIFF says beyond what the general decoder passes on.

use super::container::Refusal;
use std::io::Cursor;
use tiff::decoder::{Decoder, Limits, ifd::Value};
use tiff::tags::Tag;

/// Bit of NewSubfileType that marks a reduced copy of another picture in the file (TIFF 6.0, page 36).
const REDUCED: u32 = 1;
/// Values of the tag Compression for JPEG inside a TIFF: of TIFF 6.0, and of its technical note 2.
const JPEG_INSIDE: [u32; 2] = [6, 7];
/// Values of the tag SampleFormat: unsigned and signed whole numbers (TIFF 6.0, page 80).
const WHOLE_NUMBERS: [u32; 2] = [1, 2];
/// Bits of the widest whole numbers that are read.
const WIDEST_BITS: u32 = 16;
/// More directories than these are not counted.
const MOST_PAGES: usize = 1000;

/// What was found.
#[derive(Debug, Default)]
pub struct TiffFacts {
    /// Embedded ICC profile.
    pub icc: Option<Vec<u8>>,
    /// Pictures in the file; the first is read.
    pub pages: usize,
}

/// Looks into the first directory.
///
/// # Errors
/// A [`Refusal`] for a picture that would be read wrongly, or only refused in words that help nobody.
pub fn look(bytes: &[u8]) -> Result<TiffFacts, Refusal> {
    let Ok(decoder) = Decoder::new(Cursor::new(bytes)) else {
        // The general decoder says what is wrong with it.
        return Ok(TiffFacts::default());
    };
    // A profile may be larger than the picture; it is never larger than the file.
    let mut limits = Limits::default();
    limits.ifd_value_size = bytes.len();
    limits.decoding_buffer_size = bytes.len().saturating_mul(size_of::<Value>());
    let mut decoder = decoder.with_limits(limits);
    let number = |decoder: &mut Decoder<_>, tag| {
        let values = decoder.find_tag_unsigned_vec::<u32>(tag).ok().flatten();
        values.and_then(|values| values.first().copied())
    };
    if number(&mut decoder, Tag::NewSubfileType).is_some_and(|kind| kind & REDUCED != 0) {
        return Err(Refusal::new(
            "the first picture in this TIFF is a reduced preview of another one in it",
            "save the full picture alone, as TIFF or PNG",
        ));
    }
    if number(&mut decoder, Tag::Compression).is_some_and(|kind| JPEG_INSIDE.contains(&kind)) {
        return Err(Refusal::new(
            "this TIFF holds a picture compressed as JPEG, which is not read here",
            "save it again as JPEG at highest quality, or as TIFF without JPEG compression",
        ));
    }
    let bits = number(&mut decoder, Tag::BitsPerSample).unwrap_or(1);
    let format = number(&mut decoder, Tag::SampleFormat).unwrap_or(WHOLE_NUMBERS[0]);
    if bits > WIDEST_BITS && WHOLE_NUMBERS.contains(&format) {
        return Err(Refusal::new(
            format!("this TIFF holds whole numbers of {bits} bits, more than are read here"),
            "save it again with 8 or 16 bits a channel",
        ));
    }
    let icc = decoder.get_tag_u8_vec(Tag::IccProfile).ok();
    let mut pages = 1;
    while pages < MOST_PAGES && decoder.more_images() && decoder.next_image().is_ok() {
        pages += 1;
    }
    Ok(TiffFacts { icc, pages })
}
