//! What an export may take the place of: an earlier export, and no other file of the user's.

use super::desk::{begun, dossier};
use std::io::Write;

/// A ZIP file that holds a small file.
fn zipped(name: &str) -> Vec<u8> {
    let mut writer = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    let plain = zip::write::SimpleFileOptions::default();
    writer.start_file(name, plain).unwrap();
    writer.write_all(b"A spreadsheet.").unwrap();
    writer.finish().unwrap().into_inner()
}

#[test]
fn an_export_takes_the_place_of_no_other_file_of_its_kind() {
    let (folder, root) = begun();
    let heron = root.display().to_string();
    let file = folder.path().join("file").display().to_string();
    let context = "https://linked.art/ns/v1/linked-art.json";
    let record = format!("{{\"@context\": \"{context}\", \"type\": \"HumanMadeObject\"}}");
    for (option, foreign) in [
        ("--pdf", b"%PDF-1.7 a letter".to_vec()),
        ("--html", b"<!DOCTYPE html><title>A page</title>".to_vec()),
        ("--linked-art", b"{\"stock\": []}".to_vec()),
        (
            "--linked-art",
            b"{\"schema\":\"inktell/reading/1\"}".to_vec(),
        ),
        ("--linked-art", record.into_bytes()),
        ("--bag", zipped("xl/workbook.xml")),
        ("--bag", zipped("a/bagit.txt")),
    ] {
        std::fs::write(&file, &foreign).unwrap();
        let said = dossier(&["export", &heron, option, &file], 2);
        assert!(said.contains("no earlier"), "{option}: {said}");
        assert!(std::fs::read(&file).unwrap() == foreign, "{option}");
    }
}

#[test]
fn an_export_takes_the_place_of_an_earlier_one_alone() {
    let (folder, root) = begun();
    let heron = root.display().to_string();
    let [one, other] = ["one", "other"].map(|n| folder.path().join(n).display().to_string());
    let options = ["--pdf", "--html", "--linked-art", "--bag"];
    for option in options {
        let export = ["export", &heron, option, &one];
        let _ = std::fs::remove_file(&one);
        dossier(&export, 0);
        dossier(&export, 0);
        for another in options.iter().filter(|another| **another != option) {
            let said = dossier(&["export", &heron, another, &one], 2);
            assert!(said.contains("no earlier"), "{another} over {option}");
        }
    }
    // An empty file holds nothing to lose.
    std::fs::write(&other, "").unwrap();
    dossier(&["export", &heron, "--pdf", &other], 0);
}
