//! Copies without location in an export's bag, and other pictures put in their place.

use super::desk::{Desk, desk, dossier, one_line, text};
use super::exports::unpacked;
use super::forging::forge;
use inktell::dossier::LOG;
use inktell::dossier::contents::InMemory;
use inktell::dossier::digest::Digest;
use inktell::dossier::left_out::{self, LeftOut};
use std::io::Write;
use std::path::Path;

/// Makes the dossier one of another version, whose figures cannot be confirmed where they differ.
fn of_another_version(desk: &Desk) {
    forge(Path::new(&desk.heron), &|entry| {
        entry.program.measuring = "0123456789abcdef".into();
    });
}

/// Makes the dossier one of a version that did not name copies.
fn without_pins(desk: &Desk) {
    let log = Path::new(&desk.heron).join(LOG);
    let text = std::fs::read_to_string(&log).unwrap();
    let older = text.lines().map(|line| {
        let Some((before, after)) = line.split_once(",\"without_location\":{") else {
            return format!("{line}\n");
        };
        format!("{before}{}\n", after.split_once('}').unwrap().1)
    });
    std::fs::write(&log, older.collect::<String>()).unwrap();
    forge(Path::new(&desk.heron), &|_| {});
}

/// Exports a bag without places.
fn bag(desk: &Desk) -> String {
    let bag = desk.path("heron.zip");
    let export = ["export", &desk.heron, "--no-measure", "--bag", &bag];
    dossier(&[&export[..], &["--without-location"]].concat(), 0);
    bag
}

/// The bag with a wholly different picture under the name of a copy, and manifests to match.
fn swapped(desk: &Desk, bag: &str) -> String {
    let mut files: InMemory = unpacked(bag)
        .into_iter()
        .map(|(name, bytes)| (name.trim_start_matches("heron/").to_owned(), bytes))
        .collect();
    let file = format!("data/dossier/{}", left_out::FILE);
    let mut told: LeftOut = serde_json::from_slice(&files[&file]).unwrap();
    let copy = told.photographs[0].copy.as_mut().unwrap();
    let petals = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/fixtures/photos/stippled-petals.jpg"
    );
    let other = std::fs::read(petals).unwrap();
    copy.digest = Digest::of(&other);
    let place = format!("data/dossier/{}", copy.path);
    assert!(files.insert(place, other).is_some());
    files.insert(file, serde_json::to_vec(&told).unwrap());
    let manifest = |files: &InMemory, wanted: fn(&str) -> bool| {
        let named = files.iter().filter(|(path, _)| wanted(path));
        let lines = named.map(|(path, bytes)| format!("{}  {path}\n", Digest::of(bytes).sha256));
        lines.collect::<String>().into_bytes()
    };
    let payload = manifest(&files, |path| path.starts_with("data/"));
    files.insert("manifest-sha256.txt".into(), payload);
    let tags = manifest(&files, |path| {
        !path.starts_with("data/") && path != "tagmanifest-sha256.txt"
    });
    files.insert("tagmanifest-sha256.txt".into(), tags);
    let forged = desk.path("swapped.zip");
    let mut writer = zip::ZipWriter::new(std::fs::File::create(&forged).unwrap());
    for (name, bytes) in files {
        let plain = zip::write::SimpleFileOptions::default();
        writer.start_file(format!("heron/{name}"), plain).unwrap();
        writer.write_all(&bytes).unwrap();
    }
    writer.finish().unwrap();
    forged
}

fn verified(bag: &str, options: &[&str], code: i32) -> String {
    one_line(&dossier(&[&["verify", bag], options].concat(), code))
}

#[test]
fn another_picture_in_the_place_of_a_copy_is_told_by_the_log() {
    let desk = desk();
    let forged = swapped(&desk, &bag(&desk));
    for options in [&["--no-measure"][..], &[]] {
        let said = verified(&forged, options, 1);
        assert!(said.contains(": 1 problem found."), "{said}");
        assert!(said.contains("is not its copy"), "{said}");
    }
    let page = desk.path("page.html");
    dossier(&["export", &forged, "--no-measure", "--html", &page], 1);
    let page = std::fs::read_to_string(page).unwrap();
    assert!(page.contains("head.jpg cannot be shown"));
}

#[test]
fn another_picture_is_told_where_another_version_measured_the_photograph() {
    let desk = desk();
    of_another_version(&desk);
    let said = verified(&swapped(&desk, &bag(&desk)), &[], 1);
    assert!(said.contains("is not its copy"), "{said}");
}

#[test]
fn an_honest_copy_is_the_one_that_the_log_names_and_is_shown_under_its_own_hash() {
    let desk = desk();
    let bag = bag(&desk);
    for options in [&["--no-measure"][..], &[]] {
        let said = verified(&bag, options, 0);
        assert!(said.contains("the one that the log names"), "{said}");
    }
    let file = format!("heron/data/dossier/{}", left_out::FILE);
    let files = unpacked(&bag);
    let told = &files.iter().find(|(name, _)| *name == file).unwrap().1;
    let told: LeftOut = serde_json::from_slice(told).unwrap();
    let copy = &told.photographs[0].copy.as_ref().unwrap().digest.sha256;
    let original = &told.photographs[0].original.digest.sha256;
    let page = desk.path("page.html");
    dossier(&["export", &bag, "--no-measure", "--html", &page], 0);
    let page = std::fs::read_to_string(page).unwrap();
    let caption = format!("SHA-256 {copy} of what is shown, a copy of the original");
    assert!(page.contains(&caption));
    assert!(page.contains(&format!("SHA-256 {original} of the original")));
    // An entry that takes in no place is written as it always was.
    let log = std::fs::read_to_string(Path::new(&desk.heron).join(LOG)).unwrap();
    let pinning: Vec<usize> = log
        .lines()
        .enumerate()
        .filter(|(_, line)| line.contains("without_location"))
        .map(|(index, _)| index + 1)
        .collect();
    assert_eq!(pinning, [2]);
    assert!(log.contains(&format!(
        "\"without_location\":{{\"{original}\":\"{copy}\"}}"
    )));
}

#[test]
fn a_copy_that_an_older_log_does_not_name_must_measure_the_same() {
    let desk = desk();
    without_pins(&desk);
    dossier(&["verify", &desk.heron, "--no-measure"], 0);
    let honest = bag(&desk);
    let said = verified(&honest, &[], 0);
    assert!(
        said.contains("2 readings measured again to the same"),
        "{said}"
    );
    let said = verified(&honest, &["--no-measure"], 1);
    assert!(
        said.starts_with("This dossier could NOT be confirmed: 1 problem found."),
        "{said}"
    );
    assert!(said.contains("nothing was measured again here"), "{said}");
    // A bag of the bag says the same of it in what describes it.
    let again = desk.path("again.zip");
    dossier(&["export", &honest, "--no-measure", "--bag", &again], 1);
    for file in ["/bag-info.txt", "/data/exports/dossier.jsonld"] {
        let mut files = unpacked(&again).into_iter();
        let described = files.find(|(name, _)| name.ends_with(file));
        let described = text(&described.unwrap().1);
        let said = "dossier could NOT be confirmed";
        assert!(described.contains(said), "{file}: {described}");
        assert!(!described.contains("dossier does not hold"), "{file}");
    }
    // The same version measures it differently, which is a problem of its own and the only one.
    let said = verified(&swapped(&desk, &honest), &[], 1);
    assert!(said.contains("does not measure the same again"), "{said}");
    assert!(!said.contains("Nothing shows"), "{said}");
}

#[test]
fn figures_of_another_version_must_come_out_the_same_where_the_log_names_no_copy() {
    let desk = desk();
    without_pins(&desk);
    of_another_version(&desk);
    let honest = bag(&desk);
    let said = verified(&honest, &[], 0);
    assert!(
        said.contains("2 readings measured again to the same"),
        "{said}"
    );
    let said = verified(&swapped(&desk, &honest), &[], 1);
    assert!(
        said.contains("Nothing shows that what stands in for the photograph head.jpg of entry 2"),
        "{said}"
    );
    assert!(said.contains("were not confirmed"), "{said}");
}
