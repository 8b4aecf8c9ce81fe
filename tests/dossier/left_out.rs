//! Photographs that are not there, and whether what says that they were left out is to be believed.

use super::small::{check, small, told, with, written_again};
use inktell::dossier::LOG;
use inktell::dossier::contents::{Contents, InMemory, open};
use inktell::dossier::digest::Digest;
use inktell::dossier::entry::{Entry, FileRef, Role};
use inktell::dossier::export::bag::{self, Packing};
use inktell::dossier::left_out::{self, Copy, LeftOut, Photograph, WithCopies};
use inktell::dossier::line::Log;
use inktell::dossier::verify::words::Shortfall;
use inktell::dossier::verify::{Asked, Finding, Kind, Verdict, verify};
use std::io::{self, Cursor};

/// A dossier in a bag.
struct Bagged {
    dossier: InMemory,
    bag: InMemory,
}

impl Contents for Bagged {
    fn paths(&self) -> io::Result<Vec<String>> {
        self.dossier.paths()
    }

    fn read(&self, path: &str) -> io::Result<Vec<u8>> {
        self.dossier.read(path)
    }

    fn bag(&self) -> Option<(Box<dyn Contents>, String)> {
        Some((Box::new(self.bag.clone()), "data/dossier/".into()))
    }
}

fn bagged(dossier: InMemory) -> Bagged {
    let manifest = |files: &InMemory| {
        let lines = files
            .iter()
            .map(|(path, bytes)| format!("{}  {path}\n", Digest::of(bytes).sha256));
        lines.collect::<String>().into_bytes()
    };
    let within = dossier
        .iter()
        .map(|(path, bytes)| (format!("data/dossier/{path}"), bytes.clone()));
    let payload: InMemory = within.collect();
    let tags: InMemory = [
        ("bagit.txt".to_owned(), b"BagIt-Version: 1.0\n".to_vec()),
        ("manifest-sha256.txt".to_owned(), manifest(&payload)),
    ]
    .into();
    let tag_manifest = [("tagmanifest-sha256.txt".to_owned(), manifest(&tags))];
    let bag = payload
        .into_iter()
        .chain(tags)
        .chain(tag_manifest)
        .collect();
    Bagged { dossier, bag }
}

/// The small dossier with a reading in its second entry, which says of the photograph there what is
/// given.
fn with_reading(capture: &str) -> InMemory {
    let files = small().files;
    let photo = photo_of(&files);
    let text = format!(
        r#"{{"photos":[{{"sha256":"{}","capture":{capture}}}]}}"#,
        photo.digest.sha256
    );
    let reading = FileRef {
        role: Role::Reading,
        path: "readings/small.json".into(),
        name: "small.json".into(),
        digest: Digest::of(text.as_bytes()),
    };
    let add = |entry: &mut Entry| {
        if entry.n == 2 {
            entry.files.push(reading.clone());
        }
    };
    // Nothing may refer to an entry by its old hash.
    let files = written_again(&files, add, None);
    with(&files, &reading.path, text.into_bytes())
}

fn photo_of(files: &InMemory) -> FileRef {
    let log = Log::parse(&files[LOG]);
    log.lines[1].entry.as_ref().unwrap().files[0].clone()
}

/// The dossier without a file, and a photograph said to be left out.
fn without(files: &InMemory, gone: &FileRef, original: FileRef, copy: Option<Copy>) -> InMemory {
    let left_out = LeftOut {
        schema: left_out::SCHEMA.into(),
        why: "On request.".into(),
        photographs: vec![Photograph { original, copy }],
    };
    let text = serde_json::to_vec(&left_out).unwrap();
    let mut fewer = with(files, left_out::FILE, text);
    fewer.remove(&gone.path);
    fewer
}

const LOCATED: &str = r#"[["location","location data present, not kept"]]"#;

/// Whether a photograph is said to be missing; else it must be excused.
fn says_missing(verdict: &Verdict) -> bool {
    let missing = verdict.problems().any(|f| f.kind == Kind::FileMissing);
    let excused = verdict.remarks().any(|f| f.kind == Kind::LeftOut);
    assert_ne!(missing, excused, "{}", told(verdict));
    missing
}

#[test]
fn only_a_photograph_named_as_the_log_names_it_is_excused() {
    let files = with_reading(LOCATED);
    let log = Log::parse(&files[LOG]);
    let in_bag = |gone: &FileRef, original: FileRef| {
        verify(
            &bagged(without(&files, gone, original, None)),
            &Asked::default(),
        )
    };
    let photo = photo_of(&files);
    assert!(!says_missing(&in_bag(&photo, photo.clone())));
    for change in [
        |f: &mut FileRef| f.name = "other.jpg".into(),
        |f: &mut FileRef| f.digest.bytes += 1,
        |f: &mut FileRef| f.role = Role::Rule,
        |f: &mut FileRef| f.path = "photographs/other.jpg".into(),
    ] {
        let mut other = photo.clone();
        change(&mut other);
        assert!(says_missing(&in_bag(&photo, other)));
    }
    let page = log.lines[0].entry.as_ref().unwrap().files[0].clone();
    assert_eq!(page.role, Role::Readme);
    assert!(says_missing(&in_bag(&page, page.clone())));
}

#[test]
fn a_photograph_taken_away_from_a_folder_is_missing_whatever_is_said_of_it() {
    let files = with_reading(LOCATED);
    let photo = photo_of(&files);
    let verdict = check(&without(&files, &photo, photo.clone(), None));
    assert!(says_missing(&verdict));
    assert!(told(&verdict).contains("counts only in an export's bag"));
    let mut remarks = verdict.remarks();
    assert!(remarks.any(|f| {
        f.text
            .contains("in a folder that is none it counts for nothing")
    }));
    // An export of the folder does not take it along, or it would be believed there.
    let fewer = without(&files, &photo, photo.clone(), None);
    let packing = Packing {
        name: "heron",
        title: "The Heron",
        made: "2026-01-02T10:00:00Z".parse().unwrap(),
        exports: &[],
        shortfall: Some(Shortfall::Fails),
        without_location: false,
    };
    let zipped = bag::file(&fewer, &Log::parse(&fewer[LOG]), &packing)
        .unwrap()
        .bytes;
    let archive = zip::ZipArchive::new(Cursor::new(zipped)).unwrap();
    let mut names = archive.file_names().map(|name| name.unwrap().to_string());
    assert!(!names.any(|name| name.ends_with(left_out::FILE)));
}

#[test]
fn a_photograph_without_a_location_is_not_excused_for_holding_one() {
    for capture in ["[]", r#"[["camera make","location"]]"#, "null"] {
        let files = with_reading(capture);
        let photo = photo_of(&files);
        let fewer = without(&files, &photo, photo.clone(), None);
        assert!(
            says_missing(&verify(&bagged(fewer), &Asked::default())),
            "{capture}"
        );
    }
    // Nor does a reading that was changed afterwards say anything.
    let files = with_reading("[]");
    let photo = photo_of(&files);
    let fewer = without(&files, &photo, photo.clone(), None);
    let forged = format!(
        r#"{{"photos":[{{"sha256":"{}","capture":{LOCATED}}}]}}"#,
        photo.digest.sha256
    );
    let forged = with(&fewer, "readings/small.json", forged.into_bytes());
    assert!(says_missing(&verify(&bagged(forged), &Asked::default())));
    // A copy stands in for what readings do not tell of, as a place in XMP: it is measured instead.
    let copy = Copy {
        path: "photographs-without-location/x.jpg".into(),
        digest: Digest::of(b"copy"),
    };
    let fewer = without(&files, &photo, photo.clone(), Some(copy.clone()));
    let fewer = with(&fewer, &copy.path, b"copy".to_vec());
    assert!(!says_missing(&verify(&bagged(fewer), &Asked::default())));
}

#[test]
fn only_the_entry_that_took_a_photograph_in_says_what_its_copy_is() {
    let copy = Copy {
        path: "photographs-without-location/x.jpg".into(),
        digest: Digest::of(b"copy"),
    };
    let told_of_copy = |pinning: &[(u64, &[u8])]| {
        let files = with_reading("[]");
        let photo = photo_of(&files);
        let pin = |entry: &mut Entry| {
            for (_, copy) in pinning.iter().filter(|(n, _)| *n == entry.n) {
                let pair = (photo.digest.sha256.clone(), Digest::of(copy).sha256);
                entry.without_location.extend([pair]);
                // Whoever holds the folder can name the photograph again in an entry nobody signs.
                if !entry.files.contains(&photo) {
                    entry.files.push(photo.clone());
                }
            }
        };
        let files = written_again(&files, pin, None);
        let fewer = without(&files, &photo, photo.clone(), Some(copy.clone()));
        let bag = bagged(with(&fewer, &copy.path, b"copy".to_vec()));
        let verdict = verify(&bag, &Asked::default());
        let of_photo = |f: &&Finding| f.file.as_ref() == Some(&photo.path);
        let kinds = verdict.problems().filter(of_photo).map(|f| f.kind);
        kinds.collect::<Vec<_>>()
    };
    assert_eq!(told_of_copy(&[(2, b"copy")]), []);
    assert_eq!(told_of_copy(&[(2, b"another")]), [Kind::FileChanged]);
    assert_eq!(told_of_copy(&[]), [Kind::CopyUnconfirmed]);
    assert_eq!(told_of_copy(&[(6, b"copy")]), [Kind::CopyUnconfirmed]);
    let both: [(u64, &[u8]); 2] = [(2, b"another"), (6, b"copy")];
    assert_eq!(told_of_copy(&both), [Kind::FileChanged]);
}

#[test]
fn of_two_copies_named_for_one_photograph_no_second_one_counts() {
    let files = with_reading("[]");
    let photo = photo_of(&files);
    let named = |pin: Option<&[u8]>, copies: &[Option<&[u8]>]| {
        let pinned = |entry: &mut Entry| {
            if let Some(copy) = pin.filter(|_| entry.n == 2) {
                let pair = (photo.digest.sha256.clone(), Digest::of(copy).sha256);
                entry.without_location.extend([pair]);
            }
        };
        let files = written_again(&files, pinned, None);
        let mut files = without(&files, &photo, photo.clone(), None);
        let mut told = left_out::told(&files).unwrap();
        told.photographs.clear();
        for bytes in copies {
            let copy = bytes.map(|bytes| {
                let digest = Digest::of(bytes);
                let path = format!("{}/{}.jpg", left_out::COPIES, digest.sha256);
                files.insert(path.clone(), bytes.to_vec());
                Copy { path, digest }
            });
            let original = photo.clone();
            told.photographs.push(Photograph { original, copy });
        }
        with(&files, left_out::FILE, serde_json::to_vec(&told).unwrap())
    };
    let (one, other): (&[u8], &[u8]) = (b"copy", b"another");
    for copies in [[None, Some(other)], [Some(one), Some(other)]] {
        let verdict = verify(&bagged(named(Some(one), &copies)), &Asked::default());
        let said = told(&verdict);
        assert!(said.contains("is not its copy"), "{said}");
    }
    // Where the log names none, the first is the one that is measured, shown and told of.
    let files = bagged(named(None, &[Some(other), Some(one)]));
    let log = Log::parse(&files.dossier[LOG]);
    let shown = WithCopies::over(&files, &log).read(&photo.path).unwrap();
    assert_eq!(shown, other);
    let verdict = verify(&files, &Asked::default());
    let excused: Vec<_> = verdict
        .remarks()
        .filter(|f| f.kind == Kind::LeftOut)
        .collect();
    assert_eq!(excused.len(), 1);
    assert!(excused[0].text.contains(&Digest::of(other).sha256));
    let stray = verdict.remarks().filter(|f| f.kind == Kind::LeftOver);
    assert_eq!(stray.count(), 1);
}

#[test]
fn a_bag_whose_declaration_was_taken_away_is_held_against_its_manifests() {
    let mut whole = bagged(small().files);
    let of_bag = |bag: &Bagged| told(&verify(bag, &Asked::default()));
    assert_eq!(of_bag(&whole), "");
    whole.bag.remove("bagit.txt");
    let said = of_bag(&whole);
    assert!(said.contains("bagit.txt of the bag is missing"), "{said}");
    assert_eq!(said.lines().count(), 1, "{said}");
    whole.bag.remove("tagmanifest-sha256.txt");
    let said = of_bag(&whole);
    assert!(said.contains("bagit.txt of the bag is missing"), "{said}");
}

#[test]
fn files_in_a_bag_that_no_manifest_names_are_told() {
    let mut bag = bagged(small().files);
    bag.bag.insert("dossier.html".into(), b"forged".to_vec());
    let verdict = verify(&bag, &Asked::default());
    assert!(verdict.holds(), "{}", told(&verdict));
    let mut remarks = verdict.remarks().filter(|f| f.kind == Kind::LeftOver);
    let remark = remarks.next().unwrap();
    assert_eq!(remark.file.as_deref(), Some("dossier.html"));
    assert!(remark.text.contains("no manifest names it"));
    assert_eq!(remarks.next(), None);
}

#[test]
fn files_in_a_zip_file_beside_the_bag_are_told() {
    let files = small().files;
    let packing = Packing {
        name: "heron",
        title: "The Heron",
        made: "2026-01-02T10:00:00Z".parse().unwrap(),
        exports: &[],
        shortfall: None,
        without_location: false,
    };
    let zipped = bag::file(&files, &Log::parse(&files[LOG]), &packing)
        .unwrap()
        .bytes;
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("heron.zip");
    let beside = |bytes: Vec<u8>| {
        std::fs::write(&file, bytes).unwrap();
        let verdict = verify(open(&file).unwrap().as_ref(), &Asked::default());
        assert!(verdict.holds(), "{}", told(&verdict));
        let remarks = verdict.remarks().filter(|f| f.kind == Kind::LeftOver);
        remarks.map(|f| f.file.clone()).collect::<Vec<_>>()
    };
    assert_eq!(beside(zipped.clone()), []);
    let mut writer = zip::ZipWriter::new_append(Cursor::new(zipped)).unwrap();
    let plain = zip::write::SimpleFileOptions::default();
    writer.start_file("dossier.html", plain).unwrap();
    let more = writer.finish().unwrap().into_inner();
    assert_eq!(beside(more), [Some("dossier.html".to_owned())]);
}
