//! `inktell dossier` as a user meets it, from the key to the export.

use assert_cmd::Command;
use inktell::dossier::contents::{Folder, in_memory};
use inktell::dossier::digest::Digest;
use inktell::dossier::entry::{Deed, Entry, Role};
use inktell::dossier::line::{self, Log};
use inktell::dossier::store::head_text;
use inktell::dossier::verify::{Asked, Kind, verify};
use inktell::dossier::{HEAD, LOG};
use std::io::{Cursor, Read};
use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::time::Duration;

const PASSPHRASE: &str = "heron stands in reeds";

fn inktell() -> Command {
    let mut command = Command::cargo_bin("inktell").expect("the program is built with the tests");
    command
        .env("COLUMNS", "100")
        .env("INKTELL_PASSPHRASE", PASSPHRASE)
        .env_remove("INKTELL_KEY")
        .env_remove("INKTELL_AUTHOR");
    command
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// Runs `inktell dossier …` and gives its standard output; any other exit code fails.
fn dossier(arguments: &[&str], code: i32) -> String {
    let output = inktell().arg("dossier").args(arguments).output().unwrap();
    let said = format!("{}{}", text(&output.stdout), text(&output.stderr));
    assert_eq!(output.status.code(), Some(code), "{arguments:?}: {said}");
    if code == 2 {
        text(&output.stderr)
    } else {
        text(&output.stdout)
    }
}

/// A text without its line breaks and indents.
fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A drawn photograph of dots on warm paper as a JPEG file with a place in it.
fn photo(folder: &Path, name: &str, located: bool) -> PathBuf {
    let picture = image::RgbImage::from_fn(310, 230, |x, y| {
        let (col, row) = (x / 23, y / 19);
        let radius = 3.0 + f64::from((col * 7 + row * 3) % 5) * 0.8;
        let dx = f64::from(x % 23) - 11.0 + f64::from((row * 5) % 4);
        let dy = f64::from(y % 19) - 9.0 + f64::from((col * 3) % 4) - 1.5;
        let ink = (radius + 0.5 - dx.hypot(dy)).clamp(0.0, 1.0);
        image::Rgb([236.0, 228.0, 210.0].map(|paper| (paper - ink * (paper - 40.0)) as u8))
    });
    let mut bytes = Vec::new();
    image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, 95)
        .encode_image(&picture)
        .unwrap();
    if located {
        bytes = with_place(&bytes);
    }
    let file = folder.join(name);
    std::fs::write(&file, bytes).unwrap();
    file
}

fn with_place(jpeg: &[u8]) -> Vec<u8> {
    use exif::{Field, In, Tag, Value};
    let degrees = |d: u32| Value::Rational(vec![(d, 1).into(), (30, 1).into(), (0, 1).into()]);
    let ascii = |text: &str| Value::Ascii(vec![text.as_bytes().to_vec()]);
    let fields = [
        (Tag::GPSLatitudeRef, ascii("N")),
        (Tag::GPSLatitude, degrees(51)),
        (Tag::GPSLongitudeRef, ascii("W")),
        (Tag::GPSLongitude, degrees(2)),
    ]
    .map(|(tag, value)| Field {
        tag,
        ifd_num: In::PRIMARY,
        value,
    });
    let mut writer = exif::experimental::Writer::new();
    fields.iter().for_each(|field| writer.push_field(field));
    let mut block = Cursor::new(Vec::new());
    writer.write(&mut block, false).unwrap();
    let segment = [b"Exif\0\0", &block.into_inner()[..]].concat();
    let mut out = jpeg[..2].to_vec();
    out.extend([0xff, 0xe1]);
    out.extend((segment.len() as u16 + 2).to_be_bytes());
    out.extend(segment);
    out.extend(&jpeg[2..]);
    out
}

struct Desk {
    folder: tempfile::TempDir,
    heron: String,
    key: String,
}

/// A dossier of five signed entries with two photographs.
fn desk() -> Desk {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).display().to_string();
    let (heron, key) = (path("heron"), path("key"));
    dossier(&["key", &key, "--name", "A. Bidder"], 0);
    dossier(
        &[
            "begin",
            &heron,
            "--title",
            "The Heron",
            "--sheet",
            "495x305",
            "--plate-mark",
            "470x300",
            "--format",
            "royal folio",
            "--inscription",
            "lower left: B. Nemo sculpt",
            "--provenance",
            "C. Nobody, 1931",
            "--key",
            &key,
        ],
        0,
    );
    let head = photo(folder.path(), "head.jpg", true).display().to_string();
    let border = photo(folder.path(), "border.jpg", false)
        .display()
        .to_string();
    dossier(
        &[
            "add",
            &heron,
            &head,
            &border,
            "--px-per-mm",
            "56.2",
            "--key",
            &key,
        ],
        0,
    );
    dossier(
        &[
            "observe",
            &heron,
            "--by",
            "ultraviolet",
            "No glow.",
            "--key",
            &key,
        ],
        0,
    );
    let conclude = [
        "conclude",
        &heron,
        "--process",
        "line-engraving",
        "A line engraving.",
        "--key",
        &key,
    ];
    let refused = dossier(&conclude, 2);
    assert!(refused.contains("--because"), "{refused}");
    let why = [
        &conclude[..],
        &["--because", "The lines are plain to the eye."],
    ]
    .concat();
    dossier(&why, 0);
    dossier(
        &[
            "amend",
            &heron,
            "1",
            "Measured again.",
            "--set",
            "sheet=494x304",
            "--key",
            &key,
        ],
        0,
    );
    Desk { folder, heron, key }
}

impl Desk {
    fn path(&self, name: &str) -> String {
        self.folder.path().join(name).display().to_string()
    }
}

#[test]
fn a_dossier_from_key_to_verification() {
    let desk = desk();
    let said = one_line(&dossier(&["verify", &desk.heron], 0));
    assert!(
        said.starts_with("Everything holds: 5 entries, 5 files checked, 2 readings measured"),
        "{said}"
    );
    assert!(said.contains("Signed by A. Bidder (key SHA256:"), "{said}");
    assert!(said.contains("What this cannot show"), "{said}");
    let shown = dossier(&["show", &desk.heron], 0);
    for word in [
        "THE HERON",
        "494 × 304 mm",
        "speaks for the format claimed",
        "A line engraving.",
        "In process: The lines are plain to the eye.",
        "Corrected by entry 5",
        "51 deg 30 min",
        "goggles",
        "not an appraisal",
        "C. Nobody, 1931",
    ] {
        assert!(one_line(&shown).contains(word), "{word} in {shown}");
    }
    let private = dossier(&["show", &desk.heron, "--without-location"], 0);
    assert!(
        !private.contains("51 deg") && private.contains("left out"),
        "{private}"
    );
    // A second signer, and the list of keys that someone knows.
    let second = desk.path("second");
    dossier(&["key", &second, "--name", "D. Second"], 0);
    dossier(
        &[
            "countersign",
            &desk.heron,
            "I had the sheet in hand.",
            "--key",
            &second,
        ],
        0,
    );
    let public = std::fs::read_to_string(format!("{}.pub", desk.key)).unwrap();
    let signers = desk.path("signers");
    std::fs::write(&signers, format!("\"A. Bidder\" {public}")).unwrap();
    let said = dossier(
        &["verify", &desk.heron, "--no-measure", "--signers", &signers],
        1,
    );
    assert!(
        one_line(&said).contains("(D. Second) is not among the known signers"),
        "{said}"
    );
}

#[test]
fn a_changed_photograph_is_told_to_the_byte_and_the_exit_code_says_so() {
    let desk = desk();
    let folder = Path::new(&desk.heron).join("photographs");
    let file = std::fs::read_dir(folder)
        .unwrap()
        .next()
        .unwrap()
        .unwrap()
        .path();
    let mut bytes = std::fs::read(&file).unwrap();
    bytes[4321] ^= 0x10;
    std::fs::write(&file, &bytes).unwrap();
    let said = one_line(&dossier(&["verify", &desk.heron], 1));
    assert!(said.starts_with("This dossier does not hold"), "{said}");
    assert!(said.contains("byte 4321 (counted from 0)"), "{said}");
    let json = dossier(&["verify", &desk.heron, "--no-measure", "--json"], 1);
    let verdict: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(verdict["findings"][0]["kind"], "file-changed");
}

/// Writes the log again after a change, with every link, hash and reference as it should be.
fn forge(root: &Path, change: impl Fn(&mut Entry)) {
    let log = Log::parse(&std::fs::read(root.join(LOG)).unwrap());
    let count = log.lines.len() as u64;
    let mut digests: Vec<Digest> = Vec::new();
    let mut bytes = Vec::new();
    for line in log.lines {
        let mut entry = line.entry.unwrap();
        change(&mut entry);
        entry.prev = digests.last().cloned();
        match &mut entry.deed {
            Deed::Conclusion(c) => {
                c.considers.sha256 = digests[c.considers.n as usize - 1].sha256.clone()
            }
            Deed::Amendment(a) => a.amends.sha256 = digests[a.amends.n as usize - 1].sha256.clone(),
            _ => {}
        }
        let line = line::compose(entry, None).unwrap();
        digests.push(Digest::of(&line));
        bytes.extend(line);
    }
    std::fs::write(root.join(LOG), bytes).unwrap();
    std::fs::write(root.join(HEAD), head_text(count, digests.last().unwrap())).unwrap();
}

#[test]
fn a_forged_figure_is_told_by_measuring_again_and_another_version_is_told_apart() {
    let desk = desk();
    let root = PathBuf::from(&desk.heron);
    // A forger who mends every hash still cannot make the photograph agree.
    let log = Log::parse(&std::fs::read(root.join(LOG)).unwrap());
    let entry = log.lines[1].entry.as_ref().unwrap();
    let reading = entry
        .files
        .iter()
        .find(|f| f.role == Role::Reading)
        .unwrap();
    let kept = std::fs::read_to_string(root.join(&reading.path)).unwrap();
    let mut document: serde_json::Value = serde_json::from_str(&kept).unwrap();
    let figure = &mut document["photos"][0]["measurements"]["marks"]["density_per_mm2"]["value"];
    *figure = serde_json::json!(figure.as_f64().unwrap() * 1.2);
    let forged = serde_json::to_vec_pretty(&document).unwrap();
    let digest = Digest::of(&forged);
    let path = format!("readings/{}.json", digest.sha256);
    std::fs::write(root.join(&path), forged).unwrap();
    let swap = |entry: &mut Entry| {
        for file in entry
            .files
            .iter_mut()
            .filter(|f| f.role == Role::Reading && entry.n == 2)
        {
            file.path = path.clone();
            file.digest = digest.clone();
        }
    };
    forge(&root, swap);
    let quick = dossier(&["verify", &desk.heron, "--no-measure"], 0);
    assert!(quick.contains("Signed by nobody"), "{quick}");
    let said = one_line(&dossier(&["verify", &desk.heron], 1));
    assert!(
        said.contains("Entry 2 does not measure the same again, by the same program"),
        "{said}"
    );
    assert!(
        said.contains("photos.0.measurements.marks.density_per_mm2.value: recorded"),
        "{said}"
    );
    // The same difference under another version is no proof of tampering, and is said to be none.
    forge(&root, |entry| {
        entry.program.measuring = "0123456789abcdef".into()
    });
    let said = one_line(&dossier(&["verify", &desk.heron], 0));
    assert!(said.contains("measures entry 2 differently"), "{said}");
    assert!(said.contains("no sign of tampering"), "{said}");
}

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
    let mut archive = zip::ZipArchive::new(std::fs::File::open(&bag).unwrap()).unwrap();
    for index in 0..archive.len() {
        let mut file = archive.by_index(index).unwrap();
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).unwrap();
        assert!(
            !text(&bytes).contains("GPSLatitude"),
            "a place is left in the bag"
        );
        names.push(text(file.name().unwrap().as_bytes()));
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
fn what_makes_no_sense_is_refused_with_what_to_do() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).display().to_string();
    let (none, key, heron) = (path("none"), path("key"), path("heron"));
    dossier(
        &[
            "begin",
            &heron,
            "--title",
            "The Heron",
            "--author",
            "A. Bidder",
        ],
        0,
    );
    dossier(&["key", &key, "--name", "A. Bidder"], 0);
    for (arguments, said) in [
        (vec!["verify", &none], "name a dossier's folder or ZIP file"),
        (
            vec!["begin", &heron, "--title", "x", "--author", "A"],
            "holds a dossier already",
        ),
        (vec!["begin", &none, "--title", "x"], "--author"),
        (
            vec![
                "begin", &none, "--title", "x", "--author", "A", "--sheet", "3",
            ],
            "352x254",
        ),
        (
            vec!["observe", &none, "--by", "eye", "x", "--author", "A"],
            "inktell dossier begin",
        ),
        (
            vec!["observe", &heron, "--by", "nose", "x", "--author", "A"],
            "raking-light",
        ),
        (
            vec!["observe", &heron, "--by", "eye", " ", "--author", "A"],
            "the text is empty",
        ),
        (
            vec!["amend", &heron, "7", "x", "--author", "A"],
            "there is no entry 7",
        ),
        (
            vec![
                "amend",
                &heron,
                "1",
                "x",
                "--set",
                "colour=red",
                "--author",
                "A",
            ],
            "plate-mark",
        ),
        (
            vec!["amend", &heron, "1", "x", "--withdraw", "--author", "A"],
            "cannot be withdrawn",
        ),
        (
            vec!["countersign", &heron, "x", "--author", "A"],
            "--key FILE",
        ),
        (
            vec!["add", &heron, &none, "--author", "A"],
            "name a photograph of the sheet",
        ),
        (vec!["add", &heron, &key, "--author", "A"], "key:"),
        (vec!["export", &heron], "say what to write"),
        (vec!["key", &key, "--name", "B"], "never overwritten"),
        (
            vec!["observe", &heron, "--by", "eye", "x", "--key", &none],
            "the key cannot be read",
        ),
    ] {
        let error = dossier(&arguments, 2);
        assert!(error.contains(said), "{arguments:?}: {error}");
        assert!(!error.contains("panicked"), "{error}");
    }
    let wrong = inktell()
        .args([
            "dossier", "observe", &heron, "--by", "eye", "x", "--key", &key,
        ])
        .env("INKTELL_PASSPHRASE", "another")
        .output()
        .unwrap();
    assert!(text(&wrong.stderr).contains("the passphrase does not open this key"));
    assert!(dossier(&["verify", &heron], 0).contains("1 entry"));
}

fn adding(heron: &str, text: &str) -> std::process::Child {
    std::process::Command::new(assert_cmd::cargo::cargo_bin("inktell"))
        .args([
            "dossier",
            "observe",
            heron,
            "--by",
            "eye",
            text,
            "--author",
            "A. Bidder",
        ])
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

#[test]
fn killed_again_and_again_a_dossier_keeps_what_was_acknowledged() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("heron");
    let heron = root.display().to_string();
    dossier(
        &[
            "begin",
            &heron,
            "--title",
            "The Heron",
            "--author",
            "A. Bidder",
        ],
        0,
    );
    let mut acknowledged = Vec::new();
    let mut killed = 0;
    for round in 0..60u64 {
        let text = format!("seen in round {round}");
        let mut child = adding(&heron, &text);
        // From before the first file is touched to after the last: 0 to 12 ms.
        std::thread::sleep(Duration::from_micros(200 * round));
        // kill -9 on Unix.
        child.kill().unwrap();
        let output = child.wait_with_output().unwrap();
        killed += usize::from(!output.status.success());
        if String::from_utf8_lossy(&output.stdout).contains("SHA-256") {
            acknowledged.push(text);
        }
    }
    dossier(
        &[
            "observe",
            &heron,
            "--by",
            "eye",
            "at last",
            "--author",
            "A. Bidder",
        ],
        0,
    );
    let files = in_memory(&Folder(root)).unwrap();
    let verdict = verify(&files, &Asked::default());
    assert!(verdict.holds(), "{:?}", verdict.findings);
    let standing = String::from_utf8(files[LOG].clone()).unwrap();
    for text in &acknowledged {
        assert!(
            standing.contains(&format!("\"{text}\"")),
            "{text} was acknowledged"
        );
    }
    assert!(killed > 0, "no run was killed in time");
}

#[test]
fn many_programs_adding_at_once_all_get_their_turn() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("heron");
    let heron = root.display().to_string();
    dossier(
        &[
            "begin",
            &heron,
            "--title",
            "The Heron",
            "--author",
            "A. Bidder",
        ],
        0,
    );
    let writers: Vec<_> = (0..12)
        .map(|n| adding(&heron, &format!("writer {n}")))
        .collect();
    for writer in writers {
        assert!(writer.wait_with_output().unwrap().status.success());
    }
    let verdict = verify(&Folder(root), &Asked::default());
    assert!(verdict.holds(), "{:?}", verdict.findings);
    assert_eq!(verdict.entries, 13);
    assert!(verdict.findings.iter().all(|f| f.kind == Kind::Clock));
}
