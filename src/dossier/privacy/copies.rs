//! Copies of photographs without their location, their pixels untouched.

use super::jpeg::Jpeg;
use super::places::{XMP_PART_MARK, in_packet, names_place, segments};
use super::png::{self, Chunk};
use super::traces;
use flate2::Crc;
use std::ops::Range;

/// EXIF's pointer to the block of places (Exif 2.32, 4.6.3).
const GPS_POINTER: u16 = 0x8825;
/// Field of a TIFF file that holds an XMP packet (XMP specification part 3, 3.3).
const XMP_FIELD: u16 = 700;
/// How an EXIF block begins in a JPEG file (Exif 2.32, 4.7.2).
pub(super) const EXIF_MARK: &[u8] = b"Exif\0\0";
/// How a packet of XMP begins in a JPEG file (XMP specification part 3, 1.1.3).
pub(super) const XMP_MARK: &[u8] = b"http://ns.adobe.com/xap/1.0/\0";

/// A copy of a photograph without its location, its pixels untouched byte for byte: the EXIF block of
/// places is taken out, and XMP packets that hold a place are blanked, in PNG left out. Of a JPEG file
/// all XMP packets go, and what stands behind the picture. `None` where the file is none of JPEG, PNG,
/// WebP and TIFF, is damaged where places are kept, or still holds a place afterwards.
#[must_use]
pub fn without_location(bytes: &[u8]) -> Option<Vec<u8>> {
    let copy = match bytes {
        [0xff, 0xd8, ..] => of_jpeg(bytes),
        [b'R', b'I', b'F', b'F', ..] => of_webp(bytes),
        [b'I', b'I', ..] | [b'M', b'M', ..] => of_tiff(bytes),
        _ => of_png(bytes),
    }?;
    traces(&copy).location.is_none().then_some(copy)
}

fn of_jpeg(bytes: &[u8]) -> Option<Vec<u8>> {
    if traces(bytes).location.is_none() {
        return Some(bytes.to_vec());
    }
    let jpeg = Jpeg::of(bytes)?;
    let mut copy = bytes[..2].to_vec();
    for part in &jpeg.parts {
        let packet = [XMP_MARK, XMP_PART_MARK]
            .iter()
            .any(|mark| part.begins(bytes, mark));
        // A list of further pictures would point behind the end.
        if !packet && !part.lists_pictures(bytes) {
            copy.extend(&bytes[part.whole.clone()]);
        }
    }
    for block in segments(&copy, EXIF_MARK) {
        take_places_out(&mut copy[block])?;
    }
    Some(copy)
}

/// Chunk for chunk; what stands behind the end of the file is left out.
fn of_png(bytes: &[u8]) -> Option<Vec<u8>> {
    let chunks = png::chunks(bytes);
    chunks.last().filter(|chunk| chunk.kind == *b"IEND")?;
    let mut copy = png::SIGNATURE.to_vec();
    for chunk in chunks.iter().filter(|chunk| !tells_place(bytes, chunk)) {
        let mut data = bytes[chunk.data.clone()].to_vec();
        if chunk.kind == *b"eXIf" {
            take_places_out(&mut data)?;
        }
        let mut sum = Crc::new();
        sum.update(&chunk.kind);
        sum.update(&data);
        copy.extend(u32::try_from(data.len()).ok()?.to_be_bytes());
        copy.extend(chunk.kind);
        copy.extend(data);
        copy.extend(sum.sum().to_be_bytes());
    }
    Some(copy)
}

/// Whether a chunk holds text with a place, or may: of a block kept in hex digits nothing is kept.
fn tells_place(bytes: &[u8], chunk: &Chunk) -> bool {
    png::text_of(bytes, chunk).is_some_and(|(keyword, text)| {
        names_place(&text) || keyword == png::XMP_KEYWORD && in_packet(&text)
    }) || png::profile_of(bytes, chunk).is_some()
}

/// Where the first chunk of a WebP file begins, and bytes before the data of each (RFC 9649, 2.3).
const FIRST_IN_WEBP: usize = 12;
const BEFORE_DATA: usize = 8;
/// Kinds of a WebP file's chunks that hold a block of EXIF and an XMP packet.
pub(super) const EXIF_CHUNK: &[u8] = b"EXIF";
pub(super) const XMP_CHUNK: &[u8] = b"XMP ";

fn of_webp(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut copy = bytes.to_vec();
    for (kind, data) in chunks_of_webp(bytes) {
        let data = copy.get_mut(data)?;
        if kind == EXIF_CHUNK {
            let mark = if data.starts_with(EXIF_MARK) {
                EXIF_MARK.len()
            } else {
                0
            };
            take_places_out(&mut data[mark..])?;
        } else if kind == XMP_CHUNK && in_packet(data) {
            data.fill(b' ');
        }
    }
    Some(copy)
}

fn of_tiff(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut copy = bytes.to_vec();
    take_places_out(&mut copy)?;
    if let Some(packet) = packet_of_tiff(&mut copy)
        && in_packet(&copy[packet.clone()])
    {
        copy[packet].fill(0);
    }
    Some(copy)
}

/// A TIFF block with its byte order.
struct Tiff<'a> {
    bytes: &'a mut [u8],
    little: bool,
}

impl<'a> Tiff<'a> {
    fn of(bytes: &'a mut [u8]) -> Option<Self> {
        let little = match bytes.get(..2)? {
            b"II" => true,
            b"MM" => false,
            _ => return None,
        };
        Some(Self { bytes, little })
    }

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
    let mut tiff = Tiff::of(bytes)?;
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

/// Where the XMP packet of a TIFF file lies, if its first directory names one.
pub(super) fn packet_of_tiff(bytes: &mut [u8]) -> Option<Range<usize>> {
    let tiff = Tiff::of(bytes)?;
    let first = tiff.u32(4)?;
    let mut entries = (0..usize::from(tiff.u16(first)?)).map(|i| first + COUNT + i * ENTRY);
    let entry = entries.find(|&entry| tiff.u16(entry) == Some(XMP_FIELD))?;
    let (length, place) = (tiff.u32(entry + 4)?, tiff.u32(entry + 8)?);
    let packet = place..place.checked_add(length)?;
    tiff.bytes.get(packet.clone()).is_some().then_some(packet)
}

/// Kind and data of the chunks of a WebP file, up to its end or to damage; none in any other file.
pub(super) fn chunks_of_webp(bytes: &[u8]) -> Vec<(&[u8], Range<usize>)> {
    let mut all = Vec::new();
    let mut at = FIRST_IN_WEBP;
    while bytes.starts_with(b"RIFF") {
        let Some((kind, length)) = bytes
            .get(at..at + BEFORE_DATA)
            .and_then(|header| Some((&header[..4], header[4..].try_into().ok()?)))
        else {
            break;
        };
        let length = u32::from_le_bytes(length) as usize;
        let data = at + BEFORE_DATA..at + BEFORE_DATA + length;
        // Data of an odd length are followed by one byte more.
        at = data.end + length % 2;
        all.push((kind, data));
    }
    all
}
