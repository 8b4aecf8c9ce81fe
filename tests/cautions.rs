//! What is told beside a reading, whatever it is.

use image::{DynamicImage, ImageFormat, Rgb, RgbImage};
use inktell::measure::Examined;
use inktell::photo::ReadOptions;
use inktell::report::terminal;
use inktell::specimen::camera::Hardness;
use inktell::specimen::series::{SeedFamily, SeriesRequest, specimen};
use inktell::specimen::sheet::{ColourTruth, Origin};
use inktell::weigh::{Colouring, Process, Reading};
use inktell::{examine, report};
use std::io::Cursor;
use std::path::{Path, PathBuf};

fn fixture(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("fixtures")
        .join(name)
}

fn options() -> ReadOptions {
    ReadOptions {
        px_per_mm: Some(109.0),
        ..ReadOptions::default()
    }
}

/// The bundled photograph of a stippled sheet.
fn stippled() -> Examined {
    examine::photograph(&fixture("photos/stippled-petals.jpg"), &options()).expect("bundled")
}

/// A red cloth, unevenly dyed.
fn cloth() -> Examined {
    let mut state = 1u32;
    let mut noise = || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 27) as u8
    };
    let picture = RgbImage::from_fn(700, 500, |x, y| {
        let knot = 40 * u8::from((x / 9 + y / 7) % 5 == 0);
        Rgb([150 - knot + noise(), 40 + noise(), 36 + noise()])
    });
    let cloth = as_png(&DynamicImage::ImageRgb8(picture));
    examine::bytes(&cloth, Path::new("cloth.png"), &options()).expect("read")
}

fn as_png(picture: &DynamicImage) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    picture
        .write_to(&mut bytes, ImageFormat::Png)
        .expect("encodes");
    bytes.into_inner()
}

fn told(reading: &Reading, what: &str) -> bool {
    reading
        .cautions
        .iter()
        .any(|caution| caution.contains(what))
}

#[test]
fn a_good_photograph_alone_asks_for_no_caution() {
    let reading = examine::together(vec![stippled()], None).reading;
    assert_eq!(reading.cautions, Vec::<String>::new());
    // Its colouring stays open, so the place that would settle it is asked for.
    assert!(reading.colouring.contains(&Colouring::Undetermined));
    let asked = |next: &String| next.contains("edge of a coloured area");
    assert!(reading.next_photographs.iter().any(asked));
}

#[test]
fn photographs_that_contradict_each_other_are_said_to_wherever_a_reading_stands() {
    let examination = examine::together(vec![stippled(), cloth()], None);
    let reading = &examination.reading;
    assert!(
        told(reading, "contradict each other"),
        "{:?}",
        reading.cautions
    );
    assert!(terminal::summary(&examination, &[], 100).contains("Caution: "));
    let document = report::json::text(&examination, &[]).expect("a document");
    let document: serde_json::Value = serde_json::from_str(&document).expect("JSON");
    let cautions = document["reading"]["cautions"].as_array().expect("a list");
    assert_eq!(cautions.len(), reading.cautions.len());
}

/// A photograph of a part of the stippled sheet, at so many pixels per mm as is told.
fn part(px_per_mm: Option<f64>) -> Examined {
    let whole = image::open(fixture("photos/stippled-petals.jpg")).expect("bundled");
    let part = whole.crop_imm(0, 0, whole.width() * 3 / 4, whole.height());
    let options = ReadOptions {
        px_per_mm,
        ..ReadOptions::default()
    };
    examine::bytes(&as_png(&part), Path::new("part.png"), &options).expect("read")
}

/// A blank leaf whose scale nobody told.
fn blank_leaf() -> Examined {
    let leaf = RgbImage::from_pixel(500, 400, Rgb([222, 212, 195]));
    let leaf = as_png(&DynamicImage::ImageRgb8(leaf));
    examine::bytes(&leaf, Path::new("leaf.png"), &ReadOptions::default()).expect("read")
}

#[test]
fn a_blank_leaf_vouches_for_no_photograph_beside_it() {
    const COARSE: f64 = 15.0;
    let alone = examine::together(vec![part(Some(COARSE))], None).reading;
    let beside = examine::together(vec![blank_leaf(), part(Some(COARSE))], None).reading;
    assert!(!alone.shows_screens && !beside.shows_screens);
    assert_eq!(beside.process, None);
    assert_eq!(beside.log10_lr, alone.log10_lr);
    assert_eq!(beside.undetermined_because, alone.undetermined_because);
    assert_eq!(beside.narrowed_to, []);
    assert_eq!(beside.colouring, [Colouring::Undetermined]);
    // By itself it is not too coarse, and nothing is left to be told of it.
    assert!(
        examine::together(vec![blank_leaf()], None)
            .reading
            .shows_screens
    );
}

#[test]
fn where_only_a_photograph_without_a_scale_could_show_a_screen_that_is_told() {
    let what = "no scale was given";
    let coarse = |photo| vec![photo, part(Some(15.0))];
    let unscaled = examine::photograph(
        &fixture("photos/stippled-petals.jpg"),
        &ReadOptions::default(),
    );
    let reading = examine::together(coarse(unscaled.expect("bundled")), None).reading;
    assert!(told(&reading, what), "{:?}", reading.cautions);
    let reading = examine::together(coarse(stippled()), None).reading;
    assert!(!told(&reading, what), "{:?}", reading.cautions);
    // A coarse photograph excludes no reproduction that the fine one does not.
    let fine = examine::together(vec![stippled()], None).reading;
    let chance = |reading: &Reading| reading.posterior[&Process::Halftone];
    assert!(chance(&reading) >= chance(&fine) - 1e-9);
}

/// The first drawn lithograph of a colouring that is named plain.
fn lithograph_called_plain(colouring: ColourTruth) -> (Reading, usize) {
    let request = SeriesRequest {
        origin: Some(Origin::Lithograph),
        colouring: Some(vec![colouring]),
        hardness: Some(Hardness::Easy),
        px_per_mm: Some([60.0, 120.0]),
        ..SeriesRequest::default()
    };
    let named = (0..20).find_map(|index| {
        let drawn = specimen(SeedFamily::Scoring.seed(index), &request);
        let options = ReadOptions {
            px_per_mm: Some(drawn.truth.px_per_mm),
            ..ReadOptions::default()
        };
        let bytes = drawn.encode().expect("encodes");
        let examined = examine::bytes(&bytes, Path::new(&drawn.file_name()), &options).ok()?;
        let levels = examined.measurements.film.levels;
        let reading = examine::together(vec![examined], None).reading;
        (reading.process == Some(Process::Lithograph)).then_some((reading, levels))
    });
    named.expect("one of twenty sharp lithographs is named")
}

#[test]
fn a_lithograph_without_paper_beside_its_ground_is_not_said_to_be_untinted() {
    let what = "would look like paper";
    let (plain, levels) = lithograph_called_plain(ColourTruth::None);
    assert!(levels <= 1 && told(&plain, what), "{:?}", plain.cautions);
    let (washed, levels) = lithograph_called_plain(ColourTruth::HandWash);
    assert!(levels > 1 && !told(&washed, what), "{:?}", washed.cautions);
}
