//! Gives the code that measures an identity, so that a dossier can tell a newer way of measuring
//! from tampering.

use std::fs;
use std::path::{Path, PathBuf};

/// All that a figure in a reading depends on. The versions of crates stand in `Cargo.lock`.
const MEASURES: &[&str] = &[
    "Cargo.lock",
    "src/examine.rs",
    "src/ink",
    "src/measure",
    "src/measured.rs",
    "src/photo",
    "src/plane.rs",
    "src/report/json",
    "src/report/words",
    "src/report/listing.rs",
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
        hash = fnv(hash, &fs::read(&file).unwrap_or_default());
    }
    println!("cargo::rustc-env=INKTELL_MEASURING={hash:016x}");
}

fn collect(path: &Path, files: &mut Vec<PathBuf>) {
    match fs::read_dir(path) {
        Ok(entries) => entries.flatten().for_each(|e| collect(&e.path(), files)),
        Err(_) => files.push(path.to_owned()),
    }
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
