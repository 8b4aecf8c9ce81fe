//! Gives the code that measures an identity, so that a dossier can tell a newer way of measuring
//! from tampering.

use std::fs;
use std::path::{Path, PathBuf};

/// All that a reading depends on: its figures, and the sentence that an entry of a dossier quotes.
/// A file missing here would let this program call a dossier tampered with that an older build of
/// it wrote. A file too many would let it excuse tampering as the work of another build; so pages,
/// charts and standing words are left out, and of the words only those in the document and the
/// sentence are named, one by one.
const MEASURES: &[&str] = &[
    // Versions of the crates that decode and compute, and the features that they are built with.
    "Cargo.lock",
    "Cargo.toml",
    // Which parameters a kept photograph is examined with.
    "src/dossier/examining.rs",
    "src/examine.rs",
    "src/ink",
    "src/measure",
    "src/measured.rs",
    "src/photo",
    "src/plane.rs",
    "src/rank.rs",
    // How figures are rounded in the sentence, and which photograph counts as the most telling.
    "src/report/figures.rs",
    "src/report/json",
    "src/report/listing.rs",
    "src/report/words/mod.rs",
    "src/report/words/reading.rs",
    "src/report/words/support.rs",
    "src/weigh",
];

fn main() {
    let mut files = Vec::new();
    for path in MEASURES {
        println!("cargo::rerun-if-changed={path}");
        collect(Path::new(path), &mut files);
    }
    files.sort();
    let mut hash = FNV_START;
    for file in files {
        let name = file.to_string_lossy().replace('\\', "/");
        hash = fnv(hash, name.as_bytes());
        hash = fnv(hash, &bytes_of(&file));
    }
    println!("cargo::rustc-env=INKTELL_MEASURING={hash:016x}");
}

fn collect(path: &Path, files: &mut Vec<PathBuf>) {
    if !path.is_dir() {
        files.push(path.to_owned());
        return;
    }
    match fs::read_dir(path) {
        Ok(entries) => entries.flatten().for_each(|e| collect(&e.path(), files)),
        Err(error) => unreadable(path, &error),
    }
}

fn bytes_of(file: &Path) -> Vec<u8> {
    fs::read(file).unwrap_or_else(|error| unreadable(file, &error))
}

/// A path that was renamed and not changed here must stop the build: left out in silence, what it
/// holds would no longer be part of the identity.
fn unreadable(path: &Path, error: &std::io::Error) -> ! {
    panic!(
        "{}: cannot be read ({error}); what measures is listed in MEASURES in src/build.rs, where a file that was moved must be named anew",
        path.display()
    )
}

// FNV-1a, 64 bits: an identity, no protection. Source: Fowler, Noll, Vo (draft-eastlake-fnv).
const FNV_START: u64 = 0xcbf2_9ce4_8422_2325;
const FNV_PRIME: u64 = 0x0100_0000_01b3;

fn fnv(start: u64, bytes: &[u8]) -> u64 {
    // The length goes first, so that bytes cannot wander from one file into the next.
    let length = (bytes.len() as u64).to_le_bytes();
    let all = length.iter().chain(bytes.iter().filter(|&&b| b != b'\r'));
    all.fold(start, |hash, &byte| {
        (hash ^ u64::from(byte)).wrapping_mul(FNV_PRIME)
    })
}
