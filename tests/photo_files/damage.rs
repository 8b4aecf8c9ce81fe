//! What is empty, cut, damaged, too large, of odd shape or no print at all.

use super::*;
use inktell::examine;
use proptest::prelude::*;

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
    bytes.extend(0x0FB0_E215_u32.to_be_bytes());
    bytes.extend(b"\0\0\0\x10IDAT................");
    let error = read(&bytes, "big.png").expect_err("3600 megapixels");
    assert!(matches!(error, PhotoError::TooLarge { .. }), "{error}");
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

/// Decoders fill what is lost with grey or garbage and say nothing; that would be measured.
#[test]
fn a_jpeg_that_lost_its_middle_is_refused() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/photos/stippled-petals.jpg");
    let whole = std::fs::read(file).expect("bundled");
    assert!(read(&whole, "whole.jpg").is_ok());
    let middle = whole.len() / 2 / 4096 * 4096;
    let mut zeroed = whole.clone();
    zeroed[middle..middle + 4096].fill(0);
    let removed = [&whole[..middle], &whole[middle + 700..]].concat();
    let ended = [&whole[..middle], &[0xFF, 0xD9]].concat();
    for damaged in [zeroed, removed, ended] {
        assert!(words(&damaged, "hole.jpg").contains("damaged"));
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
