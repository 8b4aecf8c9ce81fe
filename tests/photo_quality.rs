//! A photograph's own quality against what was done to it: blur by a reference library (`imageproc`), a moved camera,
//! noise of known strength, compression by the encoder of `image`.

use image::codecs::jpeg::JpegEncoder;
use image::{DynamicImage, ImageBuffer, ImageFormat, Luma, Rgb};
use imageproc::filter::gaussian_blur_f32;
use inktell::photo::adequacy::{Adequacy, Verdict};
use inktell::photo::{self, ReadOptions};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal};
use std::io::Cursor;
use std::path::Path;

/// Linear light, 0–1.
type Light = ImageBuffer<Luma<f32>, Vec<f32>>;

const PAPER: f32 = 0.7;
const INK: f32 = 0.08;
const PX_PER_MM: f64 = 50.0;

/// Ink discs of 15 px radius, about 43 px apart and off the pixel grid: their rims run in every direction.
fn discs() -> Light {
    Light::from_fn(1100, 900, |x, y| {
        let pitch = 43.37;
        let (x, y) = (f64::from(x), f64::from(y));
        let off = |v: f64| (v / pitch - (v / pitch).round()) * pitch;
        let inside = 15.0 - off(x + 3.1).hypot(off(y + 7.7));
        let cover = (inside + 0.5).clamp(0.0, 1.0) as f32;
        Luma([PAPER + cover * (INK - PAPER)])
    })
}

/// A camera that moved this many px along the rows while the shutter was open.
fn moved(light: &Light, px: u32) -> Light {
    let (width, height) = light.dimensions();
    Light::from_fn(width, height, |x, y| {
        let seen = (0..px).map(|i| light.get_pixel((x + i).min(width - 1), y).0[0]);
        Luma([seen.sum::<f32>() / px as f32])
    })
}

fn noisy(light: &Light, deviation: f32) -> Light {
    let mut rng = ChaCha8Rng::seed_from_u64(11);
    let normal = Normal::new(0.0, deviation).expect("a deviation");
    let mut light = light.clone();
    for pixel in light.pixels_mut() {
        pixel.0[0] += normal.sample(&mut rng);
    }
    light
}

/// As sRGB (IEC 61966-2-1), 0–1.
fn encoded(linear: f32) -> f32 {
    let v = linear.clamp(0.0, 1.0);
    if v <= 0.003_130_8 {
        12.92 * v
    } else {
        1.055 * v.powf(1.0 / 2.4) - 0.055
    }
}

fn judged(bytes: &[u8], name: &str) -> Adequacy {
    let options = ReadOptions {
        px_per_mm: Some(PX_PER_MM),
        ..ReadOptions::default()
    };
    photo::from_bytes(bytes, Path::new(name), &options)
        .expect("a picture")
        .adequacy
}

/// Of 16 bits a channel, so that only what was done to it is measured.
fn of(light: &Light) -> Adequacy {
    let (width, height) = light.dimensions();
    let picture = ImageBuffer::from_fn(width, height, |x, y| {
        let code = (65_535.0 * encoded(light.get_pixel(x, y).0[0])).round() as u16;
        Rgb([code; 3])
    });
    let mut bytes = Cursor::new(Vec::new());
    DynamicImage::ImageRgb16(picture)
        .write_to(&mut bytes, ImageFormat::Png)
        .expect("encodes");
    judged(&bytes.into_inner(), "discs.png")
}

fn compressed(light: &Light, quality: u8) -> Adequacy {
    let (width, height) = light.dimensions();
    let picture = ImageBuffer::from_fn(width, height, |x, y| {
        Rgb([(255.0 * encoded(light.get_pixel(x, y).0[0])).round() as u8; 3])
    });
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, quality)
        .encode_image(&DynamicImage::ImageRgb8(picture))
        .expect("encodes");
    judged(&bytes, "discs.jpg")
}

#[test]
fn blur_and_sharpness_are_those_of_the_filter() {
    for sigma in [1.0_f32, 1.5, 2.5, 4.0] {
        let adequacy = of(&noisy(&gaussian_blur_f32(&discs(), sigma), 0.002));
        let blur = adequacy.blur_sigma_px.figure().expect("edges").clone();
        let sigma = f64::from(sigma);
        approx::assert_relative_eq!(blur.value, sigma, max_relative = 0.1);
        assert!(blur.lo < sigma && sigma < blur.hi, "{sigma}: {blur:?}");
        // A Gaussian leaves a tenth of the contrast where exp(−2π²σ²f²) = 0.1: at 0.3416 / σ cycles a px.
        let limit = (0.3416 / sigma).min(0.5);
        let sharpness = adequacy
            .sharpness_lp_per_mm
            .figure()
            .expect("edges")
            .clone();
        approx::assert_relative_eq!(sharpness.value, limit * PX_PER_MM, max_relative = 0.12);
        let motion = adequacy.motion_ratio.figure().expect("all directions");
        assert!(motion.lo < 1.15, "{motion:?}");
    }
}

#[test]
fn a_camera_that_moved_is_told_by_how_far() {
    // A stroke of L px adds a variance of L² / 12 along it.
    let still = gaussian_blur_f32(&discs(), 1.2);
    for stroke in [6_u32, 9] {
        let adequacy = of(&noisy(&moved(&still, stroke), 0.002));
        let ratio = adequacy.motion_ratio.value().expect("all directions");
        let along = 1.2_f64.powi(2) + f64::from(stroke).powi(2) / 12.0;
        approx::assert_relative_eq!(ratio, along.sqrt() / 1.2, max_relative = 0.2);
        assert!(adequacy.notes.iter().any(|n| n.contains("shaken")));
    }
}

#[test]
fn noise_is_what_was_added() {
    for deviation in [0.003_f32, 0.01, 0.03] {
        let adequacy = of(&noisy(&gaussian_blur_f32(&discs(), 1.5), deviation));
        let noise = adequacy.noise.figure().expect("bare paper").clone();
        approx::assert_relative_eq!(noise.value, f64::from(deviation), max_relative = 0.1);
    }
}

#[test]
fn strong_compression_shows_its_blocks_and_weak_does_not() {
    let light = noisy(&gaussian_blur_f32(&discs(), 1.2), 0.02);
    let blocking = |quality| compressed(&light, quality).blocking.value().expect("seen");
    let [weak, strong] = [95, 8].map(blocking);
    assert!((weak - 1.0).abs() < 0.1, "{weak}");
    assert!(strong > 1.5, "{strong}");
}

#[test]
fn a_good_photograph_is_called_good_and_a_blurred_one_is_not() {
    let good = of(&noisy(&gaussian_blur_f32(&discs(), 1.0), 0.004));
    assert_eq!(
        (good.verdict, good.notes.len()),
        (Verdict::Good, 0),
        "{good:?}"
    );
    let soft = of(&noisy(&gaussian_blur_f32(&discs(), 6.0), 0.004));
    assert_ne!(soft.verdict, Verdict::Good);
    assert!(!soft.notes.is_empty());
}
