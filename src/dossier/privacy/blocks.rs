//! The EXIF blocks of a photograph's file, all of them: readers of pictures heed the first alone, and
//! another may hold a place just as well.

use super::copies::{EXIF_CHUNK, EXIF_MARK, chunks_of_webp};
use super::places::segments;
use super::png;
use exif::{Exif, Reader};
use std::io::Cursor;

/// The blocks that can be read, the one that readers heed first; of damaged ones what stands before
/// the damage.
pub(super) fn of(bytes: &[u8]) -> Vec<Exif> {
    let heeded = reader()
        .read_from_container(&mut Cursor::new(bytes))
        .or_else(|error| error.distill_partial_result(|_| ()));
    let all = raw(bytes).into_iter().map(|block| {
        reader()
            .read_raw(block)
            .or_else(|error| error.distill_partial_result(|_| ()))
    });
    [heeded].into_iter().chain(all).flatten().collect()
}

fn reader() -> Reader {
    let mut reader = Reader::new();
    reader.continue_on_error(true);
    reader
}

/// The blocks as they stand in the file, without the mark before them.
fn raw(bytes: &[u8]) -> Vec<Vec<u8>> {
    let segments = segments(bytes, EXIF_MARK).into_iter();
    let mut all: Vec<Vec<u8>> = segments.map(|block| bytes[block].to_vec()).collect();
    // A block that is too long for one segment goes on in the next.
    all.push(all.concat());
    let webp = chunks_of_webp(bytes).into_iter();
    let webp = webp.filter_map(|(kind, data)| (kind == EXIF_CHUNK).then_some(data));
    let png = png::chunks(bytes).into_iter();
    let png = png.filter_map(|chunk| (chunk.kind == *b"eXIf").then_some(chunk.data));
    // A chunk ends with the file, whatever length it gives itself.
    let chunks = webp
        .chain(png)
        .map(|data| &bytes[data.start..data.end.min(bytes.len())]);
    all.extend(chunks.map(|block| block.strip_prefix(EXIF_MARK).unwrap_or(block).to_vec()));
    // As ImageMagick keeps one in a PNG file, as text.
    let texts = png::profiles(bytes);
    all.extend(texts.filter_map(|text| Some(text.strip_prefix(EXIF_MARK)?.to_vec())));
    all
}
