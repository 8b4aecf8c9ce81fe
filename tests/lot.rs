//! `inktell lot` as a user meets it: an invented estate end to end, interruptions, parts, odd inputs.

#[path = "lot/asked.rs"]
mod asked;
#[path = "lot/estate.rs"]
mod estate;
#[path = "lot/interrupted.rs"]
mod interrupted;
#[path = "lot/parts.rs"]
mod parts;

use assert_cmd::Command;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

/// Moment printed in pages, so that runs can be compared byte by byte.
const MOMENT: &str = "2026-01-02T10:00:00Z";

fn inktell() -> Command {
    Command::cargo_bin("inktell").expect("the program is built with the tests")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// A small estate, drawn once: 10 sheets, 30 photographs, every fault.
static ESTATE: LazyLock<tempfile::TempDir> = LazyLock::new(|| {
    let folder = tempfile::tempdir().unwrap();
    inktell()
        .args([
            "lot",
            "demo",
            "--sheets",
            "10",
            "--width",
            "300",
            "--px-per-mm",
            "30",
        ])
        .arg(folder.path())
        .assert()
        .success();
    folder
});

fn photos() -> PathBuf {
    ESTATE.path().join("photos")
}

/// The estate examined in one run on two threads, with reports.
static ONE_RUN: LazyLock<tempfile::TempDir> = LazyLock::new(|| {
    let out = tempfile::tempdir().unwrap();
    let output = lot(out.path()).output().unwrap();
    assert_eq!(output.status.code(), Some(2), "{}", text(&output.stderr));
    out
});

/// The command that examines the estate.
fn lot(out: &Path) -> Command {
    let mut command = inktell();
    command
        .args([
            "lot",
            "--time",
            MOMENT,
            "--title",
            "Estate",
            "--threads",
            "2",
        ])
        .arg(photos())
        .arg("--out")
        .arg(out);
    command
}

/// Every file in a folder and below, by its name.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut open = vec![folder.to_owned()];
    while let Some(inner) = open.pop() {
        for entry in std::fs::read_dir(inner).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else {
                let name = path.strip_prefix(folder).unwrap().display().to_string();
                found.insert(name, std::fs::read(&path).unwrap());
            }
        }
    }
    found
}

/// Asserts that two lots hold the same files with the same bytes.
fn assert_same(left: &Path, right: &Path) {
    let (left, right) = (files(left), files(right));
    let names: Vec<_> = left.keys().collect();
    assert_eq!(names, right.keys().collect::<Vec<_>>());
    for (name, bytes) in &left {
        assert!(*bytes == right[name], "{name} differs");
    }
}

/// The rows of the table by sheet; columns by name.
fn table(out: &Path) -> Vec<BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_path(out.join("sheets.csv")).unwrap();
    reader.deserialize().collect::<Result<_, _>>().unwrap()
}
