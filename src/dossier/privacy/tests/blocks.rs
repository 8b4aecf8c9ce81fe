//! Places in further blocks of EXIF.

use super::super::copies::{EXIF_CHUNK, EXIF_MARK};
use super::super::places::{find, segments};
use super::{jpeg_with, traces, without_location};

/// The latitude as a block of EXIF holds it.
const LATITUDE: [u8; 12] = [0, 0, 0, 51, 0, 0, 0, 1, 0, 0, 0, 30];

/// A JPEG file without a place, and a block of EXIF with one.
fn file_and_block() -> (Vec<u8>, Vec<u8>) {
    let [plain, located] = [false, true].map(|place| jpeg_with(place, b"<rdf:RDF/>"));
    let block = located[segments(&located, EXIF_MARK)[0].clone()].to_vec();
    (plain, block)
}

fn segment(block: &[u8]) -> Vec<u8> {
    let length = (block.len() + EXIF_MARK.len() + 2) as u16;
    [&[0xff, 0xe1], &length.to_be_bytes()[..], EXIF_MARK, block].concat()
}

fn chunk(block: &[u8]) -> Vec<u8> {
    let length = (block.len() as u32).to_le_bytes();
    let filled = &[0][..block.len() % 2];
    [EXIF_CHUNK, &length, block, filled].concat()
}

#[test]
fn a_place_in_a_second_block_is_found_and_taken_out() {
    let (plain, block) = file_and_block();
    let first = segments(&plain, EXIF_MARK)[0].clone();
    let jpeg = [&plain[..first.end], &segment(&block), &plain[first.end..]].concat();
    let marked = [EXIF_MARK, &block].concat();
    let chunks = [chunk(&plain[first]), chunk(&marked)].concat();
    let webp = [b"RIFF\0\0\0\0WEBP", &chunks[..]].concat();
    for original in [jpeg, webp] {
        let place = traces(&original).location.expect("there is a place");
        assert!(place.starts_with("51 deg 30 min"), "{place}");
        assert!(find(&original, &LATITUDE, 0).is_some());
        let copy = without_location(&original).expect("a copy can be made");
        assert_eq!(traces(&copy).location, None);
        assert_eq!(find(&copy, &LATITUDE, 0), None);
    }
}

#[test]
fn a_place_in_a_block_that_goes_on_in_the_next_segment_is_found() {
    let (plain, block) = file_and_block();
    let (begun, ended) = block.split_at(block.len() / 2);
    let behind = segments(&plain, EXIF_MARK)[0].end;
    let parted = [
        &plain[..2],
        &segment(begun),
        &segment(ended),
        &plain[behind..],
    ]
    .concat();
    assert!(traces(&parted).location.is_some());
    // Nothing here takes a place out of that, and so nothing is passed off as free of it.
    assert_eq!(without_location(&parted), None);
}
