//! The segments of a JPEG file's main picture, and what stands behind its end (ITU-T T.81, B.1).

use std::ops::Range;

const START: [u8; 2] = [0xff, 0xd8];
const END: u8 = 0xd9;
const START_OF_SCAN: u8 = 0xda;
const APP1: u8 = 0xe1;
const APP2: u8 = 0xe2;
/// How the list of further pictures in the file begins (CIPA DC-007, 5.2.2).
const FURTHER_PICTURES: &[u8] = b"MPF\0";

/// The main picture of a JPEG file, taken apart.
pub(super) struct Jpeg {
    /// Its segments with their pixels, in order, one after another from the start of the file on.
    pub(super) parts: Vec<Part>,
    /// Where the picture ends: behind its mark of the end, or with the file where that is missing.
    pub(super) end: usize,
}

/// A segment, its marker included, and the pixels that follow it.
pub(super) struct Part {
    marker: u8,
    /// Where it lies in the file.
    pub(super) whole: Range<usize>,
    /// What it holds behind its marker and its length.
    pub(super) data: Range<usize>,
}

impl Part {
    /// Whether it is an APP1 segment that begins with a mark.
    pub(super) fn begins(&self, bytes: &[u8], mark: &[u8]) -> bool {
        self.marker == APP1 && bytes[self.data.clone()].starts_with(mark)
    }

    /// Whether it lists pictures that stand behind the main one.
    pub(super) fn lists_pictures(&self, bytes: &[u8]) -> bool {
        self.marker == APP2 && bytes[self.data.clone()].starts_with(FURTHER_PICTURES)
    }
}

impl Jpeg {
    /// Takes a file apart; none where it is no JPEG file, or damaged before its pixels end.
    pub(super) fn of(bytes: &[u8]) -> Option<Self> {
        bytes.starts_with(&START).then_some(())?;
        let mut parts = Vec::new();
        let mut at = START.len();
        while at < bytes.len() {
            let part = part_at(bytes, at)?;
            at = part.whole.end;
            let last = part.marker == END;
            parts.push(part);
            if last {
                break;
            }
        }
        Some(Self { parts, end: at })
    }

    /// What stands behind the main picture: a film, a further picture, a maker's own data.
    pub(super) fn behind<'a>(&self, bytes: &'a [u8]) -> &'a [u8] {
        bytes.get(self.end..).unwrap_or_default()
    }
}

fn part_at(bytes: &[u8], at: usize) -> Option<Part> {
    (*bytes.get(at)? == 0xff).then_some(())?;
    // Any number of bytes 0xff may stand before a marker.
    let marker_at = at + bytes[at..].iter().position(|&b| b != 0xff)?;
    let marker = bytes[marker_at];
    let mut end = marker_at + 1;
    let mut data = end..end;
    if !stands_alone(marker) {
        let length: [u8; 2] = bytes.get(end..end + 2)?.try_into().ok()?;
        data = end + 2..end + usize::from(u16::from_be_bytes(length));
        bytes.get(data.clone())?;
        end = data.end;
    }
    if marker == START_OF_SCAN {
        end = behind_pixels(bytes, end);
    }
    Some(Part {
        marker,
        whole: at..end,
        data,
    })
}

/// Markers without a length: restarts, the start and the end of a picture, and TEM.
fn stands_alone(marker: u8) -> bool {
    matches!(marker, 0x01 | 0xd0..=0xd9)
}

/// Where the pixels of a scan end: at the next marker that is no restart.
fn behind_pixels(bytes: &[u8], from: usize) -> usize {
    let marks_end = |two: &[u8]| two[0] == 0xff && !matches!(two[1], 0x00 | 0xd0..=0xd7 | 0xff);
    let rest = bytes.get(from..).unwrap_or_default();
    let found = rest.windows(2).position(marks_end);
    found.map_or(bytes.len(), |place| from + place)
}
