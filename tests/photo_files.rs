//! Reading photo files: formats, damage, orientation, colour, provenance.

#[path = "photo_files/beside.rs"]
mod beside;
#[path = "photo_files/damage.rs"]
mod damage;
#[path = "photo_files/foreign.rs"]
mod foreign;

use image::{DynamicImage, ExtendedColorType, ImageEncoder, ImageFormat, Rgb, RgbImage};
use inktell::photo::{self, PhotoError, ReadOptions};
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
    let picture = image::GrayAlphaImage::from_fn(30, 20, |x, y| {
        image::LumaA([
            190 + ((7 * x + 3 * y) % 11) as u8,
            if x < 12 { 0 } else { 255 },
        ])
    });
    let photo = read(
        &encode(&DynamicImage::ImageLumaA8(picture), ImageFormat::Png),
        "x.png",
    )
    .expect("read");
    assert!(photo.grey);
    // Nor is what lies within a block of them, where a cut-out's edge is part of either.
    assert!(!photo.usable[[5, 11]] && photo.usable[[5, 16]]);
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
