//! Killed at any moment, and begun again.

use super::*;
use std::process::{Command as Process, Stdio};
use std::time::Duration;

fn program(out: &Path) -> Process {
    let mut process = Process::new(assert_cmd::cargo::cargo_bin("inktell"));
    process
        .args([
            "lot",
            "--quiet",
            "--time",
            MOMENT,
            "--title",
            "Estate",
            "--threads",
            "2",
        ])
        .arg(photos())
        .arg("--out")
        .arg(out)
        .stderr(Stdio::null())
        .stdout(Stdio::null());
    process
}

/// Killed without warning at moments spread over the run, until it ends by itself.
#[test]
fn a_run_killed_again_and_again_ends_as_an_uninterrupted_one() {
    let out = tempfile::tempdir().unwrap();
    let (mut killed, mut finished_before, mut patience) = (0, 0, 1);
    // Odd steps, so that kills fall into reading, measuring, writing and the end alike.
    for wait_ms in (0..).map(|k| 170 + (k * 397) % 1900) {
        let mut run = program(out.path()).spawn().unwrap();
        std::thread::sleep(Duration::from_millis(wait_ms * patience));
        if run.try_wait().unwrap().is_some() {
            break;
        }
        run.kill().unwrap();
        run.wait().unwrap();
        killed += 1;
        let ledger = std::fs::read_to_string(out.path().join("ledger.jsonl")).unwrap_or_default();
        let finished = ledger.matches('\n').count();
        assert!(finished >= finished_before, "finished sheets were lost");
        // On a machine with much other work no sheet may be finished in the usual time.
        patience = match finished > finished_before {
            true => 1,
            false => patience + 1,
        };
        finished_before = finished;
        assert!(killed < 200, "no progress is made");
    }
    assert!(killed > 2, "the run was killed {killed} times only");
    program(out.path()).status().unwrap();
    assert_same(out.path(), ONE_RUN.path());
}

/// What is finished is not done again, unless its files have changed.
#[test]
fn finished_sheets_are_not_redone() {
    let out = tempfile::tempdir().unwrap();
    let lot_of_one = tempfile::tempdir().unwrap();
    std::fs::copy(
        photos().join("box 2/lily-02a.jpg"),
        lot_of_one.path().join("a.jpg"),
    )
    .unwrap();
    let run = || {
        let output = inktell()
            .args(["lot", "--time", MOMENT])
            .arg(lot_of_one.path())
            .arg("--out")
            .arg(out.path())
            .output()
            .unwrap();
        text(&output.stderr)
    };
    assert!(!run().contains("earlier run"));
    let before = files(out.path());
    assert!(run().contains("Finished in an earlier run: 1 of 1."));
    assert_eq!(before, files(out.path()));
    std::fs::copy(
        photos().join("box 2/lily-02b.jpg"),
        lot_of_one.path().join("a.jpg"),
    )
    .unwrap();
    assert!(
        !run().contains("earlier run"),
        "a changed file was not noticed"
    );
    assert_ne!(before, files(out.path()));
}

/// A disk that is not mounted leaves an empty folder behind.
#[test]
fn sheets_whose_photographs_are_not_there_come_back_with_them() {
    let (out, sources) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    for (sheet, from) in [("rose", "a"), ("lily", "b")] {
        let folder = sources.path().join(sheet);
        std::fs::create_dir(&folder).unwrap();
        let from = photos().join(format!("box 2/lily-02{from}.jpg"));
        std::fs::copy(from, folder.join("1.jpg")).unwrap();
    }
    let run = |extra: &[&str]| {
        let output = inktell()
            .args(["lot", "--time", MOMENT])
            .args(extra)
            .arg(sources.path())
            .arg("--out")
            .arg(out.path())
            .output()
            .unwrap();
        text(&output.stderr)
    };
    run(&[]);
    let whole = files(out.path());
    let (mounted, elsewhere) = (sources.path().join("rose/1.jpg"), out.path().join("1.jpg"));
    std::fs::rename(&mounted, &elsewhere).unwrap();
    let said = run(&["--quiet"]);
    assert!(
        said.contains("1 sheet of an earlier run is not in this lot and"),
        "{said}"
    );
    let rows = table(out.path());
    assert_eq!((rows.len(), &rows[0]["sheet"][..]), (1, "lily"));
    std::fs::rename(&elsewhere, &mounted).unwrap();
    let said = run(&[]);
    assert!(said.contains("earlier run: 2 of 2."), "{said}");
    assert_eq!(whole, files(out.path()));
}

/// Ctrl-C: sheets in work are finished, the exit code says so, and the same command goes on.
#[cfg(unix)]
#[test]
fn control_c_stops_in_good_order() {
    let out = tempfile::tempdir().unwrap();
    let mut run = program(out.path()).stderr(Stdio::piped()).spawn().unwrap();
    let ledger = out.path().join("ledger.jsonl");
    let begun = || std::fs::metadata(&ledger).is_ok_and(|m| m.len() > 0);
    for _ in 0..600 {
        if begun() {
            break;
        }
        std::thread::sleep(Duration::from_millis(50));
    }
    let id = run.id().to_string();
    Process::new("kill").args(["-INT", &id]).status().unwrap();
    let status = run.wait().unwrap();
    let mut said = String::new();
    std::io::Read::read_to_string(&mut run.stderr.take().unwrap(), &mut said).unwrap();
    assert_eq!(status.code(), Some(130), "{said}");
    assert!(said.contains("finished and kept"), "{said}");
    program(out.path()).status().unwrap();
    assert_same(out.path(), ONE_RUN.path());
}
