//! The bag around a dossier against its manifests: exports, and what says what was left out.

use super::{Finding, Kind};
use crate::dossier::contents::{BAG_DECLARATION, Contents};
use crate::photo::sha256_hex;
use std::collections::BTreeMap;

/// What the bag carries.
const MANIFEST: &str = "manifest-sha256.txt";
/// What describes the bag.
const TAG_MANIFEST: &str = "tagmanifest-sha256.txt";
/// Where what it carries lies.
const PAYLOAD: &str = "data/";

/// Checks every file of the bag that no entry of the dossier pins down: `checked` tells of a path in the
/// dossier whether one does. Gives the number checked; none where there is no bag.
pub fn check(
    contents: &dyn Contents,
    checked: &dyn Fn(&str) -> bool,
    findings: &mut Vec<Finding>,
) -> Option<usize> {
    let (bag, dossier) = contents.bag()?;
    let elsewhere = |path: &str| path.strip_prefix(dossier.as_str()).is_some_and(checked);
    let mut count = 0;
    let mut named: Vec<String> = Vec::new();
    for manifest in [MANIFEST, TAG_MANIFEST] {
        let Some(digests) = manifest_of(bag.as_ref(), manifest) else {
            let text = format!("The bag's {manifest} is missing or cannot be read.");
            findings.push(Finding::problem(Kind::FileMissing, text).file(manifest));
            continue;
        };
        for (path, sha256) in digests {
            if !elsewhere(&path) {
                count += 1;
                findings.extend(changed(bag.as_ref(), &path, &sha256, manifest));
            }
            named.push(path);
        }
    }
    // Where a manifest names it, that it is missing is said already.
    if !named.iter().any(|path| path == BAG_DECLARATION) && bag.read(BAG_DECLARATION).is_err() {
        let text = format!("{BAG_DECLARATION} of the bag is missing, or cannot be unpacked.");
        findings.push(Finding::problem(Kind::FileMissing, text).file(BAG_DECLARATION));
    }
    left_over(bag.as_ref(), &named, &elsewhere, findings);
    findings.push(Finding::remark(
        Kind::Bag,
        "Exports and descriptions in the bag were held against its manifests, which nobody signs: whoever holds the bag could have written them again. Rely on the dossier, and make exports anew from it.",
    ));
    Some(count)
}

/// Whether the dossier lies in a bag whose manifest names a file of it.
pub fn names(contents: &dyn Contents, path: &str) -> bool {
    contents.bag().is_some_and(|(bag, dossier)| {
        let digests = manifest_of(bag.as_ref(), MANIFEST).unwrap_or_default();
        digests.contains_key(&format!("{dossier}{path}"))
    })
}

/// Files that no manifest names. In what the bag carries the manifest must name all; beside it, it need
/// not (RFC 8493, 2.2.4), but a forged page there must not pass for part of the bag.
fn left_over(
    bag: &dyn Contents,
    named: &[String],
    elsewhere: &dyn Fn(&str) -> bool,
    findings: &mut Vec<Finding>,
) {
    const OWN: [&str; 3] = [MANIFEST, TAG_MANIFEST, BAG_DECLARATION];
    for path in bag.paths().unwrap_or_default() {
        if named.contains(&path) || elsewhere(&path) || OWN.contains(&path.as_str()) {
            continue;
        }
        let finding = if path.starts_with(PAYLOAD) {
            let text = format!("{path} lies in the bag, but its manifest does not name it.");
            Finding::problem(Kind::LeftOver, text)
        } else {
            let text = format!(
                "{path} lies in the bag, but no manifest names it: it is no part of the export, and nothing vouches for it."
            );
            Finding::remark(Kind::LeftOver, text)
        };
        findings.push(finding.file(&path));
    }
}

/// Files that lie in a ZIP file beside the dossier or its bag.
pub fn outside(contents: &dyn Contents, findings: &mut Vec<Finding>) {
    for path in contents.outside() {
        let text = format!(
            "{path} lies in the ZIP file beside the dossier: it is no part of it, and nothing vouches for it."
        );
        findings.push(Finding::remark(Kind::LeftOver, text).file(&path));
    }
}

/// Paths and SHA-256 of a manifest; none where it is missing or in another form.
fn manifest_of(bag: &dyn Contents, manifest: &str) -> Option<BTreeMap<String, String>> {
    let text = String::from_utf8(bag.read(manifest).ok()?).ok()?;
    text.lines()
        .map(|line| {
            let (sha256, path) = line.split_once(char::is_whitespace)?;
            let path = path.trim_start().trim_start_matches('*');
            // RFC 8493, 2.1.3.
            let plain = path
                .replace("%0A", "\n")
                .replace("%0D", "\r")
                .replace("%25", "%");
            Some((plain, sha256.to_lowercase()))
        })
        .collect()
}

fn changed(bag: &dyn Contents, path: &str, sha256: &str, manifest: &str) -> Option<Finding> {
    let (kind, what) = match bag.read(path) {
        Ok(bytes) if sha256_hex(&bytes) == sha256 => return None,
        Ok(_) => (
            Kind::FileChanged,
            "was changed: its SHA-256 is not the one in",
        ),
        Err(_) => (
            Kind::FileMissing,
            "is missing, or cannot be unpacked; it is named in",
        ),
    };
    let text = format!("{path} of the bag {what} {manifest}.");
    Some(Finding::problem(kind, text).file(path))
}
