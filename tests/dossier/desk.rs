//! What the tests of the command share: running it, and a dossier made with it.

use assert_cmd::Command;
use std::io::Cursor;
use std::path::{Path, PathBuf};

pub const PASSPHRASE: &str = "heron stands in reeds";

pub fn inktell() -> Command {
    let mut command = Command::cargo_bin("inktell").expect("the program is built with the tests");
    command
        .env("COLUMNS", "100")
        .env("INKTELL_PASSPHRASE", PASSPHRASE)
        .env_remove("INKTELL_KEY")
        .env_remove("INKTELL_AUTHOR");
    command
}

pub fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// Runs `inktell dossier …` and gives its standard output; any other exit code fails.
pub fn dossier(arguments: &[&str], code: i32) -> String {
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
pub fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A drawn photograph of dots on warm paper as a JPEG file with a place in it.
pub fn photo(folder: &Path, name: &str, located: bool) -> PathBuf {
    let picture = image::RgbImage::from_fn(310, 230, |x, y| {
        let (col, row) = (x / 23, y / 19);
        let radius = 3.0 + f64::from((col * 7 + row * 3) % 5) * 0.8;
        let dx = f64::from(x % 23) - 11.0 + f64::from((row * 5) % 4);
        let dy = f64::from(y % 19) - 9.0 + f64::from((col * 3) % 4) - 1.5;
        let ink = (radius + 0.5 - dx.hypot(dy)).clamp(0.0, 1.0);
        image::Rgb([236.0, 228.0, 210.0].map(|paper| (paper - ink * (paper - 40.0)) as u8))
    });
    written(&picture, &folder.join(name), located)
}

/// A drawn photograph of a rule, 40 px to a millimetre, with a place in it.
pub fn ruled_photo(folder: &Path, name: &str) -> PathBuf {
    let picture = image::RgbImage::from_fn(960, 420, |x, y| {
        // Every fifth graduation is longer and every tenth longest, as rules have them.
        let length = match x / 40 % 10 {
            0 => 160,
            5 => 128,
            _ => 92,
        };
        let ink = (17..23).contains(&(x % 40)) && (80..80 + length).contains(&y);
        image::Rgb([if ink { 30 } else { 235 }; 3])
    });
    written(&picture, &folder.join(name), true)
}

fn written(picture: &image::RgbImage, file: &Path, located: bool) -> PathBuf {
    let mut bytes = Vec::new();
    image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, 95)
        .encode_image(picture)
        .unwrap();
    if located {
        bytes = with_place(&bytes);
    }
    std::fs::write(file, bytes).unwrap();
    file.to_owned()
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

pub struct Desk {
    pub folder: tempfile::TempDir,
    pub heron: String,
    pub key: String,
}

/// A dossier of five signed entries with two photographs.
pub fn desk() -> Desk {
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
    pub fn path(&self, name: &str) -> String {
        self.folder.path().join(name).display().to_string()
    }
}

/// A folder, and a dossier in it that was begun without a key.
pub fn begun() -> (tempfile::TempDir, PathBuf) {
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
    (folder, root)
}
