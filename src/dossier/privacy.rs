//! The personal data that a dossier holds, and photographs without their location.

use super::contents::Contents;
use super::entry::{Deed, Entry, FileRef, Role};
use super::line::Log;
use exif::{Exif, In, Reader, Tag};
use std::collections::BTreeSet;
use std::io::Cursor;
use std::ops::Range;

/// EXIF fields that tell of a person or of one person's camera.
const PERSONAL: &[(Tag, &str)] = &[
    (Tag::Artist, "artist"),
    (Tag::Copyright, "copyright"),
    (Tag::CameraOwnerName, "camera owner"),
    (Tag::BodySerialNumber, "camera serial number"),
    (Tag::LensSerialNumber, "lens serial number"),
];
/// EXIF's pointer to the block of places (Exif 2.32, 4.6.3).
const GPS_POINTER: u16 = 0x8825;
/// How an EXIF block begins in a JPEG file (Exif 2.32, 4.7.2).
const EXIF_MARK: &[u8] = b"Exif\0\0";
/// How a packet of XMP, and a part of one that is too long for a segment, begin in a JPEG file (XMP
/// specification part 3, 1.1.3).
const XMP_MARK: &[u8] = b"http://ns.adobe.com/xap/1.0/\0";
const XMP_PART_MARK: &[u8] = b"http://ns.adobe.com/xmp/extension/\0";
/// Places in XMP are written in fields whose names begin so, whatever stands around them: the
/// element around a packet may be left out (XMP specification part 1, 7.3.3).
const XMP_PLACE: &[u8] = b"exif:GPS";

/// What a photograph's file says of a place or a person.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Traces {
    /// The place where it was taken, in words.
    pub location: Option<String>,
    /// Label and value of other personal data.
    pub personal: Vec<(&'static str, String)>,
}

/// Reads the traces in a photograph's file; damage yields fewer.
#[must_use]
pub fn traces(bytes: &[u8]) -> Traces {
    let exif = Reader::new()
        .continue_on_error(true)
        .read_from_container(&mut Cursor::new(bytes))
        .or_else(|error| error.distill_partial_result(|_| ()))
        .ok();
    let location = exif
        .as_ref()
        .and_then(place_in_exif)
        .or_else(|| contains(bytes, XMP_PLACE).then(|| "a place in its XMP packet".to_owned()));
    let field = |(tag, label): &(Tag, &'static str)| {
        let value = text_of(exif.as_ref()?, *tag)?;
        Some((*label, value))
    };
    Traces {
        location,
        personal: PERSONAL.iter().filter_map(field).collect(),
    }
}

fn text_of(exif: &Exif, tag: Tag) -> Option<String> {
    let field = exif.get_field(tag, In::PRIMARY)?;
    let text = field.display_value().to_string();
    let plain: String = text.chars().filter(|c| !c.is_control()).collect();
    let plain = plain.trim_matches(['"', ' ']).to_owned();
    (!plain.is_empty()).then_some(plain)
}

fn place_in_exif(exif: &Exif) -> Option<String> {
    let side = |tag, letter| {
        let value = text_of(exif, tag)?;
        Some(format!(
            "{value} {}",
            text_of(exif, letter).unwrap_or_default()
        ))
    };
    let latitude = side(Tag::GPSLatitude, Tag::GPSLatitudeRef);
    let longitude = side(Tag::GPSLongitude, Tag::GPSLongitudeRef);
    match (latitude, longitude) {
        (Some(latitude), Some(longitude)) => Some(format!("{latitude}, {longitude}")),
        (None, None) => exif
            .fields()
            .any(|f| f.tag.context() == exif::Context::Gps)
            .then(|| "part of a place".to_owned()),
        (one, other) => one.or(other),
    }
}

fn contains(bytes: &[u8], what: &[u8]) -> bool {
    find(bytes, what, 0).is_some()
}

fn find(bytes: &[u8], what: &[u8], from: usize) -> Option<usize> {
    let place = bytes
        .get(from..)?
        .windows(what.len())
        .position(|w| w == what)?;
    Some(from + place)
}

/// What the APP1 segments of a JPEG file with a mark hold behind it. A segment ends where its length
/// says, and never behind the end of the file: nothing outside is read as part of it, or blanked.
/// Other pictures in the file have such segments too; pixels cannot hold the start of one, as 0xff
/// is written there as 0xff 0x00.
fn segments(bytes: &[u8], mark: &[u8]) -> Vec<Range<usize>> {
    let mut all = Vec::new();
    let mut from = 0;
    while let Some(at) = find(bytes, mark, from) {
        from = at + mark.len();
        let Some(length_at) = at.checked_sub(2) else {
            continue;
        };
        let app1 = length_at
            .checked_sub(2)
            .is_some_and(|start| bytes[start..length_at] == [0xff, 0xe1]);
        let length = usize::from(u16::from_be_bytes([bytes[length_at], bytes[length_at + 1]]));
        let end = (length_at + length).min(bytes.len());
        if app1 && end >= from {
            all.push(from..end);
        }
    }
    all
}

/// A copy of a JPEG file without its location, its pixels untouched byte for byte: the EXIF block
/// of places is taken out and XMP packets that hold a place are blanked. `None` where the file is
/// no JPEG, is damaged where places are kept, or still holds a place afterwards.
#[must_use]
pub fn without_location(bytes: &[u8]) -> Option<Vec<u8>> {
    if !bytes.starts_with(&[0xff, 0xd8]) {
        return None;
    }
    let mut copy = bytes.to_vec();
    for block in segments(bytes, EXIF_MARK) {
        take_places_out(&mut copy[block])?;
    }
    if contains(bytes, XMP_PLACE) {
        let packets = segments(bytes, XMP_MARK).into_iter();
        let holding = packets.filter(|packet| contains(&bytes[packet.clone()], XMP_PLACE));
        // A name may be broken between two parts, so all parts go.
        for packet in holding.chain(segments(bytes, XMP_PART_MARK)) {
            copy[packet].fill(b' ');
        }
    }
    traces(&copy).location.is_none().then_some(copy)
}

/// A TIFF block with its byte order.
struct Tiff<'a> {
    bytes: &'a mut [u8],
    little: bool,
}

impl Tiff<'_> {
    fn u16(&self, at: usize) -> Option<u16> {
        let two: [u8; 2] = self.bytes.get(at..at + 2)?.try_into().ok()?;
        Some(if self.little {
            u16::from_le_bytes(two)
        } else {
            u16::from_be_bytes(two)
        })
    }

    fn u32(&self, at: usize) -> Option<usize> {
        let four: [u8; 4] = self.bytes.get(at..at.checked_add(4)?)?.try_into().ok()?;
        let value = if self.little {
            u32::from_le_bytes(four)
        } else {
            u32::from_be_bytes(four)
        };
        usize::try_from(value).ok()
    }

    fn set_u16(&mut self, at: usize, value: u16) -> Option<()> {
        let two = if self.little {
            value.to_le_bytes()
        } else {
            value.to_be_bytes()
        };
        self.bytes.get_mut(at..at + 2)?.copy_from_slice(&two);
        Some(())
    }

    fn blank(&mut self, from: usize, length: usize) -> Option<()> {
        self.bytes.get_mut(from..from.checked_add(length)?)?.fill(0);
        Some(())
    }
}

/// Bytes of an entry in a directory of a TIFF file, and of its count (TIFF 6.0, section 2).
const ENTRY: usize = 12;
const COUNT: usize = 2;

/// Blanks the directory of places and takes the pointer to it out of the first directory.
fn take_places_out(bytes: &mut [u8]) -> Option<()> {
    let little = match bytes.get(..2)? {
        b"II" => true,
        b"MM" => false,
        _ => return None,
    };
    let mut tiff = Tiff { bytes, little };
    let first = tiff.u32(4)?;
    let count = tiff.u16(first)?;
    for index in 0..usize::from(count) {
        let entry = first + COUNT + index * ENTRY;
        if tiff.u16(entry)? != GPS_POINTER {
            continue;
        }
        let places = tiff.u32(entry + 8)?;
        blank_directory(&mut tiff, places)?;
        // The entries behind, and the link to the next directory, move up by one place.
        let end = first + COUNT + usize::from(count) * ENTRY + 4;
        if end > tiff.bytes.len() {
            return None;
        }
        tiff.bytes.copy_within(entry + ENTRY..end, entry);
        tiff.blank(end - ENTRY, ENTRY)?;
        return tiff.set_u16(first, count - 1);
    }
    Some(())
}

fn blank_directory(tiff: &mut Tiff<'_>, at: usize) -> Option<()> {
    // Bytes a value of each type takes (TIFF 6.0, section 2), from type 1 on.
    const SIZES: [usize; 12] = [1, 1, 2, 4, 8, 1, 1, 2, 4, 8, 4, 8];
    let count = usize::from(tiff.u16(at)?);
    for index in 0..count {
        let entry = at + COUNT + index * ENTRY;
        let kind = usize::from(tiff.u16(entry + 2)?);
        let size = SIZES.get(kind.wrapping_sub(1)).copied().unwrap_or(1);
        let length = size.checked_mul(tiff.u32(entry + 4)?)?;
        if length > 4 {
            let place = tiff.u32(entry + 8)?;
            tiff.blank(place, length)?;
        }
    }
    tiff.blank(at, COUNT + count * ENTRY)
}

/// Photographs of the dossier that hold a location, with it.
#[must_use]
pub fn located(contents: &dyn Contents, log: &Log) -> Vec<(FileRef, String)> {
    photographs(log)
        .into_iter()
        .filter_map(|file| {
            let bytes = contents.read(&file.path).ok()?;
            Some((file, traces(&bytes).location?))
        })
        .collect()
}

fn photographs(log: &Log) -> Vec<FileRef> {
    let mut seen = BTreeSet::new();
    log.entries()
        .flat_map(|entry| &entry.files)
        .filter(|file| matches!(file.role, Role::Photograph | Role::Rule))
        .filter(|file| seen.insert(file.path.clone()))
        .cloned()
        .collect()
}

/// The personal data that a dossier holds, a sentence each. With `tell_places` coordinates are
/// spelt out, else only that there are some.
#[must_use]
pub fn held(contents: &dyn Contents, log: &Log, tell_places: bool) -> Vec<String> {
    let mut held = Vec::new();
    let authors: BTreeSet<&str> = log.entries().map(|e| e.author.as_str()).collect();
    let signed = log.entries().filter(|e| e.key.is_some()).count();
    let authors: Vec<String> = authors.into_iter().map(str::to_owned).collect();
    held.push(format!(
        "Names of the authors of entries ({}), the times of their entries{}.",
        authors.join(", "),
        if signed > 0 {
            " and their public keys"
        } else {
            ""
        }
    ));
    // What was corrected since still stands in the log.
    let names_owners = |entry: &Entry| match &entry.deed {
        Deed::Begin(particulars) => particulars.provenance.is_some(),
        Deed::Amendment(amendment) => amendment.particulars.contains_key("provenance"),
        _ => false,
    };
    if log.entries().any(names_owners) {
        held.push("Names of owners, where the provenance gives them.".into());
    }
    let amends = log.entries().any(|e| matches!(e.deed, Deed::Amendment(_)));
    if amends {
        held.push("Corrected entries: what they said before stays in the log.".into());
    }
    let mut clean = 0;
    for file in photographs(log) {
        let Ok(bytes) = contents.read(&file.path) else {
            continue;
        };
        let traces = traces(&bytes);
        if traces == Traces::default() {
            clean += 1;
            continue;
        }
        held.push(in_words(&file, &traces, tell_places));
    }
    if clean > 0 {
        held.push(format!(
            "In {} no location and no name was found.",
            match clean {
                1 => "one photograph".to_owned(),
                many => format!("{many} photographs"),
            }
        ));
    }
    held
}

fn in_words(file: &FileRef, traces: &Traces, tell_places: bool) -> String {
    let mut parts = Vec::new();
    if let Some(place) = &traces.location {
        parts.push(if tell_places {
            format!("the place where it was taken ({place})")
        } else {
            "the place where it was taken (left out here)".into()
        });
    }
    for (label, value) in &traces.personal {
        parts.push(format!("{label} \"{value}\""));
    }
    format!(
        "The file of the {} {} holds {}.",
        file.role.name(),
        file.name,
        parts.join(", ")
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use exif::experimental::Writer;
    use exif::{Field, Rational, Value};

    /// A JPEG file with a place, an owner, an orientation and an XMP packet.
    fn located_jpeg() -> Vec<u8> {
        jpeg_with(
            true,
            b"<x:xmpmeta xmlns:x=\"adobe:ns:meta/\" exif:GPSLatitude=\"51,30N\"></x:xmpmeta>",
        )
    }

    fn jpeg_with(place_in_exif: bool, xmp: &[u8]) -> Vec<u8> {
        let mut file = Vec::new();
        let picture = image::RgbImage::from_fn(53, 37, |x, y| {
            image::Rgb([(x * 4) as u8, (y * 6) as u8, 90])
        });
        image::codecs::jpeg::JpegEncoder::new(&mut file)
            .encode_image(&picture)
            .unwrap();
        let degrees = |d: u32| Value::Rational(vec![(d, 1).into(), (30, 1).into(), (0, 1).into()]);
        let ascii = |text: &str| Value::Ascii(vec![text.as_bytes().to_vec()]);
        let fields = [
            (Tag::Orientation, Value::Short(vec![6])),
            (Tag::CameraOwnerName, ascii("A. Bidder")),
            (Tag::GPSLatitudeRef, ascii("N")),
            (Tag::GPSLatitude, degrees(51)),
            (Tag::GPSLongitudeRef, ascii("W")),
            (Tag::GPSLongitude, degrees(2)),
            (
                Tag::XResolution,
                Value::Rational(vec![Rational { num: 72, denom: 1 }]),
            ),
        ]
        .map(|(tag, value)| Field {
            tag,
            ifd_num: In::PRIMARY,
            value,
        });
        let mut writer = Writer::new();
        let wanted = |field: &&Field| place_in_exif || field.tag.context() != exif::Context::Gps;
        for field in fields.iter().filter(wanted) {
            writer.push_field(field);
        }
        let mut block = Cursor::new(Vec::new());
        writer.write(&mut block, false).unwrap();
        let exif = [EXIF_MARK, block.get_ref()].concat();
        let xmp = [XMP_MARK, xmp].concat();
        let mut out = file[..2].to_vec();
        for segment in [exif, xmp] {
            out.extend([0xff, 0xe1]);
            out.extend((segment.len() as u16 + 2).to_be_bytes());
            out.extend(segment);
        }
        out.extend(&file[2..]);
        out
    }

    #[test]
    fn places_and_persons_are_found() {
        let traces = traces(&located_jpeg());
        assert_eq!(
            traces.location.as_deref(),
            Some("51 deg 30 min 0 sec N, 2 deg 30 min 0 sec W")
        );
        assert_eq!(traces.personal, [("camera owner", "A. Bidder".to_owned())]);
        assert_eq!(super::traces(b"no picture"), Traces::default());
    }

    #[test]
    fn a_copy_without_its_place_keeps_all_else() {
        let original = located_jpeg();
        let copy = without_location(&original).unwrap();
        assert_eq!(copy.len(), original.len());
        let after = traces(&copy);
        assert_eq!(after.location, None);
        assert_eq!(after.personal, traces(&original).personal);
        assert!(!contains(&copy, b"GPSLatitude"));
        let exif = Reader::new()
            .read_from_container(&mut Cursor::new(&copy))
            .unwrap();
        let turned = exif.get_field(Tag::Orientation, In::PRIMARY).unwrap();
        assert_eq!(turned.value.get_uint(0), Some(6));
        let decode = |bytes: &[u8]| image::load_from_memory(bytes).unwrap().into_rgb8();
        assert_eq!(decode(&copy), decode(&original));
    }

    #[test]
    fn a_place_in_xmp_is_found_whatever_stands_around_it() {
        for xmp in [
            &b"<rdf:RDF><rdf:Description><exif:GPSLatitude>51,30N</exif:GPSLatitude>"[..],
            b"<x:xmpmeta exif:GPSLongitude='2,30W'>",
        ] {
            let original = jpeg_with(false, xmp);
            let found = traces(&original).location;
            assert_eq!(found.as_deref(), Some("a place in its XMP packet"));
            let copy = without_location(&original).unwrap();
            assert_eq!(traces(&copy).location, None);
            assert_eq!(copy.len(), original.len());
        }
        assert_eq!(traces(&jpeg_with(false, b"<rdf:RDF/>")).location, None);
    }

    #[test]
    fn nothing_outside_a_segment_is_touched() {
        let original = located_jpeg();
        let block = segments(&original, EXIF_MARK)[0].clone();
        assert!(original[block.end..].starts_with(&[0xff, 0xe1]));
        // The latitude is said to lie behind the segment, among the pixels.
        let latitude = [0, 2, 0, 5, 0, 0, 0, 3];
        let at = find(&original, &latitude, block.start).unwrap() + latitude.len();
        let mut astray = original.clone();
        astray[at..at + 4].copy_from_slice(&(block.len() as u32 + 40).to_be_bytes());
        assert_eq!(without_location(&astray), None);
        // A segment that runs past the end of the file ends with it.
        let cut = &original[..block.end - 9];
        assert_eq!(segments(cut, EXIF_MARK)[0], block.start..cut.len());
        assert!(segments(EXIF_MARK, EXIF_MARK).is_empty());
    }

    #[test]
    fn what_cannot_be_freed_of_its_place_is_not_passed_off_as_free() {
        assert_eq!(without_location(b"\x89PNG\r\n\x1a\n"), None);
        // Any damage must end in no copy or one without a place, and in no accident.
        let original = located_jpeg();
        for at in 0..original.len().min(700) {
            let mut damaged = original.clone();
            damaged[at] ^= 0xff;
            if let Some(copy) = without_location(&damaged) {
                assert_eq!(traces(&copy).location, None);
            }
        }
    }
}
