use super::*;
use crate::lot::ledger::Entry;
use crate::lot::names::LEDGER_NAME;
use crate::lot::order::Costs;
use crate::lot::order::tests::record;
use crate::lot::record::{Record, Unread};
use crate::weigh::read::equal_priors;

/// A finished or unfinished part of a lot of `planned` sheets in two parts.
fn part(root: &Path, number: u64, planned: usize, sheets: &[&str]) -> PathBuf {
    let folder = root.join(format!("part-{number}"));
    std::fs::create_dir_all(&folder).unwrap();
    let mut settings = Settings::new(
        "Estate".into(),
        "today".into(),
        record("any", None, 0.2).reading.unwrap().prior,
        Costs::default(),
        0.05,
    );
    settings.sheets = planned;
    settings.part = Some([number, 2]);
    settings.write(&folder).unwrap();
    let mut ledger = Ledger::open(&folder).unwrap();
    for sheet in sheets {
        ledger.append(&entry(record(sheet, None, 0.2))).unwrap();
    }
    folder
}

fn entry(record: Record) -> Entry {
    Entry {
        fingerprint: "f".into(),
        record,
    }
}

fn lines(root: &Path, records: &[Record]) -> PathBuf {
    let file = root.join("finished.jsonl");
    let text: Vec<String> = records
        .iter()
        .map(|r| serde_json::to_string(&entry(r.clone())).unwrap())
        .collect();
    std::fs::write(&file, text.join("\n")).unwrap();
    file
}

fn unfetched(sheet: &str) -> Record {
    let mut record = record(sheet, None, 0.2);
    record.not_read.push(Unread {
        file: "b.jpg".into(),
        why: "b.jpg: cannot be read".into(),
        try_again: true,
    });
    record
}

fn refused(parts: &[PathBuf], root: &Path) -> String {
    let out = root.join("out");
    let error = merge(parts, &out, true, None).unwrap_err().to_string();
    // Nothing is left behind that a second try would stumble over.
    let left: Vec<_> = std::fs::read_dir(&out).into_iter().flatten().collect();
    assert!(left.len() <= 1, "{left:?}");
    error
}

#[test]
fn parts_become_one_and_lines_do_too() {
    let root = tempfile::tempdir().unwrap();
    let one = part(root.path(), 1, 3, &["rose", "lily"]);
    let two = part(root.path(), 2, 3, &["iris"]);
    let again = lines(
        root.path(),
        &[record("lily", None, 0.2), record("iris", None, 0.2)],
    );
    let merged = merge(&[one, two, again], &root.path().join("out"), true, None).unwrap();
    let sheets: Vec<_> = merged.ledger.sheets().collect();
    assert_eq!(sheets, ["iris", "lily", "rose"]);
    assert_eq!((merged.settings.sheets, merged.settings.part), (3, None));
    assert_eq!(merged.settings.title, "Estate");
}

#[test]
fn odds_beforehand_are_those_of_the_readings() {
    let root = tempfile::tempdir().unwrap();
    let (rose, mut lily) = (record("rose", None, 0.3), record("lily", None, 0.3));
    let file = lines(root.path(), &[rose.clone(), lily.clone()]);
    let merged = merge(&[file], &root.path().join("a"), true, None).unwrap();
    assert_eq!(merged.settings.reproductions_beforehand(), 0.3);
    assert_eq!(merged.settings.sheets, 2);
    lily.reading.as_mut().unwrap().prior = equal_priors();
    let file = lines(root.path(), &[rose, lily]);
    let error = refused(&[file], root.path());
    assert!(error.contains("lily") && error.contains("odds"), "{error}");
}

#[test]
fn parts_that_were_run_differently_are_both_named_with_what_differs() {
    let root = tempfile::tempdir().unwrap();
    let parts = [
        part(root.path(), 1, 2, &["rose"]),
        part(root.path(), 2, 2, &["iris"]),
    ];
    let second = Settings::read(&parts[1]).unwrap().unwrap();
    let with = |change: &dyn Fn(&mut Settings)| {
        let mut other = second.clone();
        change(&mut other);
        other.write(&parts[1]).unwrap();
        let error = refused(&parts, root.path());
        for part in &parts {
            let name = part.display().to_string();
            assert!(error.contains(&name), "{name} in {error}");
        }
        error
    };
    let wary = record("any", None, 0.4).reading.unwrap().prior;
    let odds = with(&|s| s.prior = wary.clone());
    assert!(
        odds.contains("lithograph 0.2 and 0.15")
            && odds.contains("halftone reproduction 0.2 and 0.4"),
        "{odds}"
    );
    let both = with(&|s| {
        s.costs.missed = 50.0;
        s.scale.px_per_mm = Some(56.2);
    });
    assert!(
        both.contains("cost of a missed reproduction (100 and 50)")
            && both.contains("scale, px/mm (none given and 56.2)"),
        "{both}"
    );
    assert!(
        !both.contains("odds") && !both.contains("set aside"),
        "{both}"
    );
    assert!(with(&|s| s.part = Some([2, 3])).contains("number of parts (2 and 3)"));
    assert!(with(&|s| s.sheets = 5).contains("5"));
    second.write(&parts[1]).unwrap();
    // Lines have no settings; their readings tell.
    let file = lines(root.path(), &[record("fern", None, 0.4)]);
    let [one, two] = parts;
    let error = refused(&[one.clone(), two, file.clone()], root.path());
    for said in [&one, &file].map(|path| path.display().to_string()) {
        assert!(
            error.contains(said.as_str()) && error.contains("fern"),
            "{error}"
        );
    }
}

#[test]
fn sheets_that_different_versions_have_measured_are_not_put_together() {
    let root = tempfile::tempdir().unwrap();
    let file = root.path().join("finished.jsonl");
    let lines = |ways: [&str; 2]| {
        let lines = ["rose", "lily"].into_iter().zip(ways).map(|(sheet, way)| {
            let mut entry = entry(record(sheet, None, 0.2));
            entry.fingerprint = format!("{way}f");
            serde_json::to_string(&entry).unwrap()
        });
        std::fs::write(&file, lines.collect::<Vec<_>>().join("\n")).unwrap();
        file.clone()
    };
    for ways in [["a1-", "b2-"], ["a1-", ""]] {
        let error = refused(&[lines(ways)], root.path());
        for said in ["finished.jsonl", "lily", "different versions"] {
            assert!(error.contains(said), "{said} in {error}");
        }
    }
    let alike = lines(["a1-", "a1-"]);
    assert!(merge(&[alike], &root.path().join("alike"), true, None).is_ok());
}

#[test]
fn lines_are_held_against_the_tasks_that_they_come_from() {
    let root = tempfile::tempdir().unwrap();
    let file = lines(
        root.path(),
        &[record("rose", None, 0.3), record("lily", None, 0.3)],
    );
    let tasks = root.path().join("tasks.jsonl");
    let merged = |out: &str| {
        merge(
            std::slice::from_ref(&file),
            &root.path().join(out),
            true,
            Some(&tasks),
        )
    };
    std::fs::write(&tasks, "{\"sheet\": \"lily\"}\n\n{\"sheet\": \"rose\"}\n").unwrap();
    assert_eq!(merged("whole").unwrap().ledger.sheets().count(), 2);
    std::fs::write(&tasks, "{\"sheet\": \"rose\"}\n{\"sheet\": \"iris\"}\n").unwrap();
    let error = merged("short").unwrap_err().to_string();
    assert!(
        error.contains("iris") && error.contains("1 sheet"),
        "{error}"
    );
    std::fs::write(&tasks, "rose\n").unwrap();
    assert!(merged("bad").unwrap_err().to_string().contains("line 1"));
}

#[test]
fn missing_unfinished_and_damaged_parts_are_refused_unless_asked_for() {
    let root = tempfile::tempdir().unwrap();
    let one = part(root.path(), 1, 4, &["rose", "lily"]);
    let missing = refused(std::slice::from_ref(&one), root.path());
    assert!(missing.contains("2/2"), "{missing}");
    let without = merge(
        std::slice::from_ref(&one),
        &root.path().join("one"),
        false,
        None,
    )
    .unwrap();
    assert_eq!(without.notices, ["part 2/2 is missing."]);
    let two = part(root.path(), 2, 4, &["iris"]);
    let parts = [one.clone(), two.clone()];
    let unfinished = refused(&parts, root.path());
    assert!(
        unfinished.contains("finished 3 sheets and the lot has 4 sheets"),
        "{unfinished}"
    );
    let merged = merge(&parts, &root.path().join("a"), false, None).unwrap();
    assert_eq!(merged.ledger.sheets().count(), 3);
    assert_eq!(merged.settings.sheets, 4, "what is missing can be said");

    let mut ledger = Ledger::open(&two).unwrap();
    ledger.append(&entry(unfetched("fern"))).unwrap();
    drop(ledger);
    let unfetched = refused(&parts, root.path());
    assert!(unfetched.contains("fern"), "{unfetched}");

    let file = two.join(LEDGER_NAME);
    let mut bytes = std::fs::read(&file).unwrap();
    bytes[40] ^= 4;
    std::fs::write(&file, bytes).unwrap();
    let damaged = refused(&parts, root.path());
    assert!(damaged.contains("a line is"), "{damaged}");
    let merged = merge(&parts, &root.path().join("b"), false, None).unwrap();
    assert!(merged.notices[0].contains("part-2"), "{:?}", merged.notices);
    assert!(!merged.ledger.contains("iris"));

    part(root.path(), 2, 5, &["iris", "fern"]);
    let other_plan = refused(&parts, root.path());
    assert!(
        other_plan.contains("5 sheets") && other_plan.contains('4'),
        "{other_plan}"
    );
}

#[test]
fn a_sheet_that_was_fetched_at_last_counts() {
    let root = tempfile::tempdir().unwrap();
    let done = record("rose", None, 0.2);
    for pair in [
        [unfetched("rose"), done.clone()],
        [done.clone(), unfetched("rose")],
    ] {
        let out = tempfile::tempdir().unwrap();
        let file = lines(root.path(), &pair);
        let merged = merge(&[file], out.path(), true, None).unwrap();
        assert_eq!(merged.ledger.record("rose").unwrap(), done);
    }
    let file = lines(root.path(), &[unfetched("rose")]);
    assert!(refused(&[file], root.path()).contains("rose"));
}

#[test]
fn contradictions_and_bad_lines_are_refused_and_no_lot_is_written_over() {
    let root = tempfile::tempdir().unwrap();
    let one = part(root.path(), 1, 2, &["rose"]);
    let two = part(root.path(), 2, 2, &["lily"]);
    let parts = [one.clone(), two, root.path().join("finished.jsonl")];
    let mut other = record("rose", None, 0.2);
    other.photos[0].sha256 = "other".into();
    lines(root.path(), &[other]);
    let error = refused(&parts, root.path());
    assert!(error.contains("two parts with different"), "{error}");
    std::fs::write(&parts[2], "{}\n").unwrap();
    let error = refused(&parts, root.path());
    assert!(error.contains("line 1"), "{error}");
    let before = std::fs::read(one.join(LEDGER_NAME)).unwrap();
    let error = merge(&parts[..2], &one, true, None)
        .unwrap_err()
        .to_string();
    assert!(error.contains("already holds a lot"), "{error}");
    let after = std::fs::read(one.join(LEDGER_NAME)).unwrap();
    assert_eq!(before, after);
}

#[test]
fn a_report_that_is_not_the_lots_own_is_named_no_more() {
    let root = tempfile::tempdir().unwrap();
    let mut foreign = record("rose", None, 0.2);
    foreign.report = Some("../../secret.html".into());
    let mut own = record("lily", None, 0.2);
    own.report = Some(crate::lot::task::report_link("lily"));
    let file = lines(root.path(), &[foreign, own.clone()]);
    let merged = merge(&[file], &root.path().join("out"), true, None).unwrap();
    assert_eq!(merged.ledger.record("rose").unwrap().report, None);
    assert_eq!(merged.ledger.record("lily").unwrap(), own);
}
