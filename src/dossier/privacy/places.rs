//! Places written as text in a photograph's file, as in XMP, whatever they are packed in.

use super::copies::{XMP_CHUNK, XMP_MARK, chunks_of_webp, packet_of_tiff};
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

/// Names that tell a place in an XMP packet, in small and capital letters alike: makers of cameras and
/// drones have fields of their own. Rather too many packets are left out of a copy than one too few.
const IN_PACKETS: [&str; 3] = ["gps", "geo:lat", "geo:long"];
/// The name of a place in a film, as phones put one behind a picture: the sign © in one byte, "xyz"
/// (QuickTime File Format, user data).
const IN_FILMS: &[u8] = b"\xa9xyz";

/// Whether a file tells a place in text.
pub(super) fn in_text(bytes: &[u8]) -> bool {
    names_place(bytes)
        || names_place(&joined_parts(bytes))
        || png::texts(bytes).any(|(_, text)| names_place(&text))
        || png::profiles(bytes).any(|profile| names_place(&profile))
        || packets(bytes).iter().any(|packet| in_packet(packet))
}

/// Whether what stands behind a picture tells a place.
pub(super) fn in_film(bytes: &[u8]) -> bool {
    find(bytes, IN_FILMS, 0).is_some()
}

/// Whether an XMP packet tells a place, or may.
pub(super) fn in_packet(packet: &[u8]) -> bool {
    (0..packet.len()).any(|at| {
        let told = |letter| {
            let mut names = IN_PACKETS.iter();
            names.any(|name| spelt_in_any_case(packet, at, letter, name))
        };
        LETTERS.into_iter().any(told)
    })
}

/// The XMP packets of a file.
fn packets(bytes: &[u8]) -> Vec<Vec<u8>> {
    let segments = segments(bytes, XMP_MARK).into_iter();
    let chunks = chunks_of_webp(bytes).into_iter();
    let chunks = chunks.filter_map(|(kind, data)| (kind == XMP_CHUNK).then_some(data));
    let field = match bytes {
        [b'I', b'I', ..] | [b'M', b'M', ..] => packet_of_tiff(&mut bytes.to_vec()),
        _ => None,
    };
    let mut all: Vec<Vec<u8>> = segments
        .chain(chunks)
        .chain(field)
        .filter_map(|packet| Some(bytes.get(packet)?.to_vec()))
        .collect();
    let texts = png::texts(bytes).filter(|(keyword, _)| *keyword == png::XMP_KEYWORD);
    all.extend(texts.map(|(_, text)| text));
    all.push(joined_parts(bytes));
    all
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
    written(bytes, at, letter, name).is_some_and(|mut pairs| pairs.all(|(is, should)| is == should))
}

fn spelt_in_any_case(bytes: &[u8], at: usize, letter: usize, name: &str) -> bool {
    written(bytes, at, letter, name)
        .is_some_and(|mut pairs| pairs.all(|(is, should)| is.eq_ignore_ascii_case(&should)))
}

/// The bytes at a place, each with the one that a name would have there.
fn written<'a>(
    bytes: &'a [u8],
    at: usize,
    letter: usize,
    name: &'a str,
) -> Option<impl Iterator<Item = (u8, u8)> + 'a> {
    let end = at + (name.len() - 1) * letter;
    let found = bytes.get(at..=end)?.iter().enumerate();
    Some(found.map(move |(i, &is)| {
        let of_letter = i.is_multiple_of(letter);
        let should = if of_letter {
            name.as_bytes()[i / letter]
        } else {
            0
        };
        (is, should)
    }))
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
