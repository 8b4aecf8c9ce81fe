//! Places written as text in a photograph's file, as in XMP, whatever they are packed in.

use super::png;
use std::ops::Range;

/// How a part of an XMP packet that is too long for one segment begins in a JPEG file, and bytes of
/// what stands before its text: a name, a length and a place (XMP specification part 3, 1.1.3.1).
pub(super) const XMP_PART_MARK: &[u8] = b"http://ns.adobe.com/xmp/extension/\0";
const BEFORE_PART: usize = 40;
/// How all fields of places are called, and how those go on that tell one. What stands before is no
/// part of the name: each program may choose another prefix for the namespace, or none.
const FIELD: &str = "GPS";
const TELLING: [&str; 7] = [
    "Latitude",
    "Longitude",
    "Position",
    "Coordinates",
    "Altitude",
    "Dest",
    "AreaInformation",
];
/// The usual prefix; with it every field of places is known, whatever it is called.
const USUAL_PREFIX: &str = "exif:";
/// Bytes that a letter takes: XMP may be written in UTF-8, UTF-16 or UTF-32, in either byte order
/// (XMP specification part 1, 7.2).
const LETTERS: [usize; 3] = [1, 2, 4];

/// Whether a file tells a place in text.
pub(super) fn in_text(bytes: &[u8]) -> bool {
    names_place(bytes)
        || names_place(&joined_parts(bytes))
        || png::texts(bytes).any(|text| names_place(&text))
        || png::profiles(bytes).any(|profile| names_place(&profile))
}

/// Whether bytes hold the name of a field that tells a place.
pub(super) fn names_place(bytes: &[u8]) -> bool {
    let telling = |at: usize, letter: usize| {
        let behind = at + FIELD.len() * letter;
        let before = at.checked_sub(USUAL_PREFIX.len() * letter);
        TELLING.iter().any(|t| spelt(bytes, behind, letter, t))
            || before.is_some_and(|before| spelt(bytes, before, letter, USUAL_PREFIX))
    };
    let initial = FIELD.as_bytes()[0];
    bytes.iter().enumerate().any(|(at, &byte)| {
        byte == initial
            && LETTERS
                .iter()
                .any(|&letter| spelt(bytes, at, letter, FIELD) && telling(at, letter))
    })
}

/// Whether a name stands at a place, each of its letters taking some bytes. What follows its last
/// letter is not looked at, so that both byte orders are alike.
fn spelt(bytes: &[u8], at: usize, letter: usize, name: &str) -> bool {
    let end = at + (name.len() - 1) * letter;
    let Some(found) = bytes.get(at..=end) else {
        return false;
    };
    let is = |i: usize| {
        if i.is_multiple_of(letter) {
            name.as_bytes()[i / letter]
        } else {
            0
        }
    };
    found.iter().enumerate().all(|(i, &byte)| byte == is(i))
}

/// The parts of a long XMP packet in a JPEG file after one another: a name may be broken between two.
fn joined_parts(bytes: &[u8]) -> Vec<u8> {
    segments(bytes, XMP_PART_MARK)
        .into_iter()
        .filter_map(|part| bytes[part].get(BEFORE_PART..))
        .collect::<Vec<_>>()
        .concat()
}

pub(super) fn find(bytes: &[u8], what: &[u8], from: usize) -> Option<usize> {
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
pub(super) fn segments(bytes: &[u8], mark: &[u8]) -> Vec<Range<usize>> {
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
