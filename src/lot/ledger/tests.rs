use super::*;
use crate::lot::names::ABSENT_NAME;
use crate::lot::task::report_link;

fn entry(sheet: &str, fingerprint: &str) -> Entry {
    Entry {
        fingerprint: fingerprint.into(),
        record: Record::blank(sheet, Some("a note")),
    }
}

#[test]
fn a_ledger_cut_at_any_byte_keeps_what_was_finished() {
    let folder = tempfile::tempdir().unwrap();
    let mut ledger = Ledger::open(folder.path()).unwrap();
    let mut ends = vec![0];
    for name in ["rose", "lily", "iris"] {
        ledger.append(&entry(name, "f")).unwrap();
        ends.push(ledger.end);
    }
    drop(ledger);
    let path = folder.path().join(LEDGER_NAME);
    let whole = fs::read(&path).unwrap();
    for cut in 0..=whole.len() {
        fs::write(&path, &whole[..cut]).unwrap();
        let mut ledger = Ledger::open(folder.path()).unwrap();
        let finished = ends.iter().filter(|end| **end <= cut as u64).count() - 1;
        assert_eq!(ledger.sheets().count(), finished, "cut at {cut}");
        assert_eq!(ledger.damaged_lines(), 0);
        ledger.append(&entry("iris", "g")).unwrap();
        assert!(ledger.holds("iris", "g") && !ledger.holds("iris", "f"));
        assert_eq!(ledger.record("iris").unwrap(), entry("iris", "").record);
    }
}

#[test]
fn half_a_line_is_cut_off_before_the_next() {
    let folder = tempfile::tempdir().unwrap();
    let mut ledger = Ledger::open(folder.path()).unwrap();
    ledger.append(&entry("rose", "f")).unwrap();
    let half = &line_of(&entry("lily", "f")).unwrap()[..40];
    // As a full disk leaves it.
    ledger.file.write_all(half.as_bytes()).unwrap();
    ledger.append(&entry("iris", "f")).unwrap();
    assert_eq!(ledger.record("iris").unwrap(), entry("iris", "").record);
    drop(ledger);
    let ledger = Ledger::open(folder.path()).unwrap();
    assert_eq!(ledger.damaged_lines(), 0);
    assert_eq!(ledger.sheets().collect::<Vec<_>>(), ["iris", "rose"]);
    assert!(ledger.contains("rose") && !ledger.contains("lily"));
}

#[test]
fn a_ledger_aside_takes_its_place_whole_or_leaves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let names = || {
        let names = fs::read_dir(folder.path()).unwrap();
        names.map(|n| n.unwrap().file_name()).collect::<Vec<_>>()
    };
    let mut ledger = Ledger::aside(folder.path()).unwrap();
    ledger.append(&entry("rose", "f")).unwrap();
    drop(ledger);
    assert!(names().is_empty());
    let mut ledger = Ledger::aside(folder.path()).unwrap();
    for (name, fingerprint) in [("rose", "f"), ("lily", "f"), ("rose", "g")] {
        ledger.append(&entry(name, fingerprint)).unwrap();
        ledger.record("rose").unwrap();
    }
    let ledger = ledger.tidy(&["lily", "rose"]).unwrap();
    assert_eq!(names(), [LEDGER_NAME]);
    assert!(ledger.holds("rose", "g") && ledger.holds("lily", "f"));
    assert_eq!(ledger.damaged_lines(), 0);
}

#[test]
fn a_flipped_bit_is_seen_and_tidying_leaves_what_counts() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(LEDGER_NAME);
    let mut ledger = Ledger::open(folder.path()).unwrap();
    for name in ["rose", "lily", "iris", "old"] {
        ledger.append(&entry(name, "f")).unwrap();
    }
    let start = ledger.sheets["lily"].start as usize;
    drop(ledger);
    let mut bytes = fs::read(&path).unwrap();
    bytes[start + 30] ^= 4;
    fs::write(&path, bytes).unwrap();
    let mut ledger = Ledger::open(folder.path()).unwrap();
    assert_eq!(ledger.damaged_lines(), 1);
    assert!(!ledger.holds("lily", "f"));
    ledger.append(&entry("lily", "f")).unwrap();
    let ledger = ledger.tidy(&["iris", "lily", "rose"]).unwrap();
    assert_eq!(ledger.damaged_lines(), 0);
    let text = fs::read_to_string(&path).unwrap();
    let sheets: Vec<_> = text
        .lines()
        .map(|l| {
            serde_json::from_str::<Entry>(&l[17..])
                .unwrap()
                .record
                .sheet
        })
        .collect();
    assert_eq!(sheets, ["iris", "lily", "rose"]);
}

#[test]
fn tidying_removes_reports_that_no_sheet_has_any_longer_and_no_other_file() {
    let folder = tempfile::tempdir().unwrap();
    let reports = folder.path().join("reports");
    fs::create_dir(&reports).unwrap();
    let outside = folder.path().join("outside.html");
    fs::write(&outside, "the user's").unwrap();
    fs::write(reports.join("notes.html"), "the user's").unwrap();
    let with_report = |sheet: &str, report: Option<&str>| {
        let mut entry = entry(sheet, "f");
        entry.record.report = report.map(str::to_owned);
        entry
    };
    let mut ledger = Ledger::open(folder.path()).unwrap();
    for sheet in ["rose", "gone", "now without"] {
        let link = report_link(sheet);
        for ending in ["html", "json"] {
            let file = folder.path().join(&link).with_extension(ending);
            fs::write(file, "a report").unwrap();
        }
        ledger.append(&with_report(sheet, Some(&link))).unwrap();
    }
    ledger.append(&with_report("now without", None)).unwrap();
    let elsewhere = Some("outside.html");
    ledger.append(&with_report("strange", elsewhere)).unwrap();
    drop(ledger);
    let ledger = Ledger::open(folder.path()).unwrap();
    let ledger = ledger.tidy(&["now without", "rose"]).unwrap();
    let mut left: Vec<String> = fs::read_dir(&reports)
        .unwrap()
        .map(|file| file.unwrap().file_name().into_string().unwrap())
        .collect();
    left.sort();
    let mut kept = vec!["notes.html".to_owned()];
    for sheet in ["rose", "gone"] {
        let name = report_link(sheet).replace("reports/", "");
        kept.extend([name.replace(".html", ".json"), name]);
    }
    kept.sort();
    assert_eq!(left, kept);
    assert!(outside.exists());
    // What is gone already is no trouble.
    ledger.tidy(&[]).unwrap();
}

#[test]
fn what_is_absent_is_kept_until_it_is_asked_for_again() {
    let folder = tempfile::tempdir().unwrap();
    let absent = folder.path().join(ABSENT_NAME);
    let mut ledger = Ledger::open(folder.path()).unwrap();
    for name in ["rose", "lily", "iris"] {
        ledger.append(&entry(name, "f")).unwrap();
    }
    let ledger = ledger.tidy(&["iris", "lily", "rose"]).unwrap();
    assert!(!absent.exists());
    let whole = fs::read(folder.path().join(LEDGER_NAME)).unwrap();
    let ledger = ledger.tidy(&["lily", "rose"]).unwrap();
    let mut ledger = ledger.tidy(&["lily"]).unwrap();
    assert_eq!(ledger.sheets().collect::<Vec<_>>(), ["lily"]);
    ledger
        .take_back(|_, fingerprint| fingerprint != "f")
        .unwrap();
    assert!(!ledger.contains("rose"));
    // What was begun anew since stays as it is.
    ledger.append(&entry("iris", "g")).unwrap();
    ledger.take_back(|_, _| true).unwrap();
    assert!(ledger.holds("rose", "f") && ledger.holds("iris", "g"));
    ledger.append(&entry("iris", "f")).unwrap();
    drop(ledger.tidy(&["iris", "lily", "rose"]).unwrap());
    assert!(!absent.exists());
    assert_eq!(fs::read(folder.path().join(LEDGER_NAME)).unwrap(), whole);
}

#[test]
fn two_runs_do_not_share_a_folder() {
    let folder = tempfile::tempdir().unwrap();
    let first = Ledger::open(folder.path()).unwrap();
    assert!(matches!(
        Ledger::open(folder.path()),
        Err(LedgerError::InUse(_))
    ));
    drop(first);
    assert!(Ledger::open(folder.path()).is_ok());
}
