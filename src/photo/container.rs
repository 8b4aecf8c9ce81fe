//! What kind of file it is, from its first bytes; what cannot be read gets a sentence of its own.

/// A container this program reads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Container {
    /// JPEG, baseline or progressive.
    Jpeg,
    /// PNG.
    Png,
    /// TIFF, either byte order.
    Tiff,
    /// WebP, lossy or lossless.
    WebP,
}

impl Container {
    /// The name a cataloguer would write.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Jpeg => "JPEG",
            Self::Png => "PNG",
            Self::Tiff => "TIFF",
            Self::WebP => "WebP",
        }
    }

    /// The same format in the decoder's terms.
    #[must_use]
    pub fn image_format(self) -> image::ImageFormat {
        match self {
            Self::Jpeg => image::ImageFormat::Jpeg,
            Self::Png => image::ImageFormat::Png,
            Self::Tiff => image::ImageFormat::Tiff,
            Self::WebP => image::ImageFormat::WebP,
        }
    }
}

/// Why some bytes are not a readable picture, and what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    /// What the file is, or what is wrong with it.
    pub what: String,
    /// What to do next.
    pub mend: String,
}

impl Refusal {
    /// A refusal in words.
    #[must_use]
    pub fn new(what: impl Into<String>, mend: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            mend: mend.into(),
        }
    }
}

const EXPORT_JPEG: &str =
    "export it as JPEG at full size and highest quality, and give the exported file";

/// Formats recognised only to say what to do: first bytes, and what they mean.
const FOREIGN: &[(&[u8], &str, &str)] = &[
    (
        b"%PDF",
        "this is a PDF document, not a photograph",
        "save the picture in it as JPEG or PNG at its own resolution",
    ),
    (b"FUJIFILMCCD-RAW", "this is a camera raw file", EXPORT_JPEG),
    (b"IIU\0", "this is a camera raw file", EXPORT_JPEG),
    (b"IIRO", "this is a camera raw file", EXPORT_JPEG),
    (b"IIRS", "this is a camera raw file", EXPORT_JPEG),
    (b"MMOR", "this is a camera raw file", EXPORT_JPEG),
    (b"FOVb", "this is a camera raw file", EXPORT_JPEG),
    (
        b"GIF8",
        "this is a GIF, which keeps at most 256 colours",
        "give the photograph it was made from, as JPEG, PNG or TIFF",
    ),
    (
        b"8BPS",
        "this is a layered image-editor document",
        "export it flattened as TIFF or PNG",
    ),
    (b"\xFF\x0A", "this is a JPEG XL file", EXPORT_JPEG),
    (b"\0\0\0\x0CJXL ", "this is a JPEG XL file", EXPORT_JPEG),
    (
        b"\0\0\0\x0CjP  ",
        "this is a JPEG 2000 file",
        "convert it to TIFF or PNG, which loses nothing",
    ),
    (
        b"II+\0",
        "this is a BigTIFF, which is not read here",
        "save it as an ordinary TIFF or PNG",
    ),
    (
        b"MM\0+",
        "this is a BigTIFF, which is not read here",
        "save it as an ordinary TIFF or PNG",
    ),
    (
        b"AT&TFORM",
        "this is a DjVu document",
        "export the page as TIFF or PNG",
    ),
    (
        b"PK\x03\x04",
        "this is a ZIP archive or an office document",
        "unpack it and give the picture inside",
    ),
    (
        b"BM",
        "this is a BMP bitmap",
        "save it as PNG, which loses nothing",
    ),
];

/// The refusal of a camera's raw file.
#[must_use]
pub fn camera_raw() -> Refusal {
    Refusal::new("this is a camera raw file", EXPORT_JPEG)
}

/// Recognises the container by its first bytes.
///
/// # Errors
/// A [`Refusal`] with a sentence on what the bytes are and what to do.
pub fn recognise(bytes: &[u8]) -> Result<Container, Refusal> {
    if bytes.is_empty() {
        return Err(Refusal::new(
            "the file is empty",
            "copy it again from the camera or phone",
        ));
    }
    if bytes.starts_with(b"\xFF\xD8\xFF") {
        return Ok(Container::Jpeg);
    }
    if bytes.starts_with(b"\x89PNG\r\n\x1A\n") {
        return Ok(Container::Png);
    }
    if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
        return Ok(Container::WebP);
    }
    if bytes.starts_with(b"II*\0") || bytes.starts_with(b"MM\0*") {
        // Canon's CR2 is a TIFF with its own mark behind the header.
        return if bytes.get(8..10) == Some(b"CR") {
            Err(camera_raw())
        } else {
            Ok(Container::Tiff)
        };
    }
    Err(foreign(bytes))
}

fn foreign(bytes: &[u8]) -> Refusal {
    if bytes.get(4..8) == Some(b"ftyp") {
        return from_brand(bytes.get(8..12).unwrap_or_default());
    }
    if let Some((_, what, mend)) = FOREIGN.iter().find(|(mark, _, _)| bytes.starts_with(mark)) {
        return Refusal::new(*what, *mend);
    }
    let head = &bytes[..bytes.len().min(1024)];
    if is_text(head) {
        return from_text(head);
    }
    Refusal::new(
        "these bytes are no picture that can be read here",
        "save the photograph as JPEG, PNG, TIFF or WebP",
    )
}

/// The brand of an ISO base media file says what is in it.
fn from_brand(brand: &[u8]) -> Refusal {
    match brand {
        b"heic" | b"heix" | b"hevc" | b"heim" | b"heis" | b"mif1" | b"msf1" => Refusal::new(
            "this is a HEIC photograph, which is not read here",
            format!(
                "{EXPORT_JPEG} (on an iPhone: Settings, Camera, Formats, Most Compatible for the next ones)"
            ),
        ),
        b"avif" | b"avis" => Refusal::new(
            "this is an AVIF picture, which is not read here",
            EXPORT_JPEG,
        ),
        b"crx " => camera_raw(),
        _ => Refusal::new(
            "this is a film, not a photograph",
            "give a still photograph",
        ),
    }
}

fn is_text(head: &[u8]) -> bool {
    let valid = match std::str::from_utf8(head) {
        Ok(_) => true,
        // A character cut at the end of the sample is no fault.
        Err(error) => error.error_len().is_none() && error.valid_up_to() > 0,
    };
    let control = |b: &u8| *b < 0x20 && !matches!(b, b'\n' | b'\r' | b'\t' | 0x0C);
    valid && !head.iter().any(control)
}

fn from_text(head: &[u8]) -> Refusal {
    let lower = String::from_utf8_lossy(head).to_lowercase();
    if lower.contains("<svg") {
        return Refusal::new(
            "this is an SVG drawing, not a photograph",
            "give a photograph of the print itself",
        );
    }
    if lower.contains("<html") || lower.contains("<!doctype") {
        return Refusal::new(
            "this is a web page under a picture's name",
            "download the picture itself, at full size",
        );
    }
    Refusal::new(
        "this is text, not a picture",
        "give the photograph as JPEG, PNG, TIFF or WebP",
    )
}

/// True when a JPEG ends before its picture does: no end-of-image mark behind the first scan.
/// A decoder would fill the rest with grey, which would then be measured as paper.
#[must_use]
pub fn is_cut_jpeg(bytes: &[u8]) -> bool {
    let Some(scan) = jpeg_scan_start(bytes) else {
        return true;
    };
    !bytes[scan..].windows(2).any(|pair| pair == [0xFF, 0xD9])
}

/// Segments of a JPEG up to its first scans: marker, and where its payload stands in `bytes`.
pub fn jpeg_segments(bytes: &[u8]) -> impl Iterator<Item = (u8, std::ops::Range<usize>)> {
    let mut at = 2;
    std::iter::from_fn(move || {
        loop {
            let marker = *bytes.get(at + 1)?;
            match (bytes.get(at)?, marker) {
                // Fill bytes may stand before a marker.
                (0xFF, 0xFF) => at += 1,
                (0xFF, 0xD9) => return None,
                (0xFF, 0x01 | 0xD0..=0xD8) => at += 2,
                (0xFF, _) => {
                    let size = usize::from(u16::from_be_bytes([
                        *bytes.get(at + 2)?,
                        *bytes.get(at + 3)?,
                    ]));
                    let payload = at + 4..at + 2 + size;
                    bytes.get(payload.clone())?;
                    at = payload.end;
                    return Some((marker, payload));
                }
                _ => at += 1,
            }
        }
    })
}

/// Offset of the entropy-coded data behind the first start-of-scan segment.
fn jpeg_scan_start(bytes: &[u8]) -> Option<usize> {
    jpeg_segments(bytes)
        .find(|(marker, _)| *marker == 0xDA)
        .map(|(_, payload)| payload.end)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_foreign_format_gets_its_own_advice() {
        let cases: [(&[u8], &str); 8] = [
            (b"", "empty"),
            (b"\0\0\0\x18ftypheic\0\0\0\0", "HEIC"),
            (b"%PDF-1.7 ...", "PDF"),
            (b"<?xml version='1.0'?><svg/>", "SVG"),
            (b"<!DOCTYPE html><html>", "web page"),
            (b"just a note\n", "text"),
            (b"II*\0\x10\0\0\0CR\x02\0", "raw"),
            (b"\x01\x02\x03\x04\x05", "no picture"),
        ];
        for (bytes, word) in cases {
            let refusal = recognise(bytes).expect_err("no picture");
            assert!(refusal.what.contains(word), "{}: {word}", refusal.what);
            assert!(!refusal.mend.is_empty());
        }
    }

    #[test]
    fn a_jpeg_without_its_end_is_seen_as_cut() {
        let whole = [
            0xFF, 0xD8, 0xFF, 0xDA, 0x00, 0x03, 0x01, 0x55, 0x55, 0xFF, 0xD9,
        ];
        assert!(!is_cut_jpeg(&whole));
        for cut in 0..whole.len() {
            assert!(is_cut_jpeg(&whole[..cut]), "cut at {cut}");
        }
    }
}
