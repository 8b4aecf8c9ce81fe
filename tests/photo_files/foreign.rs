//! Files that other programs wrote, read as those read them.

use super::*;

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
    let text = include_str!("../../fixtures/foreign_files/values.json");
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
