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
    let mut bytes = Cursor::new(Vec::new());
    DynamicImage::ImageRgb8(picture)
        .write_to(&mut bytes, ImageFormat::Png)
        .expect("encodes");
    examine::bytes(&bytes.into_inner(), Path::new("cloth.png"), &options()).expect("read")
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
