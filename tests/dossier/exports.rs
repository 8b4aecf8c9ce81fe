//! What `inktell dossier export` writes.

use super::desk::{begun, desk, dossier, inktell, one_line, photo, ruled_photo, text};
use inktell::dossier::contents::Folder;
use inktell::dossier::line::Log;
use inktell::dossier::{LOG, privacy, work};
use inktell::report::{figures, words};
use std::io::Read;
use std::path::Path;

#[test]
fn exports_carry_the_hash_the_signers_and_the_cautions() {
    let desk = desk();
    let log = Log::parse(&std::fs::read(Path::new(&desk.heron).join(LOG)).unwrap());
    let head = log.lines.last().unwrap().digest.sha256.clone();
    let [pdf, letter, html, art, bag] = [
        "a4.pdf",
        "letter.pdf",
        "heron.html",
        "heron.jsonld",
        "heron.zip",
    ]
    .map(|n| desk.path(n));
    let time = ["--time", "2026-01-02T10:00:00Z", "--no-measure"];
    let all = [
        "export",
        &desk.heron,
        "--pdf",
        &pdf,
        "--html",
        &html,
        "--linked-art",
        &art,
        "--bag",
        &bag,
        "--without-location",
    ];
    dossier(&[&all[..], &time].concat(), 0);
    dossier(
        &[
            &["export", &desk.heron, "--pdf", &letter, "--paper", "letter"][..],
            &time,
        ]
        .concat(),
        0,
    );

    let page = std::fs::read_to_string(&html).unwrap();
    for word in [
        head.as_str(),
        "SHA256:",
        "not an appraisal",
        "goggles",
        "left out of this account",
        "2 January 2026",
    ] {
        assert!(page.contains(word), "{word}");
    }
    for outside in ["<script", "<link", "@import", "51 deg"] {
        assert!(!page.contains(outside), "{outside}");
    }
    // Pages, fonts and text of the PDF are read by another program: tests/dossier_exports.py.
    assert!(
        [&pdf, &letter]
            .iter()
            .all(|f| std::fs::read(f).unwrap().starts_with(b"%PDF-1."))
    );
    let document: serde_json::Value =
        serde_json::from_slice(&std::fs::read(&art).unwrap()).unwrap();
    assert_eq!(document["type"], "HumanMadeObject");
    assert!(document.to_string().contains(&head));
    // The bag can be verified itself, knows what it left out, and measures the same.
    let said = one_line(&dossier(&["verify", &bag, "--expect", &head[..16]], 0));
    assert!(
        said.contains("head.jpg of entry 2 was left out of this export"),
        "{said}"
    );
    assert!(
        said.contains("2 readings measured again to the same figures"),
        "{said}"
    );
    assert!(
        said.contains("Entry 5 has the SHA-256 that you noted; it is the last."),
        "{said}"
    );
    let again = desk.path("heron2.zip");
    std::fs::rename(&bag, &again).unwrap();
    dossier(&[&all[..], &time].concat(), 0);
    assert!(
        std::fs::read(&bag).unwrap() == std::fs::read(&again).unwrap(),
        "the same bytes again"
    );
    let mut names = Vec::new();
    for (name, bytes) in unpacked(&bag) {
        assert!(!holds_place(&bytes), "a place is left in {name}");
        names.push(name);
    }
    for name in [
        "heron/bagit.txt",
        "heron/manifest-sha256.txt",
        "heron/data/dossier/left-out.json",
        "heron/data/exports/dossier.pdf",
    ] {
        assert!(names.iter().any(|n| n == name), "{name} in {names:?}");
    }
}

#[test]
fn an_export_of_what_does_not_hold_says_so() {
    let desk = desk();
    let log = Path::new(&desk.heron).join(LOG);
    let changed = std::fs::read_to_string(&log)
        .unwrap()
        .replace("No glow", "A glow");
    std::fs::write(&log, changed).unwrap();
    let html = desk.path("x.html");
    dossier(&["export", &desk.heron, "--html", &html, "--no-measure"], 1);
    let page = std::fs::read_to_string(&html).unwrap();
    assert!(page.contains("This dossier does not hold"));
    let art = desk.path("x.jsonld");
    dossier(
        &["export", &desk.heron, "--linked-art", &art, "--no-measure"],
        1,
    );
    let document = std::fs::read_to_string(&art).unwrap();
    assert!(document.contains("This dossier does not hold"));
    let refused = dossier(
        &[
            "observe",
            &desk.heron,
            "--by",
            "eye",
            "More.",
            "--author",
            "A",
        ],
        2,
    );
    assert!(
        refused.contains("nothing was added") && refused.contains("verify"),
        "{refused}"
    );
}

#[test]
fn what_speaks_against_a_reading_stands_in_every_export() {
    let (folder, root) = begun();
    let heron = root.display().to_string();
    let photo = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/fixtures/photos/stippled-petals.jpg"
    );
    let author = ["--author", "A. Bidder"];
    // So coarse that no screen would show: nothing is settled, and no reproduction excluded.
    let add = ["add", &heron, photo, "--px-per-mm", "12"];
    dossier(&[&add[..], &author].concat(), 0);
    dossier(
        &[&["conclude", &heron, "Left open."][..], &author].concat(),
        0,
    );
    let log = Log::parse(&std::fs::read(root.join(LOG)).unwrap());
    let examination = work::combined(&Folder(root), &log, u64::MAX);
    let reading = examination.unwrap().unwrap().reading;
    let mut caveats: Vec<String> = words::reproduction_sentence(&reading).into_iter().collect();
    caveats.extend(
        reading
            .undetermined_because
            .iter()
            .map(|reason| words::sentence(reason)),
    );
    assert!(caveats.len() > 1, "{caveats:?}");
    let [page, art] =
        ["heron.html", "heron.jsonld"].map(|name| folder.path().join(name).display().to_string());
    let export = ["export", &heron, "--no-measure", "--html", &page];
    dossier(&[&export[..], &["--linked-art", &art]].concat(), 0);
    let shown = dossier(&["show", &heron], 0);
    let read = |file: &str| std::fs::read_to_string(file).unwrap();
    for (export, text) in [("show", shown), ("page", read(&page)), ("JSON", read(&art))] {
        let text = one_line(&text);
        for caveat in &caveats {
            assert!(text.contains(&one_line(caveat)), "{caveat} in {export}");
        }
    }
    // Weights have a sign, and an aid that holds without the rest of a report.
    let best = reading.best().unwrap();
    let heaviest = reading.for_and_against().0[0].log10_lr[&best];
    let weight = format!("{} for {}", figures::weight(heaviest), best.name());
    let page = read(&page);
    assert!(
        weight.starts_with('+') && page.contains(&weight),
        "{weight}"
    );
    assert!(!page.contains("the figure at the top"));
}

/// Names and bytes of what a ZIP file holds.
pub fn unpacked(file: &str) -> Vec<(String, Vec<u8>)> {
    let mut archive = zip::ZipArchive::new(std::fs::File::open(file).unwrap()).unwrap();
    let count = archive.len();
    let read = |index| {
        let mut file = archive.by_index(index).unwrap();
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).unwrap();
        (text(file.name().unwrap().as_bytes()), bytes)
    };
    (0..count).map(read).collect()
}

/// Whether a file holds a place: in a block of EXIF, as the desk's photographs do, by another program's
/// reading and by the very bytes of their latitude; or in words.
fn holds_place(file: &[u8]) -> bool {
    let latitude = [0, 0, 0, 51, 0, 0, 0, 1, 0, 0, 0, 30, 0, 0, 0, 1];
    let block = exif::Reader::new().read_from_container(&mut std::io::Cursor::new(file));
    let of_place = |field: &exif::Field| field.tag.context() == exif::Context::Gps;
    block.is_ok_and(|block| block.fields().any(of_place))
        || file.windows(latitude.len()).any(|bytes| bytes == latitude)
        || privacy::traces(file).location.is_some()
}

#[test]
fn a_bag_without_places_holds_nothing_that_no_entry_names() {
    let desk = desk();
    // Someone's snapshot in the folder: nobody looks into it for a place.
    let stray = Path::new(&desk.heron).join("photographs/snapshot.bytes");
    std::fs::write(stray, "exif:GPSLatitude=51").unwrap();
    let [whole, private, again, page] =
        ["whole.zip", "private.zip", "again.zip", "page.html"].map(|n| desk.path(n));
    let export = |from: &str, options: &[&str]| {
        let all = [&["export", from, "--no-measure"], options].concat();
        dossier(&all, 0)
    };
    let holds_stray = |bag: &str| {
        unpacked(bag)
            .iter()
            .any(|(name, _)| name.contains("snapshot"))
    };
    export(&desk.heron, &["--bag", &whole]);
    assert!(holds_stray(&whole));
    let located = unpacked(&whole).into_iter().filter(|f| holds_place(&f.1));
    assert_eq!(located.count(), 2, "the photograph and the snapshot");
    export(&desk.heron, &["--bag", &private, "--without-location"]);
    assert!(!holds_stray(&private));
    // What was left out stays told in a bag made of the bag, and copies are shown in its stead.
    let without = ["--bag", &again, "--html", &page, "--without-location"];
    export(&private, &without);
    for bag in [&private, &again] {
        for (name, bytes) in unpacked(bag) {
            assert!(!holds_place(&bytes), "{bag}: {name}");
        }
        let said = one_line(&dossier(&["verify", bag], 0));
        assert!(said.contains("head.jpg of entry 2 was left out"), "{said}");
        assert!(
            said.contains("2 readings measured again to the same"),
            "{said}"
        );
    }
    let page = std::fs::read_to_string(&page).unwrap();
    assert!(!page.contains("cannot be shown"));
}

#[test]
fn one_entry_is_counted_as_one() {
    let (folder, root) = begun();
    let page = folder.path().join("x.html").display().to_string();
    dossier(&["export", &root.display().to_string(), "--html", &page], 0);
    let page = std::fs::read_to_string(page).unwrap();
    assert!(page.contains(">1 entry; unsigned<"));
}

#[test]
fn a_changed_export_in_a_bag_is_found() {
    let desk = desk();
    let [bag, forged] = ["heron.zip", "forged.zip"].map(|n| desk.path(n));
    dossier(&["export", &desk.heron, "--no-measure", "--bag", &bag], 0);
    let said = one_line(&dossier(&["verify", &bag, "--no-measure"], 0));
    assert!(said.contains("its manifests, which nobody signs"), "{said}");
    let mut writer = zip::ZipWriter::new(std::fs::File::create(&forged).unwrap());
    for (name, bytes) in unpacked(&bag) {
        let bytes = match name.ends_with("dossier.html") {
            true => text(&bytes).replace("The Heron", "The Egret").into_bytes(),
            false => bytes,
        };
        writer
            .start_file(name, zip::write::SimpleFileOptions::default())
            .unwrap();
        std::io::Write::write_all(&mut writer, &bytes).unwrap();
    }
    writer.finish().unwrap();
    let said = one_line(&dossier(&["verify", &forged, "--no-measure"], 1));
    assert!(
        said.contains("1 problem found") && said.contains("dossier.html of the bag was changed"),
        "{said}"
    );
}

#[test]
fn what_was_corrected_is_never_shown_without_the_correction() {
    let desk = desk();
    let amend = |n: &str, words: &str| {
        dossier(&["amend", &desk.heron, n, words, "--key", &desk.key], 0);
    };
    amend("4", "Rather a lithograph, I now think.");
    amend("3", "Under another lamp.");
    let [art, page] = ["heron.jsonld", "heron.html"].map(|n| desk.path(n));
    let export = ["export", &desk.heron, "--no-measure", "--linked-art", &art];
    dossier(&[&export[..], &["--html", &page]].concat(), 0);
    let page = std::fs::read_to_string(&page).unwrap();
    let before_the_log = page.split("The log, entry by entry").next().unwrap();
    let document = std::fs::read_to_string(&art).unwrap();
    let shown = one_line(&dossier(&["show", &desk.heron], 0));
    for correction in ["Rather a lithograph, I now think.", "Under another lamp."] {
        assert!(before_the_log.contains(correction), "{correction}");
        assert!(document.contains(correction), "{correction}");
        let log = shown.find("THE LOG").unwrap_or(shown.len());
        assert!(shown.find(correction).is_some_and(|at| at < log), "{shown}");
    }
    assert!(document.contains("SHA256:"), "who signed");
}

#[test]
fn what_was_withdrawn_counts_no_more_and_is_marked() {
    let desk = desk();
    let key = ["--key", &desk.key];
    for n in ["2", "4", "5"] {
        let amend = ["amend", &desk.heron, n, "Another sheet.", "--withdraw"];
        dossier(&[&amend[..], &key].concat(), 0);
    }
    let [art, page] = ["heron.jsonld", "heron.html"].map(|n| desk.path(n));
    let export = ["export", &desk.heron, "--no-measure", "--linked-art", &art];
    dossier(&[&export[..], &["--html", &page]].concat(), 0);
    let document = std::fs::read_to_string(&art).unwrap();
    let page = std::fs::read_to_string(&page).unwrap();
    for gone in ["head.jpg", "technique", "494 × 304"] {
        assert!(!document.contains(gone), "{gone} in {document}");
    }
    assert!(
        document.contains("495 × 305"),
        "the size before the correction withdrawn"
    );
    assert!(page.contains("No conclusion stands"));
    for marked in [&page, &document] {
        for n in ["2", "4"] {
            let withdrawal = format!("Entry {n} was withdrawn by entry");
            assert!(marked.contains(&withdrawal), "{withdrawal}");
        }
        assert!(marked.contains("entry 4, signed; withdrawn"));
    }
    assert!(!page.contains("<section class=\"photograph\""));
    for kept in ["Withdrawn by entry 6", "A line engraving.", "head.jpg"] {
        assert!(page.contains(kept), "{kept}");
    }
}

#[test]
fn the_place_in_a_photograph_of_a_rule_is_told_as_well() {
    let (folder, root) = begun();
    let rule = ruled_photo(folder.path(), "rule.jpg").display().to_string();
    let head = photo(folder.path(), "head.jpg", false)
        .display()
        .to_string();
    let heron = root.display().to_string();
    let output = inktell()
        .args(["dossier", "add", &heron, &head, "--scale-from", &rule])
        .args(["--author", "A. Bidder"])
        .output()
        .unwrap();
    let said = text(&output.stderr);
    assert!(output.status.success(), "{said}");
    assert!(
        said.contains("rule.jpg holds the place where it was taken"),
        "{said}"
    );
    assert!(!said.contains("head.jpg holds the place"), "{said}");
    let shown = one_line(&dossier(&["show", &heron], 0));
    assert!(
        shown.contains("The file of the photograph of a rule rule.jpg holds the place"),
        "{shown}"
    );
    let bag = folder.path().join("heron.zip").display().to_string();
    dossier(&["export", &heron, "--bag", &bag, "--without-location"], 0);
    let said = one_line(&dossier(&["verify", &bag], 0));
    assert!(
        said.contains("photograph of a rule rule.jpg of entry 2 was left out"),
        "{said}"
    );
    assert!(
        said.contains("1 reading measured again to the same figures"),
        "{said}"
    );
}
