//! What the file itself says of how the picture was taken.

use super::container::Container;
use exif::{Exif, In, Reader, Tag, Value};

/// Longest text taken over from a file, in characters: labels are short, abuse is long.
const LONGEST_TEXT: usize = 80;

/// Facts from the EXIF block.
#[derive(Debug, Default)]
pub struct Capture {
    /// Label and value, in reading order.
    pub facts: Vec<(String, String)>,
    /// The file says that a camera took it (exposure, aperture or focal length stand in it).
    pub by_camera: bool,
    /// A camera's raw file in a TIFF's clothes.
    pub is_raw: bool,
    /// EXIF says "Adobe RGB" (interoperability index R03, as DCF cameras write it).
    pub adobe_rgb: bool,
    /// Resolution tag, px per inch.
    pub resolution_ppi: Option<f64>,
}

/// Tags kept as provenance; a place is not among them.
const KEPT: &[(Tag, &str)] = &[
    (Tag::Make, "camera make"),
    (Tag::Model, "camera model"),
    (Tag::LensModel, "lens"),
    (Tag::DateTimeOriginal, "taken"),
    (Tag::ExposureTime, "exposure"),
    (Tag::FNumber, "aperture"),
    (Tag::PhotographicSensitivity, "ISO"),
    (Tag::FocalLength, "focal length"),
    (
        Tag::FocalLengthIn35mmFilm,
        "focal length (35 mm equivalent)",
    ),
    (Tag::DigitalZoomRatio, "digital zoom"),
    (Tag::Software, "software"),
];

/// Reads the EXIF block; damage in it is no fault of the picture and yields fewer facts.
#[must_use]
pub fn read(exif: Option<Vec<u8>>, bytes: &[u8], container: Container) -> Capture {
    let block = match (exif, container) {
        (Some(block), _) => block,
        // A TIFF file has the same structure as an EXIF block.
        (None, Container::Tiff) => bytes.to_vec(),
        (None, _) => return Capture::default(),
    };
    let read = Reader::new()
        .continue_on_error(true)
        .read_raw(block)
        .or_else(|error| error.distill_partial_result(|_| ()));
    match read {
        Ok(exif) => facts(&exif),
        Err(_) => Capture::default(),
    }
}

fn facts(exif: &Exif) -> Capture {
    let mut facts: Vec<(String, String)> = KEPT
        .iter()
        .filter_map(|(tag, label)| {
            let field = exif.get_field(*tag, In::PRIMARY)?;
            let value = tidy(&field.display_value().with_unit(exif).to_string());
            (!value.is_empty()).then(|| ((*label).to_owned(), value))
        })
        .collect();
    if has(exif, Tag::GPSLatitude) || has(exif, Tag::GPSDestLatitude) {
        facts.push(("location".into(), "location data present, not kept".into()));
    }
    let dng_version = Tag(exif::Context::Tiff, 50706);
    let sub_pictures = Tag(exif::Context::Tiff, 330);
    let reduced = uint(exif, Tag(exif::Context::Tiff, 254)).is_some_and(|v| v & 1 == 1);
    Capture {
        facts,
        by_camera: [Tag::ExposureTime, Tag::FNumber, Tag::FocalLength]
            .iter()
            .any(|tag| has(exif, *tag)),
        is_raw: has(exif, dng_version) || (reduced && has(exif, sub_pictures)),
        adobe_rgb: exif
            .get_field(Tag::InteroperabilityIndex, In::PRIMARY)
            .is_some_and(
                |f| matches!(&f.value, Value::Ascii(v) if v.iter().any(|t| t.starts_with(b"R03"))),
            ),
        resolution_ppi: resolution(exif),
    }
}

fn has(exif: &Exif, tag: Tag) -> bool {
    exif.get_field(tag, In::PRIMARY).is_some()
}

fn uint(exif: &Exif, tag: Tag) -> Option<u32> {
    exif.get_field(tag, In::PRIMARY)?.value.get_uint(0)
}

/// Printable characters only, without the quotes of text fields, not longer than a label.
fn tidy(text: &str) -> String {
    text.trim_matches(|c: char| c == '"' || c.is_whitespace())
        .chars()
        .filter(|c| !c.is_control())
        .take(LONGEST_TEXT)
        .collect()
}

/// The resolution tags in px per inch, where both sides agree within 1 %.
fn resolution(exif: &Exif) -> Option<f64> {
    let side = |tag| match &exif.get_field(tag, In::PRIMARY)?.value {
        Value::Rational(v) => v.first().map(exif::Rational::to_f64),
        _ => None,
    };
    let (x, y) = (side(Tag::XResolution)?, side(Tag::YResolution)?);
    let inch = match uint(exif, Tag::ResolutionUnit).unwrap_or(2) {
        2 => 1.0,
        3 => 2.54,
        _ => return None,
    };
    super::scale::square_ppi(x * inch, y * inch)
}
