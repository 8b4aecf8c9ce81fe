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
