//! The personal data that a dossier holds, and photographs without their location.

use super::contents::Contents;
use super::entry::{Deed, Entry, FileRef, Role};
use super::line::Log;
use exif::{Exif, In, Reader, Tag, Value};
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
    let text = match &field.value {
        // Fields padded with zero bytes come as several strings, the first of which is the text.
        Value::Ascii(parts) => String::from_utf8_lossy(parts.first()?).into_owned(),
        _ => field.display_value().to_string(),
    };
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
mod tests;
