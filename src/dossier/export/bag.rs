//! A dossier as a ZIP file with a manifest of hashes: BagIt 1.0 (RFC 8493).

use crate::dossier::contents::{Contents, InMemory};
use crate::dossier::digest::Digest;
use crate::dossier::left_out::{self, COPIES, LeftOut, Photograph};
use crate::dossier::line::Log;
use crate::dossier::verify::words::Shortfall;
use crate::dossier::{LOCK, UNFINISHED, privacy};
use crate::photo::sha256_hex;
use jiff::Timestamp;
use std::ffi::OsStr;
use std::fmt::Write as _;
use std::io::{self, Cursor, Write};
use std::path::Path;
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

/// Folder of the dossier inside the bag's payload.
const PAYLOAD: &str = "data/dossier";
/// Folder of other exports inside the payload.
const EXPORTS: &str = "data/exports";
/// Endings of files that are compressed already.
const COMPRESSED: [&str; 4] = [".jpg", ".jpeg", ".png", ".webp"];

/// What goes into a bag besides the dossier.
pub struct Packing<'a> {
    /// Name of the folder that the ZIP file unpacks to.
    pub name: &'a str,
    /// Title of the sheet.
    pub title: &'a str,
    /// The moment.
    pub made: Timestamp,
    /// Other exports: name and bytes.
    pub exports: &'a [(String, Vec<u8>)],
    /// How the dossier falls short; none where everything holds.
    pub shortfall: Option<Shortfall>,
    /// Whether photographs that hold a location are left out, copies without it put in.
    pub without_location: bool,
}

/// A bag.
#[derive(Debug)]
pub struct Packed {
    /// The ZIP file's bytes.
    pub bytes: Vec<u8>,
    /// What lies in the folder, belongs to no dossier and cannot be read: it is not in the bag.
    pub passed_over: Vec<Stray>,
}

/// A file that no entry names and that cannot be read.
#[derive(Debug)]
pub struct Stray {
    /// Its path.
    pub path: String,
    /// What the system said.
    pub why: io::Error,
}

/// Packs a bag. The same dossier and packing give the same bytes.
///
/// # Errors
/// When a file of the dossier cannot be read; the error names it.
pub fn file(contents: &dyn Contents, log: &Log, packing: &Packing<'_>) -> io::Result<Packed> {
    let mut passed_over = Vec::new();
    let files = dossier_files(contents, log, packing.without_location, &mut passed_over)?;
    let mut payload: InMemory = files
        .into_iter()
        .map(|(path, bytes)| (format!("{PAYLOAD}/{path}"), bytes))
        .collect();
    for (name, bytes) in packing.exports {
        payload.insert(format!("{EXPORTS}/{name}"), bytes.clone());
    }
    let mut tags = InMemory::new();
    tags.insert(
        "bagit.txt".into(),
        b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n".to_vec(),
    );
    tags.insert(
        "bag-info.txt".into(),
        info(&payload, log, packing).into_bytes(),
    );
    tags.insert(
        "manifest-sha256.txt".into(),
        manifest(&payload).into_bytes(),
    );
    let tag_manifest = manifest(&tags).into_bytes();
    tags.insert("tagmanifest-sha256.txt".into(), tag_manifest);
    Ok(Packed {
        bytes: zipped(packing.name, tags.iter().chain(&payload))?,
        passed_over,
    })
}

/// The dossier's files without the traces of writing, and with copies in place of photographs that
/// hold a location where that is asked for. Then what no entry names stays behind too: nobody has
/// looked at it for a place.
fn dossier_files(
    contents: &dyn Contents,
    log: &Log,
    without_location: bool,
    passed_over: &mut Vec<Stray>,
) -> io::Result<InMemory> {
    let mut files = InMemory::new();
    let before = left_out::read(contents, log);
    let belonging = left_out::belonging(log, before.as_ref());
    for path in contents.paths()? {
        let traces = path == LOCK || path.ends_with(UNFINISHED);
        // Out of a folder that is no export it would be believed in the bag.
        let untold = path == left_out::FILE && before.is_none();
        let belongs = belonging.contains(&path);
        if traces || untold || (without_location && !belongs) {
            continue;
        }
        match contents.read(&path) {
            Ok(bytes) => {
                files.insert(path, bytes);
            }
            Err(why) if belongs => {
                return Err(io::Error::new(why.kind(), format!("{path} ({why})")));
            }
            // A link to nothing, as an editor leaves one: it is no evidence, and is missed by nobody.
            Err(why) => passed_over.push(Stray { path, why }),
        }
    }
    if !without_location {
        return Ok(files);
    }
    // What an earlier export left out stays told.
    let mut photographs: Vec<Photograph> = before.map_or_else(Vec::new, |l| l.photographs);
    for (original, _) in privacy::located(contents, log) {
        let Some(bytes) = files.remove(&original.path) else {
            continue;
        };
        let copy = left_out::copy_of(log, &original, &bytes).map(|copy| {
            let digest = Digest::of(&copy);
            let ending = Path::new(&original.path).extension();
            let ending = ending.map_or("jpg".into(), OsStr::to_string_lossy);
            let path = format!("{COPIES}/{}.{ending}", digest.sha256);
            files.insert(path.clone(), copy);
            left_out::Copy { path, digest }
        });
        photographs.push(Photograph { original, copy });
    }
    if !photographs.is_empty() {
        let told = LeftOut {
            schema: left_out::SCHEMA.into(),
            why: "These photographs hold the place where they were taken, and were left out on request. A copy without it stands in where one could be made. The log names the originals.".into(),
            photographs,
        };
        let mut text = serde_json::to_vec_pretty(&told)?;
        text.push(b'\n');
        files.insert(left_out::FILE.into(), text);
    }
    Ok(files)
}

fn manifest(files: &InMemory) -> String {
    files.iter().fold(String::new(), |mut text, (path, bytes)| {
        let _ = writeln!(text, "{}  {}", sha256_hex(bytes), encoded(path));
        text
    })
}

/// RFC 8493, 2.1.3: line breaks and percent signs in paths are percent-encoded.
fn encoded(path: &str) -> String {
    path.replace('%', "%25")
        .replace('\n', "%0A")
        .replace('\r', "%0D")
}

fn info(payload: &InMemory, log: &Log, packing: &Packing<'_>) -> String {
    let bytes: usize = payload.values().map(Vec::len).sum();
    let head = log.lines.last().map_or("", |line| &line.digest.sha256);
    let one_line = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let mut text = String::new();
    for (label, value) in [
        ("Bag-Software-Agent", concat!("inktell ", env!("CARGO_PKG_VERSION")).to_owned()),
        ("Bagging-Date", packing.made.strftime("%Y-%m-%d").to_string()),
        ("Payload-Oxum", format!("{bytes}.{}", payload.len())),
        ("External-Identifier", head.to_owned()),
        ("External-Description", format!("Dossier of a printed sheet: {}", one_line(packing.title))),
        ("Caution", "Evidence; no appraisal, no authentication opinion. Local law and licensed practice come first.".into()),
    ] {
        let _ = writeln!(text, "{label}: {value}");
    }
    if let Some(shortfall) = packing.shortfall {
        let _ = writeln!(
            text,
            "Verification: the dossier {}; see data/exports/dossier.html, or verify it",
            shortfall.in_words()
        );
    }
    if packing.without_location {
        let _ = writeln!(
            text,
            "Left-Out: places in photographs, on request; see data/dossier/left-out.json where there were any"
        );
    }
    text
}

fn zipped<'a>(
    name: &str,
    files: impl Iterator<Item = (&'a String, &'a Vec<u8>)>,
) -> io::Result<Vec<u8>> {
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    for (path, bytes) in files {
        let stored = COMPRESSED.iter().any(|ending| path.ends_with(ending));
        let method = if stored {
            zip::CompressionMethod::Stored
        } else {
            zip::CompressionMethod::Deflated
        };
        // No time of writing: the same dossier gives the same bytes.
        let options = SimpleFileOptions::default()
            .compression_method(method)
            .last_modified_time(zip::DateTime::default())
            .large_file(bytes.len() as u64 > u64::from(u32::MAX / 2));
        writer.start_file(format!("{name}/{path}"), options)?;
        writer.write_all(bytes)?;
    }
    Ok(writer.finish()?.into_inner())
}
