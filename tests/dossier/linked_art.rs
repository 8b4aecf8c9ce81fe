//! What the Linked Art document says of photographs that an export leaves out.

use super::desk::{desk, dossier};
use inktell::dossier::LOG;
use inktell::dossier::line::Log;
use serde_json::Value;
use std::path::Path;

/// Labels and SHA-256 of the files that show a photograph, by the document.
fn files_of(document: &str, photograph: &str) -> Vec<(String, String, String)> {
    let text = std::fs::read_to_string(document).unwrap();
    let document: Value = serde_json::from_str(&text).unwrap();
    let mut all = document["representation"].as_array().unwrap().iter();
    let shown = all.find(|shown| shown["_label"] == format!("Photograph {photograph}"));
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let files = shown.unwrap()["digitally_shown_by"].as_array().unwrap();
    let told = files.iter().map(|file| {
        let hash = &file["identified_by"][0];
        (
            text(&file["_label"]),
            text(&hash["_label"]),
            text(&hash["content"]),
        )
    });
    told.collect()
}

#[test]
fn a_copy_and_its_original_have_each_their_own_hash() {
    let desk = desk();
    let [whole, private, bag, again] = [
        "whole.jsonld",
        "private.jsonld",
        "heron.zip",
        "again.jsonld",
    ]
    .map(|n| desk.path(n));
    let export = |from: &str, options: &[&str]| {
        dossier(&[&["export", from, "--no-measure"], options].concat(), 0);
    };
    export(&desk.heron, &["--linked-art", &whole]);
    let without = [
        "--linked-art",
        &private,
        "--bag",
        &bag,
        "--without-location",
    ];
    export(&desk.heron, &without);
    // From a bag without places, whatever is asked for.
    export(&bag, &["--linked-art", &again]);

    let log = Log::parse(&std::fs::read(Path::new(&desk.heron).join(LOG)).unwrap());
    let entry = log.entries().nth(1).unwrap();
    let (original, copy) = entry.without_location.first_key_value().unwrap();
    let told = |label: &str, hash: &str, sha256: &str| {
        (
            format!("head.jpg{label}"),
            hash.to_owned(),
            sha256.to_owned(),
        )
    };
    assert_eq!(
        files_of(&whole, "head.jpg"),
        [told("", "SHA-256", original)]
    );
    let left = "the original, which this export leaves out";
    for document in [private, again] {
        let expected = [
            told(
                ", a copy without the place where it was taken",
                "SHA-256 of the copy",
                copy,
            ),
            told(
                &format!(", {left}"),
                &format!("SHA-256 of {left}"),
                original,
            ),
        ];
        assert_eq!(files_of(&document, "head.jpg"), expected, "{document}");
        let plain = files_of(&document, "border.jpg");
        assert_eq!(plain.len(), 1);
        assert_eq!(plain[0].1, "SHA-256");
    }
}
