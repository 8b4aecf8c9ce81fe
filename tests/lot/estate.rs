//! The estate end to end.

use super::*;

fn row<'a>(rows: &'a [BTreeMap<String, String>], sheet: &str) -> &'a BTreeMap<String, String> {
    rows.iter()
        .find(|r| r["sheet"] == sheet)
        .unwrap_or_else(|| panic!("{sheet} is not in the table"))
}

#[test]
fn every_sheet_has_its_row_and_every_fault_its_word() {
    let rows = table(ONE_RUN.path());
    assert_eq!(rows.len(), 10, "the rule is no sheet");
    let truncated = row(&rows, "box 2/trout-06");
    assert_eq!(truncated["not_read"], "1");
    assert!(truncated["not_read_because"].contains("trout-06b.jpg"));
    assert_eq!(truncated["inspect"], "yes");
    assert_ne!(truncated["standing"], "period");
    let letter = row(&rows, "box 1/rose 9");
    assert!(letter["not_read_because"].contains("1.jpg"));
    let copied = row(&rows, "box 2/quince-08");
    assert!(copied["twice"].contains("quince-08d.jpg is the same file as box 2/quince-08c.jpg"));
    for row in &rows {
        let scale: f64 = row["px_per_mm"].parse().unwrap();
        let off = (scale / 30.0 - 1.0).abs();
        assert!(off < 0.01, "{}: the rule was not used", row["sheet"]);
        assert!(!row["why"].is_empty());
        let report = ONE_RUN.path().join(&row["report"]);
        assert!(report.is_file(), "{}", report.display());
    }
    let ranks: Vec<usize> = rows.iter().map(|r| r["rank"].parse().unwrap()).collect();
    assert_eq!(ranks, (1..=10).collect::<Vec<_>>());
}

#[test]
fn no_reproduction_of_the_estate_passes_as_a_period_print() {
    let mut truth = csv::Reader::from_path(ESTATE.path().join("truth.csv")).unwrap();
    let truth: Vec<BTreeMap<String, String>> =
        truth.deserialize().collect::<Result<_, _>>().unwrap();
    let rows = table(ONE_RUN.path());
    let copies: Vec<&str> = truth
        .iter()
        .filter(|t| t["process"] == "halftone")
        .map(|t| t["sheet"].as_str())
        .collect();
    assert!(!copies.is_empty());
    for sheet in copies {
        assert_ne!(row(&rows, sheet)["standing"], "period", "{sheet}");
    }
    for row in rows
        .iter()
        .filter(|r| r["process"] == "undetermined" || r["process"] == "not-read")
    {
        assert_ne!(row["standing"], "period", "{}", row["sheet"]);
    }
}

#[test]
fn every_line_keeps_to_the_schema_that_the_program_prints() {
    let printed = inktell().args(["schema", "lot"]).output().unwrap();
    assert_eq!(printed.status.code(), Some(0));
    let schema: serde_json::Value = serde_json::from_slice(&printed.stdout).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let lines = std::fs::read_to_string(ONE_RUN.path().join("sheets.jsonl")).unwrap();
    let lines: Vec<serde_json::Value> = lines
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    assert_eq!(lines.len(), 10);
    for line in &lines {
        let errors: Vec<_> = validator.iter_errors(line).map(|e| e.to_string()).collect();
        assert!(errors.is_empty(), "{}: {errors:?}", line["sheet"]["sheet"]);
    }
    // It is no schema that anything keeps to: without a key, or with another, a line does not.
    for key in ["rank", "standing", "twice"] {
        let mut line = lines[0].clone();
        line.as_object_mut().unwrap().remove(key);
        assert!(!validator.is_valid(&line), "without {key}");
    }
    let mut line = lines[0].clone();
    line["sheet"]["pictures"] = serde_json::json!({});
    assert!(!validator.is_valid(&line), "pictures stand in no line");
}

#[test]
fn all_forms_of_the_result_hold_the_same_sheets_in_the_same_order() {
    use parquet::file::reader::{FileReader, SerializedFileReader};
    let sheets: Vec<String> = table(ONE_RUN.path())
        .into_iter()
        .map(|r| r["sheet"].clone())
        .collect();
    let lines = std::fs::read_to_string(ONE_RUN.path().join("sheets.jsonl")).unwrap();
    let in_lines: Vec<String> = lines
        .lines()
        .map(|l| {
            let value: serde_json::Value = serde_json::from_str(l).unwrap();
            assert_eq!(value["schema"], "inktell/lot-sheet/1");
            value["sheet"]["sheet"].as_str().unwrap().to_owned()
        })
        .collect();
    assert_eq!(in_lines, sheets);
    let file = std::fs::File::open(ONE_RUN.path().join("sheets.parquet")).unwrap();
    let reader = SerializedFileReader::new(file).unwrap();
    let in_parquet: Vec<String> = reader
        .get_row_iter(None)
        .unwrap()
        .map(|row| {
            let row = row.unwrap();
            let sheet = row
                .get_column_iter()
                .find(|(name, _)| *name == "sheet")
                .unwrap();
            sheet.1.to_string().trim_matches('"').to_owned()
        })
        .collect();
    assert_eq!(in_parquet, sheets);
    let page = std::fs::read_to_string(ONE_RUN.path().join("lot.html")).unwrap();
    let places: Vec<usize> = sheets
        .iter()
        .map(|s| {
            page.find(&format!("data-name=\"{s}\""))
                .unwrap_or_else(|| panic!("{s}"))
        })
        .collect();
    assert!(places.is_sorted(), "the page has another order");
    for outside in ["http://", "https://", "<link", "@import", "url("] {
        assert!(!page.contains(outside), "{outside}");
    }
    assert!(page.len() < 40_000 * sheets.len(), "{} bytes", page.len());
}

#[test]
fn more_threads_less_memory_and_an_address_give_the_same_bytes() {
    let out = tempfile::tempdir().unwrap();
    lot(out.path()).args(["--no-reports"]).output().unwrap();
    let other = tempfile::tempdir().unwrap();
    inktell()
        .args([
            "lot",
            "--time",
            MOMENT,
            "--title",
            "Estate",
            "--threads",
            "3",
            "--memory-mb",
            "10",
            "--no-reports",
        ])
        .arg(format!("file://{}", photos().display()))
        .arg("--out")
        .arg(other.path())
        .output()
        .unwrap();
    for name in ["sheets.csv", "sheets.jsonl", "sheets.parquet", "lot.html"] {
        let read = |folder: &Path| std::fs::read(folder.join(name)).unwrap();
        assert!(read(out.path()) == read(other.path()), "{name} differs");
    }
}
