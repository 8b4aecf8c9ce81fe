//! Reading photo files: formats, damage, orientation, colour, provenance.

use image::{DynamicImage, ExtendedColorType, ImageEncoder, ImageFormat, Rgb, RgbImage};
use inktell::examine;
use inktell::photo::{self, PhotoError, ReadOptions};
use inktell::weigh::{Colouring, Process};
use proptest::prelude::*;
use std::io::Cursor;
use std::path::Path;

fn read(bytes: &[u8], name: &str) -> Result<photo::Photo, PhotoError> {
    photo::from_bytes(bytes, Path::new(name), &ReadOptions::default())
}

fn encode(picture: &DynamicImage, format: ImageFormat) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, format).expect("encodes");
    bytes.into_inner()
}

/// An off-centre, non-square, coloured ramp.
fn ramp(width: u32, height: u32) -> RgbImage {
    RgbImage::from_fn(width, height, |x, y| {
        Rgb([
            (x * 255 / width.max(1)) as u8,
            (y * 200 / height.max(1)) as u8 + 20,
            128,
        ])
    })
}

fn srgb_to_linear(code: u8) -> f32 {
    let v = f32::from(code) / 255.0;
    if v <= 0.04045 {
        v / 12.92
    } else {
        ((v + 0.055) / 1.055).powf(2.4)
    }
}

#[test]
fn every_lossless_format_gives_the_same_light() {
    let drawn = ramp(37, 23);
    for (format, name) in [
        (ImageFormat::Png, "PNG"),
        (ImageFormat::Tiff, "TIFF"),
        (ImageFormat::WebP, "WebP"),
    ] {
        let photo = read(
            &encode(&DynamicImage::ImageRgb8(drawn.clone()), format),
            "a/b/ramp.x",
        )
        .expect("a picture");
        assert_eq!(photo.provenance.format, name);
        assert_eq!(photo.provenance.file, "ramp.x");
        assert_eq!(photo.provenance.bits_per_sample, 8);
        assert_eq!(photo.provenance.colour_space, "sRGB (assumed)");
        assert!(!photo.grey);
        for (x, y) in [(0_u32, 0_u32), (36, 22), (5, 17)] {
            for c in 0..3 {
                let expected = srgb_to_linear(drawn.get_pixel(x, y)[c]);
                let got = photo.linear[c][[y as usize, x as usize]];
                assert!(
                    (got - expected).abs() < 1e-5,
                    "{name} {x} {y} {c}: {got} {expected}"
                );
            }
        }
    }
}

#[test]
fn published_srgb_values_are_met() {
    // Code values 128 and 188 in linear light: IEC 61966-2-1 by its formula.
    let picture = RgbImage::from_fn(
        2,
        1,
        |x, _| if x == 0 { Rgb([128; 3]) } else { Rgb([188; 3]) },
    );
    let photo = read(
        &encode(&DynamicImage::ImageRgb8(picture), ImageFormat::Png),
        "x.png",
    )
    .expect("read");
    assert!((photo.linear[0][[0, 0]] - 0.215_861).abs() < 1e-5);
    assert!((photo.linear[1][[0, 1]] - 0.502_886).abs() < 1e-5);
    assert!(photo.grey);
}

#[test]
fn sixteen_bits_are_kept() {
    let picture = image::ImageBuffer::<Rgb<u16>, _>::from_fn(9, 4, |x, y| {
        Rgb([(x * 7000) as u16, (y * 16000) as u16, 40001])
    });
    for format in [ImageFormat::Png, ImageFormat::Tiff] {
        let photo = read(
            &encode(&DynamicImage::ImageRgb16(picture.clone()), format),
            "x",
        )
        .expect("read");
        assert_eq!(photo.provenance.bits_per_sample, 16);
        let v = 40001.0_f64 / 65535.0;
        let expected = ((v + 0.055) / 1.055).powf(2.4);
        assert!((f64::from(photo.linear[2][[3, 8]]) - expected).abs() < 1e-6);
    }
}

#[test]
fn transparent_pixels_are_not_usable() {
    let picture = image::GrayAlphaImage::from_fn(30, 20, |x, _| {
        image::LumaA([200, if x < 12 { 0 } else { 255 }])
    });
    let photo = read(
        &encode(&DynamicImage::ImageLumaA8(picture), ImageFormat::Png),
        "x.png",
    )
    .expect("read");
    assert!(photo.grey);
    assert!(!photo.usable[[5, 11]] && photo.usable[[5, 12]]);
}

/// A JPEG with an EXIF block holding only the orientation.
fn jpeg_with_orientation(picture: &RgbImage, orientation: u8) -> Vec<u8> {
    let mut exif = b"MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01".to_vec();
    exif.extend([0, orientation, 0, 0, 0, 0, 0, 0]);
    let mut bytes = Vec::new();
    let mut encoder = image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, 95);
    encoder.set_exif_metadata(exif).expect("takes EXIF");
    encoder
        .write_image(
            picture,
            picture.width(),
            picture.height(),
            ExtendedColorType::Rgb8,
        )
        .expect("encodes");
    bytes
}

#[test]
fn the_picture_is_turned_as_exif_says() {
    let mut drawn = RgbImage::from_pixel(48, 32, Rgb([250; 3]));
    for y in 0..8 {
        for x in 0..16 {
            drawn.put_pixel(x, y, Rgb([10; 3]));
        }
    }
    // Where the dark corner of the stored picture comes to stand: (right side?, bottom?).
    for (orientation, turned, right, bottom) in [
        (1, false, false, false),
        (3, false, true, true),
        (6, true, true, false),
        (8, true, false, true),
    ] {
        let photo = read(&jpeg_with_orientation(&drawn, orientation), "x.jpg").expect("read");
        let (w, h) = if turned { (32, 48) } else { (48, 32) };
        assert_eq!(
            (photo.width(), photo.height()),
            (w, h),
            "orientation {orientation}"
        );
        let x = if right { w - 3 } else { 2 };
        let y = if bottom { h - 3 } else { 2 };
        assert!(photo.linear[0][[y, x]] < 0.1, "orientation {orientation}");
        assert!(photo.linear[0][[h - 1 - y, w - 1 - x]] > 0.8);
    }
}

/// An even PNG that carries a colour profile.
fn png_with_profile(colour: [u8; 3], profile: Vec<u8>) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = image::codecs::png::PngEncoder::new(&mut bytes);
    encoder.set_icc_profile(profile).expect("takes anything");
    let picture = RgbImage::from_pixel(8, 6, Rgb(colour));
    encoder
        .write_image(&picture, 8, 6, ExtendedColorType::Rgb8)
        .expect("encodes");
    bytes
}

#[test]
fn display_p3_becomes_srgb_primaries() {
    let profile = moxcms::ColorProfile::new_display_p3()
        .encode()
        .expect("a profile");
    let bytes = png_with_profile([200, 150, 100], profile);
    let photo = read(&bytes, "p3.png").expect("read");
    // Linear Display P3 to linear sRGB, both D65 (matrix from the two sets of primaries).
    let p3 = [200_u8, 150, 100].map(srgb_to_linear);
    let expected = [
        1.224_94 * p3[0] - 0.224_94 * p3[1],
        -0.042_057 * p3[0] + 1.042_057 * p3[1],
        -0.019_638 * p3[0] - 0.078_636 * p3[1] + 1.098_274 * p3[2],
    ];
    for (channel, expected) in photo.linear.iter().zip(expected) {
        let got = channel[[3, 4]];
        assert!((got - expected).abs() < 1e-3, "{got} {expected}");
    }
    assert!(photo.provenance.colour_space.contains("embedded profile"));
}

#[test]
fn a_wrong_profile_does_not_stop_the_reading() {
    let bytes = png_with_profile([200, 150, 100], vec![7; 300]);
    let photo = read(&bytes, "x.png").expect("read");
    assert!(photo.provenance.colour_space.contains("assumed"));
}

fn words(bytes: &[u8], name: &str) -> String {
    let text = read(bytes, name).expect_err("no picture").to_string();
    assert!(text.starts_with(name), "{text}");
    assert!(text.contains("; "), "says what to do: {text}");
    text
}

#[test]
fn what_is_no_picture_gets_a_sentence_of_its_own() {
    assert!(words(b"", "a.jpg").contains("empty"));
    assert!(words(b"Dear all,\nhere is the list", "b.jpg").contains("text"));
    assert!(words(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "c.heic").contains("HEIC"));
    assert!(words(b"%PDF-1.4\n%....", "d.pdf").contains("PDF"));
    assert!(words(b"\xFF\xD8\xFF\xE0", "e.jpg").contains("JPEG"));
}

#[test]
fn a_missing_file_is_named() {
    let error = photo::read(Path::new("/nowhere/at/all.jpg"), &ReadOptions::default())
        .expect_err("missing");
    assert!(error.to_string().contains("/nowhere/at/all.jpg"));
}

#[test]
fn the_size_is_checked_before_decoding() {
    // A PNG header that claims 60 000 × 60 000 px, followed by nothing.
    let mut bytes = b"\x89PNG\r\n\x1a\n\0\0\0\x0DIHDR".to_vec();
    bytes.extend(60_000_u32.to_be_bytes());
    bytes.extend(60_000_u32.to_be_bytes());
    bytes.extend([8, 2, 0, 0, 0]);
    bytes.extend(0x7D6F_5C4B_u32.to_be_bytes());
    bytes.extend(b"\0\0\0\x10IDAT................");
    assert!(read(&bytes, "big.png").is_err());
    let options = ReadOptions {
        max_megapixels: 0.0005,
        ..ReadOptions::default()
    };
    let small = encode(&DynamicImage::ImageRgb8(ramp(37, 23)), ImageFormat::Png);
    let error =
        photo::from_bytes(&small, Path::new("x.png"), &options).expect_err("over the limit");
    assert!(matches!(error, PhotoError::TooLarge { .. }), "{error}");
}

#[test]
fn odd_shapes_are_read() {
    for (width, height) in [(1, 1), (1, 20_000), (20_000, 1), (2, 3), (15, 300)] {
        let bytes = encode(
            &DynamicImage::ImageRgb8(ramp(width, height)),
            ImageFormat::Png,
        );
        let photo = read(&bytes, "odd.png").expect("read");
        assert_eq!(
            (photo.width(), photo.height()),
            (width as usize, height as usize)
        );
    }
    for level in [0, 255] {
        let flat = RgbImage::from_pixel(700, 410, Rgb([level; 3]));
        let photo = read(
            &encode(&DynamicImage::ImageRgb8(flat), ImageFormat::Png),
            "flat.png",
        )
        .expect("read");
        assert!(!photo.adequacy.notes.is_empty(), "level {level}");
    }
}

/// That no lines and no dots are found on a picture without any print must not lean towards a process.
#[test]
fn a_picture_without_any_print_supports_nothing() {
    for (width, height, level) in [(1, 1, 128), (1, 20_000, 90), (700, 410, 255), (700, 410, 0)] {
        let flat = RgbImage::from_pixel(width, height, Rgb([level; 3]));
        let bytes = encode(&DynamicImage::ImageRgb8(flat), ImageFormat::Png);
        let examined =
            examine::bytes(&bytes, Path::new("flat.png"), &ReadOptions::default()).expect("read");
        let reading = examine::together(vec![examined], None).reading;
        let shape = format!("{width} x {height}, level {level}: {reading:?}");
        assert_eq!(reading.process, None, "{shape}");
        assert!(
            reading.log10_lr.values().all(|lr| lr.abs() < 1e-9),
            "{shape}"
        );
        assert!(reading.narrowed_to.is_empty(), "{shape}");
        assert!(
            reading
                .undetermined_because
                .iter()
                .any(|b| b.contains("nothing")),
            "{shape}"
        );
    }
}

#[test]
fn files_cut_anywhere_are_refused_in_words() {
    let picture = DynamicImage::ImageRgb8(ramp(200, 120));
    for (format, name) in [
        (ImageFormat::Jpeg, "cut.jpg"),
        (ImageFormat::Png, "cut.png"),
        (ImageFormat::Tiff, "cut.tif"),
        (ImageFormat::WebP, "cut.webp"),
    ] {
        let whole = encode(&picture, format);
        assert!(read(&whole, name).is_ok());
        for part in 1..20 {
            let cut = whole.len() * part / 20;
            words(&whole[..cut], name);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// Any damage yields a picture or a sentence, never a panic.
    #[test]
    fn damaged_bytes_never_panic(
        which in 0_usize..4,
        hits in prop::collection::vec((0.0_f64..1.0, any::<u8>()), 1..12),
    ) {
        let format = [ImageFormat::Jpeg, ImageFormat::Png, ImageFormat::Tiff, ImageFormat::WebP][which];
        let mut bytes = encode(&DynamicImage::ImageRgb8(ramp(40, 30)), format);
        for (place, value) in hits {
            let at = ((bytes.len() as f64 * place) as usize).min(bytes.len() - 1);
            bytes[at] = value;
        }
        if let Err(error) = read(&bytes, "hit.x") {
            prop_assert!(error.to_string().starts_with("hit.x"));
        }
    }

    #[test]
    fn any_bytes_never_panic(bytes in prop::collection::vec(any::<u8>(), 0..600)) {
        let _ = read(&bytes, "any.x");
    }
}

/// What Pillow reads from the middle of each patch of one of its own files (`fixtures/foreign_files/make.py`),
/// against what is read here, in codes of sRGB.
fn off_from_pillow(name: &str, patches: &serde_json::Value) -> f32 {
    const SIDE: usize = 32;
    let file = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("fixtures/foreign_files")
        .join(name);
    let photo = photo::read(&file, &ReadOptions::default()).expect("readable");
    let mut worst = 0.0_f32;
    for (i, patch) in patches.as_array().expect("patches").iter().enumerate() {
        for (channel, code) in photo.linear.iter().zip(patch.as_array().expect("a colour")) {
            let got = channel
                .slice(ndarray::s![8..24, i * SIDE + 8..i * SIDE + 24])
                .mean()
                .expect("pixels");
            worst =
                worst.max((srgb_from_linear(got) - code.as_f64().expect("a code") as f32).abs());
        }
    }
    worst
}

fn srgb_from_linear(light: f32) -> f32 {
    let v = if light <= 0.003_130_8 {
        12.92 * light
    } else {
        1.055 * light.powf(1.0 / 2.4) - 0.055
    };
    255.0 * v
}

/// Reference library: Pillow 12, by its own files in ink amounts, palette, grey with alpha, progressive and so on.
#[test]
fn files_of_another_program_are_read_as_it_reads_them() {
    let text = include_str!("../fixtures/foreign_files/values.json");
    let values: serde_json::Value = serde_json::from_str(text).expect("json");
    let files = values["files"].as_object().expect("files");
    assert_eq!(files.len(), 7);
    for (name, patches) in files {
        let off = off_from_pillow(name, patches);
        // Two codes: decoders of lossy files may round differently.
        assert!(off <= 2.0, "{name}: off by {off} of 255");
    }
}

#[test]
fn adobe_rgb_becomes_srgb_primaries() {
    let profile = moxcms::ColorProfile::new_adobe_rgb()
        .encode()
        .expect("a profile");
    let bytes = png_with_profile([180, 140, 110], profile);
    let photo = read(&bytes, "adobe.png").expect("read");
    // Linear Adobe RGB (1998), gamma 563/256, to linear sRGB, both D65 (matrix from the two sets of primaries).
    let a = [180_u8, 140, 110].map(|code| (f32::from(code) / 255.0).powf(563.0 / 256.0));
    let expected = [
        1.398_36 * a[0] - 0.398_36 * a[1],
        a[1],
        -0.042_93 * a[1] + 1.042_93 * a[2],
    ];
    for (channel, expected) in photo.linear.iter().zip(expected) {
        let got = channel[[3, 4]];
        assert!((got - expected).abs() < 2e-3, "{got} {expected}");
    }
}

fn foreign_file(name: &str) -> photo::Photo {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/foreign_files");
    photo::read(&folder.join(name), &ReadOptions::default()).expect("readable")
}

#[test]
fn the_facts_of_the_capture_are_kept_and_its_place_is_not() {
    let photo = foreign_file("camera.jpg");
    let facts = &photo.provenance.capture;
    let fact = |label: &str| {
        let (_, value) = facts.iter().find(|(l, _)| l == label)?;
        Some(value.as_str())
    };
    assert_eq!(fact("camera make"), Some("Heronry Optical"));
    assert_eq!(fact("camera model"), Some("HO-3"));
    assert_eq!(fact("taken"), Some("2026-10-03 14:05:09"));
    assert_eq!(fact("exposure"), Some("1/250 s"));
    assert_eq!(fact("aperture"), Some("f/2.8"));
    assert_eq!(fact("ISO"), Some("200"));
    assert_eq!(fact("focal length"), Some("35 mm"));
    assert_eq!(fact("location"), Some("location data present, not kept"));
    assert!(!format!("{facts:?}").contains("34"), "{facts:?}");
    // Turned a quarter (orientation 6), and its 72 px per inch are no scale.
    let [width, height] = [photo.linear[0].ncols(), photo.linear[0].nrows()];
    assert_eq!((width, height), (32, 128));
    assert!(photo.scale.is_none());
}

#[test]
fn a_scanner_gives_its_scale() {
    let scale = foreign_file("scanner.tif").scale.expect("a scale");
    assert!((scale.value - 1200.0 / 25.4).abs() < 0.01, "{scale:?}");
}

/// Spots of cyan, magenta and yellow at places that do not know of each other, on paper.
fn spots_of_three_inks() -> RgbImage {
    const INKS: [[f32; 3]; 3] = [[0.25, 0.7, 0.9], [0.85, 0.25, 0.55], [0.97, 0.9, 0.25]];
    let mut picture = RgbImage::from_pixel(600, 600, Rgb([244, 241, 232]));
    let mut state = 1u32;
    let mut next = || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        i64::from(state >> 8) % 600
    };
    for spot in 0..12_000 {
        let (cx, cy, ink) = (next(), next(), INKS[spot % 3]);
        for (dx, dy) in (0..25).map(|i| (i % 5 - 2, i / 5 - 2)) {
            let (x, y) = (cx + dx, cy + dy);
            if dx * dx + dy * dy <= 5 && (0..600).contains(&x) && (0..600).contains(&y) {
                let Rgb(light) = picture.get_pixel_mut(x as u32, y as u32);
                for (value, through) in light.iter_mut().zip(ink) {
                    *value = (f32::from(*value) * through) as u8;
                }
            }
        }
    }
    picture
}

#[test]
fn specks_of_several_inks_are_never_read_as_a_period_process_or_its_colouring() {
    let drawn = DynamicImage::ImageRgb8(spots_of_three_inks());
    let bytes = encode(&drawn, ImageFormat::Png);
    let examined =
        examine::bytes(&bytes, Path::new("spots.png"), &ReadOptions::default()).expect("read");
    let breadth = examined.measurements.layering.speck_breadth.value();
    assert!(breadth.is_some_and(|b| b > 0.05), "{breadth:?}");
    let reading = examine::together(vec![examined], None).reading;
    assert!(
        reading.process.is_none_or(|p| p == Process::Halftone),
        "{reading:?}"
    );
    assert!(reading.posterior[&Process::Halftone] > 0.29, "{reading:?}");
    assert!(
        !reading.colouring.contains(&Colouring::HandWash),
        "{reading:?}"
    );
}
