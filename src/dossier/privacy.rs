//! The personal data that a dossier holds, and photographs without their location.
//!
//! - [`blocks`]: the blocks of EXIF, of which a file may hold several.
//! - [`places`]: places written as text, as in XMP.
//! - [`jpeg`]: the segments of a JPEG file, and what stands behind its picture.
//! - [`png`]: the chunks of a PNG file, and texts in them unpacked.
//! - [`copies`]: copies of photographs without their location.

mod blocks;
mod copies;
mod jpeg;
mod places;
mod png;

pub use copies::without_location;

use super::contents::Contents;
use super::entry::{Deed, Entry, FileRef};
use super::line::Log;
use exif::{Exif, In, Tag, Value};
use std::collections::BTreeSet;

/// EXIF fields that tell of a person or of one person's camera.
const PERSONAL: &[(Tag, &str)] = &[
    (Tag::Artist, "artist"),
    (Tag::Copyright, "copyright"),
    (Tag::CameraOwnerName, "camera owner"),
    (Tag::BodySerialNumber, "camera serial number"),
    (Tag::LensSerialNumber, "lens serial number"),
];

/// What a photograph's file says of a place or a person.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Traces {
    /// The place where it was taken, in words, or that it may be there.
    pub location: Option<String>,
    /// Label and value of other personal data.
    pub personal: Vec<(&'static str, String)>,
}

/// Reads the traces in a photograph's file; damage yields fewer.
#[must_use]
pub fn traces(bytes: &[u8]) -> Traces {
    let blocks = blocks::of(bytes);
    let location = blocks
        .iter()
        .find_map(place_in_exif)
        .or_else(|| places::in_text(bytes).then(|| "a place in its XMP packet".to_owned()))
        .or_else(|| place_behind_picture(bytes));
    let field = |(tag, label): &(Tag, &'static str)| {
        let value = blocks.iter().find_map(|block| text_of(block, *tag))?;
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

/// A place in what stands behind the picture of a JPEG file, or that it may hold one: phones put a film
/// there, whose fields nothing here reads in full.
fn place_behind_picture(bytes: &[u8]) -> Option<String> {
    let jpeg = jpeg::Jpeg::of(bytes)?;
    let behind = jpeg.behind(bytes);
    // Some programs fill a file up.
    let says_something = |&b: &u8| !matches!(b, 0 | 0xff | b'\n' | b'\r' | b' ');
    if places::in_film(behind) {
        Some("a place in a film behind the picture".to_owned())
    } else {
        let may = behind.iter().any(says_something);
        may.then(|| "possibly, in what stands behind the picture, such as a film".to_owned())
    }
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
        .filter(|file| file.role.is_photograph())
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
