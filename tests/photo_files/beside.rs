//! What lies beside the sheet, hides in transparent pixels or stands in a file's first directory.

use super::*;
use image::{Rgba, RgbaImage};
use inktell::photo::Photo;
use inktell::photo::adequacy::Verdict;

/// The middle of the bundled photograph, well inside its loupe's field.
fn sheet() -> RgbImage {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/photos/stippled-petals.jpg");
    let all = image::open(file).expect("bundled").into_rgb8();
    let (width, height) = (all.width() / 20 * 12, all.height() / 20 * 12);
    let (left, top) = ((all.width() - width) / 2, (all.height() - height) / 2);
    image::imageops::crop_imm(&all, left, top, width, height).to_image()
}

fn png(picture: DynamicImage) -> Photo {
    read(&encode(&picture, ImageFormat::Png), "x.png").expect("read")
}

fn usable_share(photo: &Photo) -> f64 {
    photo.usable.iter().filter(|u| **u).count() as f64 / photo.usable.len() as f64
}

/// The sheet in the middle of a frame half as wide again, of one colour or of its noise.
fn framed(frame: impl Fn(u32, u32) -> Rgb<u8>) -> RgbImage {
    let sheet = sheet();
    let (width, height) = (sheet.width() * 3 / 2, sheet.height() * 3 / 2);
    let mut all = RgbImage::from_fn(width, height, frame);
    let (left, top) = (i64::from(sheet.width() / 4), i64::from(sheet.height() / 4));
    image::imageops::replace(&mut all, &sheet, left, top);
    all
}

#[test]
fn what_lies_round_the_sheet_is_left_out_and_is_no_fault_of_the_exposure() {
    let alone = png(DynamicImage::ImageRgb8(sheet()));
    let share = usable_share(&alone) * 4.0 / 9.0;
    let lid = |x: u32, y: u32| Rgb([252 + ((7 * x + 3 * y) % 4) as u8; 3]);
    for (what, frame) in [
        ("a scanner's lid", framed(lid)),
        (
            "a border of paper colour",
            framed(|_, _| Rgb([236, 230, 216])),
        ),
        ("a black surround", framed(|_, _| Rgb([0; 3]))),
    ] {
        let photo = png(DynamicImage::ImageRgb8(frame));
        let found = usable_share(&photo);
        // Up to a margin of 24 px, in which the sheet shines into what lies beside it.
        assert!(
            found <= share && found > 0.9 * share,
            "{what}: {found} of {share}"
        );
        assert_eq!(photo.adequacy.verdict, alone.adequacy.verdict, "{what}");
        let clipped = |photo: &Photo| photo.adequacy.clipped_share.value().expect("counted");
        assert!((clipped(&photo) - clipped(&alone)).abs() < 0.01, "{what}");
    }
}

#[test]
fn an_overexposed_sheet_is_not_taken_for_a_background() {
    let bright = sheet()
        .pixels()
        .map(|p| p.0.map(|v| v.saturating_add(60)))
        .collect::<Vec<_>>();
    let picture = RgbImage::from_vec(sheet().width(), sheet().height(), bright.concat());
    let photo = png(DynamicImage::ImageRgb8(picture.expect("as large")));
    assert!(usable_share(&photo) > 0.9);
    assert_ne!(photo.adequacy.verdict, Verdict::Good);
}

#[test]
fn colours_hidden_in_transparent_pixels_change_nothing() {
    let grey = DynamicImage::ImageRgb8(sheet()).into_luma8();
    let cut_out = |hidden: Rgb<u8>| {
        let picture = RgbaImage::from_fn(grey.width(), grey.height(), |x, y| {
            if x < 200 && y < 300 {
                Rgba([hidden[0], hidden[1], hidden[2], 0])
            } else {
                let v = grey.get_pixel(x, y)[0];
                Rgba([v, v, v, 255])
            }
        });
        png(DynamicImage::ImageRgba8(picture))
    };
    let [white, red] = [Rgb([255; 3]), Rgb([220, 20, 20])].map(cut_out);
    assert!(white.grey && red.grey);
    assert_eq!(white.linear, red.linear);
    assert_eq!(white.usable, red.usable);
    assert_eq!(white.adequacy, red.adequacy);
    assert!(red.adequacy.notes.iter().any(|n| n.contains("transparent")));
}

/// A TIFF of 32 × 24 px in one strip, its directory made of the entries given (tag, kind, count, value) besides the
/// necessary ones; `after` follows the pixels and begins at the offset that `entries` is given.
fn tiff(entries: impl Fn(u32) -> Vec<[u32; 4]>, after: &[u8]) -> Vec<u8> {
    const PIXELS: u32 = 32 * 24 * 3;
    let mut all = vec![
        [256, 3, 1, 32],
        [257, 3, 1, 24],
        [258, 3, 1, 8],
        [259, 3, 1, 1],
        [262, 3, 1, 2],
        [273, 4, 1, 8],
        [277, 3, 1, 3],
        [278, 3, 1, 24],
        [279, 4, 1, PIXELS],
    ];
    let given = entries(8 + PIXELS);
    all.retain(|entry| given.iter().all(|g| g[0] != entry[0]));
    all.extend(given);
    all.sort_unstable();
    let mut bytes = b"II*\0".to_vec();
    bytes.extend((8 + PIXELS + after.len() as u32).to_le_bytes());
    bytes.extend((0..PIXELS).map(|i| (40 + i % 180) as u8));
    bytes.extend(after);
    bytes.extend((all.len() as u16).to_le_bytes());
    for [tag, kind, count, value] in all {
        bytes.extend((tag as u16).to_le_bytes());
        bytes.extend((kind as u16).to_le_bytes());
        bytes.extend(count.to_le_bytes());
        bytes.extend(value.to_le_bytes());
    }
    bytes.extend([0; 4]);
    bytes
}

#[test]
fn a_profile_larger_than_the_picture_is_used() {
    let mut profile = moxcms::ColorProfile::new_display_p3()
        .encode()
        .expect("a profile");
    profile.resize(60_000, 0);
    // The profile's first four bytes are its size.
    profile[..4].copy_from_slice(&60_000_u32.to_be_bytes());
    let bytes = tiff(|at| vec![[34675, 7, 60_000, at]], &profile);
    let photo = read(&bytes, "p3.tif").expect("read");
    assert!(
        photo.provenance.colour_space.contains("P3"),
        "{}",
        photo.provenance.colour_space
    );
}

#[test]
fn a_tiff_that_would_be_read_wrongly_is_refused_in_words() {
    let plain = tiff(|_| Vec::new(), &[]);
    assert!(read(&plain, "plain.tif").is_ok());
    let said = |entry: [u32; 4]| {
        let error = read(&tiff(|_| vec![entry], &[]), "x.tif").expect_err("refused");
        error.to_string()
    };
    assert!(said([254, 4, 1, 1]).contains("reduced preview"));
    assert!(said([259, 3, 1, 7]).contains("compressed as JPEG"));
    assert!(said([258, 3, 1, 32]).contains("32 bits"));
    let big = read(b"II+\0\x08\0\0\0\x10\0\0\0\0\0\0\0", "x.tif").expect_err("refused");
    assert!(big.to_string().contains("BigTIFF"), "{big}");
}
