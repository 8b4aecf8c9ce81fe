//! The form of `--json`: its schema is fixed, and documents keep to it.

use inktell::examine;
use inktell::photo::ReadOptions;
use inktell::report::json;
use serde_json::Value;
use std::path::{Path, PathBuf};

/// Set this variable to write the schema anew after a change that is meant.
const REBUILD: &str = "INKTELL_REBUILD_FIXTURES";

fn golden() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/reading-1.schema.json")
}

#[test]
fn the_schema_has_not_changed_unnoticed() {
    let schema = json::schema_text().unwrap();
    if std::env::var_os(REBUILD).is_some() {
        std::fs::write(golden(), &schema).unwrap();
    }
    let kept = std::fs::read_to_string(golden()).unwrap();
    assert!(
        schema == kept,
        "the schema differs from fixtures/reading-1.schema.json; if that is meant, run this test once with {REBUILD}=1 and look at the difference"
    );
}

/// A drawn photograph, `shade` of its ink from 0 to 255.
fn drawn(folder: &Path, name: &str, shade: u8) -> PathBuf {
    let picture = image::RgbImage::from_fn(310, 250, |x, y| {
        let row = y / 15;
        let (dx, dy) = (f64::from((x + row * 4) % 21) - 9.0, f64::from(y % 15) - 7.0);
        let radius = 2.6 + f64::from((x / 21 * 3 + row * 5) % 5) * 0.6;
        let ink = (radius + 0.5 - dx.hypot(dy)).clamp(0.0, 1.0);
        let value = |paper: f64| (paper - ink * (paper - f64::from(shade))) as u8;
        image::Rgb([value(235.0), value(226.0), value(205.0)])
    });
    let file = folder.join(name);
    picture.save(&file).unwrap();
    file
}

fn document(files: &[PathBuf], px_per_mm: Option<f64>) -> Value {
    let options = ReadOptions {
        px_per_mm,
        ..ReadOptions::default()
    };
    let examination = examine::sheet(files, &options, None).unwrap();
    serde_json::from_str(&json::text(&examination, &[]).unwrap()).unwrap()
}

/// Figures with an interval anywhere in a document: value, interval and unit.
fn figures<'a>(document: &'a Value, found: &mut Vec<([&'a Value; 3], &'a Value)>) {
    match document {
        Value::Object(map) => {
            if let (Some(lo), Some(hi)) = (map.get("lo"), map.get("hi")) {
                found.push(([&map["value"], lo, hi], &map["unit"]));
            }
            map.values().for_each(|inner| figures(inner, found));
        }
        Value::Array(items) => items.iter().for_each(|inner| figures(inner, found)),
        _ => {}
    }
}

#[test]
fn a_finding_has_the_unit_of_the_figure_that_it_is_taken_from() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/photos");
    let document = document(&[folder.join("stippled-petals.jpg")], Some(109.0));
    let mut measured = Vec::new();
    figures(&document["measurements"], &mut measured);
    let mut compared = 0;
    for finding in document["findings"].as_array().unwrap() {
        let Some(interval) = finding["interval"].as_array() else {
            continue;
        };
        let own = [&finding["value"], &interval[0], &interval[1]];
        let units: Vec<&Value> = measured
            .iter()
            .filter(|(figure, _)| *figure == own)
            .map(|(_, unit)| *unit)
            .collect();
        assert!(
            units.is_empty() || units.contains(&&finding["unit"]),
            "{} {} {units:?}",
            finding["measurement"],
            finding["unit"]
        );
        compared += usize::from(!units.is_empty());
    }
    assert!(compared > 30, "{compared}");
}

#[test]
fn documents_keep_to_the_schema() {
    let schema: Value = serde_json::from_str(&json::schema_text().unwrap()).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let one = drawn(folder.path(), "one.png", 40);
    let two = drawn(folder.path(), "two.png", 120);
    let blank = folder.path().join("blank.png");
    image::RgbImage::from_pixel(9, 5, image::Rgb([230; 3]))
        .save(&blank)
        .unwrap();
    for (files, scale) in [
        (vec![one.clone()], Some(56.2)),
        (vec![one.clone()], None),
        (vec![one, two], Some(40.0)),
        (vec![blank], None),
    ] {
        let document = document(&files, scale);
        let errors: Vec<_> = validator
            .iter_errors(&document)
            .map(|e| e.to_string())
            .collect();
        assert!(errors.is_empty(), "{files:?}: {errors:?}");
    }
    assert!(!validator.is_valid(&serde_json::json!({"schema": "inktell/reading/2"})));
}

#[test]
fn one_photograph_has_its_measurements_at_the_top_and_several_each_their_own() {
    let folder = tempfile::tempdir().unwrap();
    let one = drawn(folder.path(), "one.png", 40);
    let two = drawn(folder.path(), "two.png", 120);
    let single = document(std::slice::from_ref(&one), Some(50.0));
    assert!(single["photos"][0].get("measurements").is_none());
    let both = document(&[one, two], Some(50.0));
    let telling = both["measurements_of"].as_u64().unwrap() as usize;
    assert_eq!(
        both["photos"][telling]["measurements"],
        both["measurements"]
    );
    assert_eq!(both["photos"][0]["measurements"], single["measurements"]);
    for group in ["marks", "lines", "lattice", "grain", "film", "layering"] {
        assert!(both["measurements"][group].is_object(), "{group}");
    }
}

#[test]
fn keys_stand_in_the_order_of_the_contract() {
    let folder = tempfile::tempdir().unwrap();
    let options = ReadOptions::default();
    let file = drawn(folder.path(), "one.png", 40);
    let examination = examine::sheet(&[file], &options, None).unwrap();
    let text = json::text(&examination, &[]).unwrap();
    let places: Vec<_> = ["schema", "photos", "reading", "findings", "measurements"]
        .iter()
        .map(|key| text.find(&format!("\n  \"{key}\":")).unwrap())
        .collect();
    assert!(places.is_sorted(), "{places:?}");
}
