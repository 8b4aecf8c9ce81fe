//! The chunks of a PNG file, and the texts in them unpacked (PNG specification, third edition, 5.3 and
//! 11.3.3).

use flate2::read::ZlibDecoder;
use std::io::Read;
use std::ops::Range;

/// How a PNG file begins.
pub(super) const SIGNATURE: &[u8] = b"\x89PNG\r\n\x1a\n";
/// Keyword of the text that is an XMP packet (XMP specification part 3, 1.1.5).
pub(super) const XMP_KEYWORD: &[u8] = b"XML:com.adobe.xmp";
/// Most bytes that a text is unpacked to: far above any packet of XMP, and an end to texts that unpack
/// for ever.
const LONGEST_TEXT: u64 = 64_000_000;
/// How the keyword of a text begins that is a block of EXIF or XMP in hex digits, as ImageMagick writes
/// it, and lines before the digits.
const PROFILE: &[u8] = b"Raw profile type ";
const LINES_BEFORE_PROFILE: usize = 3;

/// A chunk.
pub(super) struct Chunk {
    /// Its kind, four letters.
    pub(super) kind: [u8; 4],
    /// Where its data lie.
    pub(super) data: Range<usize>,
}

/// The chunks of a PNG file up to its end or to damage; none in any other file.
pub(super) fn chunks(bytes: &[u8]) -> Vec<Chunk> {
    let mut all = Vec::new();
    let mut at = SIGNATURE.len();
    while bytes.starts_with(SIGNATURE) {
        let Some(chunk) = chunk_at(bytes, at) else {
            break;
        };
        // A checksum of four bytes follows.
        at = chunk.data.end + 4;
        let last = chunk.kind == *b"IEND";
        all.push(chunk);
        if last {
            break;
        }
    }
    all
}

fn chunk_at(bytes: &[u8], at: usize) -> Option<Chunk> {
    let length: [u8; 4] = bytes.get(at..at + 4)?.try_into().ok()?;
    let kind: [u8; 4] = bytes.get(at + 4..at + 8)?.try_into().ok()?;
    let length = usize::try_from(u32::from_be_bytes(length)).ok()?;
    let data = at + 8..(at + 8).checked_add(length)?;
    bytes.get(data.clone())?;
    Some(Chunk { kind, data })
}

/// All texts of a PNG file with their keywords, unpacked.
pub(super) fn texts(bytes: &[u8]) -> impl Iterator<Item = (&[u8], Vec<u8>)> {
    let chunks = chunks(bytes).into_iter();
    chunks.filter_map(|chunk| text_of(bytes, &chunk))
}

/// The blocks that are kept as texts in hex digits.
pub(super) fn profiles(bytes: &[u8]) -> impl Iterator<Item = Vec<u8>> {
    let chunks = chunks(bytes).into_iter();
    chunks.filter_map(|chunk| profile_of(bytes, &chunk))
}

/// The block that a chunk keeps as text in hex digits.
pub(super) fn profile_of(bytes: &[u8], chunk: &Chunk) -> Option<Vec<u8>> {
    let (keyword, text) = text_of(bytes, chunk)?;
    if !keyword.starts_with(PROFILE) {
        return None;
    }
    let lines = text.split(|&b| b == b'\n').skip(LINES_BEFORE_PROFILE);
    let digits: Vec<u8> = lines
        .flatten()
        .filter_map(|&b| char::from(b).to_digit(16))
        .map(|digit| digit as u8)
        .collect();
    Some(
        digits
            .chunks_exact(2)
            .map(|two| two[0] << 4 | two[1])
            .collect(),
    )
}

/// Keyword and text of a chunk that holds text; damage yields the text up to it.
pub(super) fn text_of<'a>(bytes: &'a [u8], chunk: &Chunk) -> Option<(&'a [u8], Vec<u8>)> {
    let (keyword, rest) = parted(&bytes[chunk.data.clone()])?;
    let text = match &chunk.kind {
        b"tEXt" => rest.to_vec(),
        b"zTXt" => unpacked(rest.get(1..)?),
        b"iTXt" => {
            // Whether it is packed, and how; then its language and its keyword in that language.
            let packed = *rest.first()? == 1;
            let (_, behind) = parted(rest.get(2..)?)?;
            let (_, text) = parted(behind)?;
            if packed {
                unpacked(text)
            } else {
                text.to_vec()
            }
        }
        _ => return None,
    };
    Some((keyword, text))
}

/// What stands before and behind the first zero byte.
fn parted(bytes: &[u8]) -> Option<(&[u8], &[u8])> {
    let zero = bytes.iter().position(|&b| b == 0)?;
    Some((&bytes[..zero], &bytes[zero + 1..]))
}

fn unpacked(packed: &[u8]) -> Vec<u8> {
    let mut text = Vec::new();
    // What was unpacked before damage is kept.
    let _ = ZlibDecoder::new(packed)
        .take(LONGEST_TEXT)
        .read_to_end(&mut text);
    text
}
