mod blocks;

use super::copies::{EXIF_MARK, XMP_MARK};
use super::places::{find, segments};
use super::*;
use exif::experimental::Writer;
use exif::{Field, Rational, Reader, Value};
use std::io::Cursor;

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
    let packet = segments(&original, XMP_MARK)[0].len() + XMP_MARK.len() + 4;
    assert_eq!(copy.len(), original.len() - packet);
    let after = traces(&copy);
    assert_eq!(after.location, None);
    assert_eq!(after.personal, traces(&original).personal);
    assert_eq!(find(&copy, b"GPSLatitude", 0), None);
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
        assert!(segments(&copy, XMP_MARK).is_empty());
    }
    let plain = jpeg_with(false, b"<rdf:RDF/>");
    assert_eq!(traces(&plain).location, None);
    assert_eq!(without_location(&plain), Some(plain));
}

#[test]
fn places_of_other_makers_in_a_packet_are_found() {
    for field in [
        "geo:lat",
        "geo:long",
        "drone-dji:GpsLatitude",
        "drone-dji:GpsLongitude",
        "x:gpslat",
    ] {
        let packet = format!("<x:xmpmeta {field}='51.5'/>");
        let original = jpeg_with(false, packet.as_bytes());
        assert!(traces(&original).location.is_some(), "{field}");
        let copy = without_location(&original).unwrap();
        assert_eq!(traces(&copy).location, None, "{field}");
        assert_eq!(find(&copy, b"51.5", 0), None, "{field}");
        let keyed = [b"XML:com.adobe.xmp\0\0\0\0\0", packet.as_bytes()].concat();
        let original = png_with(b"iTXt", &keyed);
        assert!(traces(&original).location.is_some(), "{field}");
        let copy = without_location(&original).unwrap();
        assert_eq!(find(&copy, b"51.5", 0), None, "{field}");
    }
}

#[test]
fn what_stands_behind_the_picture_is_cut_off() {
    let plain = jpeg_with(false, b"<rdf:RDF/>");
    let film = b"\0\0\0\x18ftypmp42\0\0\0\x1e\xa9xyz\0\x12\x15\xc7+51.5000-002.5000/";
    let list = [&[0xff, 0xe2, 0, 9][..], b"MPF\0abc"].concat();
    let listed = [&plain[..2], &list, &plain[2..]].concat();
    for (what, behind, said) in [
        ("a film with a place", &film[..], "a place in a film"),
        ("anything else", b"SEFT, and no place", "possibly"),
        ("a second picture", &plain[..], "possibly"),
    ] {
        let original = [&listed, behind].concat();
        let found = traces(&original).location.unwrap_or_default();
        assert!(found.starts_with(said), "{what}: {found}");
        let copy = without_location(&original).unwrap();
        assert_eq!(traces(&copy).location, None, "{what}");
        assert!(copy.ends_with(&[0xff, 0xd9]), "{what}");
        assert_eq!(find(&copy, b"MPF", 0), None, "{what}");
        assert_eq!(find(&copy, b"+51.5", 0), None, "{what}");
        let decode = |bytes: &[u8]| image::load_from_memory(bytes).unwrap().into_rgb8();
        assert_eq!(decode(&copy), decode(&original));
    }
    // A picture alone, whatever it is filled up with, is left as it is.
    for alone in [listed.clone(), [&plain[..], &[0; 16]].concat()] {
        assert_eq!(traces(&alone).location, None);
        assert_eq!(without_location(&alone), Some(alone));
    }
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

/// A packet of XMP with a place, its prefix another than the usual.
const PACKET: &str = "<x:xmpmeta><g:GPSLatitude xmlns:g='http://ns.adobe.com/exif/1.0/'>48,12.5N</g:GPSLatitude></x:xmpmeta>";

/// A PNG file with a chunk put in.
fn png_with(kind: &[u8; 4], data: &[u8]) -> Vec<u8> {
    let mut file = Cursor::new(Vec::new());
    let picture = image::RgbImage::from_fn(23, 17, |x, y| image::Rgb([x as u8, y as u8, 90]));
    picture
        .write_to(&mut file, image::ImageFormat::Png)
        .unwrap();
    let file = file.into_inner();
    // Behind the signature and the header of 13 bytes.
    let (before, after) = file.split_at(png::SIGNATURE.len() + 25);
    let mut sum = flate2::Crc::new();
    sum.update(kind);
    sum.update(data);
    [
        before,
        &(data.len() as u32).to_be_bytes(),
        kind,
        data,
        &sum.sum().to_be_bytes(),
        after,
    ]
    .concat()
}

fn packed(text: &[u8]) -> Vec<u8> {
    let mut packed = Vec::new();
    let plain = flate2::Compression::default();
    std::io::Read::read_to_end(
        &mut flate2::read::ZlibEncoder::new(text, plain),
        &mut packed,
    )
    .unwrap();
    packed
}

#[test]
fn a_place_is_found_under_any_prefix_and_in_any_encoding() {
    let units: Vec<u16> = PACKET.encode_utf16().collect();
    let little: Vec<u8> = units.iter().flat_map(|u| u.to_le_bytes()).collect();
    let big: Vec<u8> = units.iter().flat_map(|u| u.to_be_bytes()).collect();
    let wide: Vec<u8> = PACKET
        .chars()
        .flat_map(|c| u32::from(c).to_be_bytes())
        .collect();
    for xmp in [PACKET.as_bytes(), &little, &big, &wide] {
        let original = jpeg_with(false, xmp);
        assert!(traces(&original).location.is_some());
        let copy = without_location(&original).unwrap();
        assert_eq!(traces(&copy).location, None);
    }
    let other = PACKET.replace("GPSLatitude", "Positionless");
    assert_eq!(traces(&jpeg_with(false, other.as_bytes())).location, None);
}

#[test]
fn a_place_in_texts_of_a_png_file_is_found_and_taken_out() {
    let packed = packed(PACKET.as_bytes());
    let exif = jpeg_with(true, b"");
    let block = exif[segments(&exif, EXIF_MARK)[0].clone()].to_vec();
    let hex = |bytes: &[u8]| -> String { bytes.iter().map(|b| format!("{b:02x}")).collect() };
    let raw = |bytes: &[u8]| format!("Raw profile type APP1\0\nAPP1\n 9\n{}", hex(bytes));
    for (kind, data) in [
        (
            b"tEXt",
            [b"XML:com.adobe.xmp\0", PACKET.as_bytes()].concat(),
        ),
        (b"zTXt", [b"XML:com.adobe.xmp\0\0", &packed[..]].concat()),
        (
            b"iTXt",
            [b"XML:com.adobe.xmp\0\x01\0\0\0", &packed[..]].concat(),
        ),
        (
            b"iTXt",
            [b"XML:com.adobe.xmp\0\0\0\0\0", PACKET.as_bytes()].concat(),
        ),
        (b"tEXt", raw(PACKET.as_bytes()).into_bytes()),
        (b"tEXt", raw(&[EXIF_MARK, &block].concat()).into_bytes()),
        (b"eXIf", block.clone()),
    ] {
        let original = png_with(kind, &data);
        assert!(traces(&original).location.is_some(), "{kind:?}");
        let copy = without_location(&original).unwrap();
        assert_eq!(traces(&copy).location, None);
        let decode = |bytes: &[u8]| image::load_from_memory(bytes).unwrap().into_rgb8();
        assert_eq!(decode(&copy), decode(&original));
    }
    assert_eq!(
        traces(&png_with(b"tEXt", b"Title\0The Heron")),
        Traces::default()
    );
}

#[test]
fn a_copy_of_a_webp_or_tiff_file_has_no_place_either() {
    let chunk = [
        b"XMP ",
        &(PACKET.len() as u32).to_le_bytes()[..],
        PACKET.as_bytes(),
    ]
    .concat();
    let webp = [b"RIFF\0\0\0\0WEBP", &chunk[..]].concat();
    // One directory of one field, the packet behind it.
    let mut tiff = b"II*\0\x08\0\0\0\x01\0".to_vec();
    tiff.extend([0xbc, 0x02, 1, 0]);
    tiff.extend((PACKET.len() as u32).to_le_bytes());
    tiff.extend([26, 0, 0, 0, 0, 0, 0, 0]);
    tiff.extend(PACKET.as_bytes());
    for original in [webp, tiff] {
        assert!(traces(&original).location.is_some());
        let copy = without_location(&original).unwrap();
        assert_eq!(copy.len(), original.len());
        assert_eq!(traces(&copy).location, None);
    }
}

/// Logs name the SHA-256 of copies: a copy that comes out otherwise is refused by every dossier that
/// was written before. If a change is worth that, exports leave such photographs without a copy.
#[test]
fn copies_come_out_as_the_logs_of_older_dossiers_name_them() {
    // A TIFF block whose first directory holds the pointer to a directory of places with one entry.
    let block = b"II*\0\x08\0\0\0\x01\0\x25\x88\x04\0\x01\0\0\0\x1a\0\0\0\0\0\0\0\x01\0\x01\0\x02\0\x02\0\0\0N\0\0\0\0\0\0\0";
    let segment = |data: &[u8]| {
        let length = (data.len() as u16 + 2).to_be_bytes();
        [b"\xff\xe1", &length[..], data].concat()
    };
    let exif = segment(&[EXIF_MARK, block].concat());
    let packet = segment(&[XMP_MARK, b"<x exif:GPSLatitude='51,30N'/>"].concat());
    let picture = b"\xff\xda\0\x02\x12\xff\xd9";
    let jpeg = [b"\xff\xd8", &exif[..], &packet, picture, b"a film"].concat();
    let chunk = |kind: &[u8; 4], data: &[u8]| {
        let length = (data.len() as u32).to_be_bytes();
        let mut sum = flate2::Crc::new();
        sum.update(kind);
        sum.update(data);
        [&length[..], kind, data, &sum.sum().to_be_bytes()].concat()
    };
    let text = b"XML:com.adobe.xmp\0\0\0\0\0<x exif:GPSLatitude='51,30N'/>";
    let png = [
        png::SIGNATURE.to_vec(),
        chunk(b"eXIf", block),
        chunk(b"iTXt", text),
        chunk(b"IEND", b""),
    ]
    .concat();
    let riff = [b"WEBPEXIF", &44u32.to_le_bytes()[..], block].concat();
    let webp = [b"RIFF", &(riff.len() as u32).to_le_bytes()[..], &riff].concat();
    for (original, sha256) in [
        (
            jpeg,
            "f7e683613da160669fecb72393977c2fe500d5ecd178aca8458eee4d5154d3ca",
        ),
        (
            png,
            "d480100943759b07c2f9cac24b3bed52af79ff1504b84ac3ae643eb771d60b66",
        ),
        (
            webp,
            "e0032457dcfa927ffe0641c7ab6e3ad32bd67e9dd2be48ca00230b8fa297d469",
        ),
        (
            block.to_vec(),
            "4bca02b1a319fed371c6f3217befc176551acf9e889c23bb4db83c75ef6be95a",
        ),
    ] {
        assert!(traces(&original).location.is_some(), "{sha256}");
        let copy = without_location(&original).expect("a copy can be made");
        assert_eq!(crate::photo::sha256_hex(&copy), sha256);
    }
}
