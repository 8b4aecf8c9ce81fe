//! Photographs, readings and reports against the digests in the log.

use super::{Finding, Kind};
use crate::dossier::contents::Contents;
use crate::dossier::entry::FileRef;
use crate::dossier::left_out::{self, LeftOut};
use crate::dossier::line::Log;
use crate::dossier::{HEAD, LOCK, LOG, UNFINISHED};
use std::collections::BTreeSet;
use std::io::ErrorKind;

/// Checks every file that an entry names. Gives the number checked.
pub fn check(contents: &dyn Contents, log: &Log, findings: &mut Vec<Finding>) -> usize {
    let left_out = left_out::read(contents);
    let mut named: BTreeSet<String> = [LOG, HEAD, LOCK].map(str::to_owned).into();
    let mut checked = 0;
    for entry in log.entries() {
        for file in entry.files.iter().chain(&entry.set_aside) {
            if named.insert(file.path.clone()) {
                checked += 1;
                check_one(contents, entry.n, file, left_out.as_ref(), findings);
            }
        }
    }
    if let Some(left_out) = &left_out {
        named.insert(left_out::FILE.to_owned());
        named.extend(left_out.photographs.iter().filter_map(|p| p.copy_path()));
    }
    left_over(contents, &named, findings);
    checked
}

fn check_one(
    contents: &dyn Contents,
    n: u64,
    file: &FileRef,
    left_out: Option<&LeftOut>,
    findings: &mut Vec<Finding>,
) {
    let (role, path, name) = (file.role.name(), &file.path, &file.name);
    let bytes = match contents.read(path) {
        Ok(bytes) => bytes,
        Err(error) if error.kind() == ErrorKind::NotFound => {
            let finding = match left_out.and_then(|l| l.photograph(path)) {
                Some(photo) => photo.finding(contents, n),
                None => {
                    let text = format!("The {role} {name} of entry {n} is missing ({path}).");
                    Finding::problem(Kind::FileMissing, text)
                }
            };
            findings.push(finding.entry(n).file(path));
            return;
        }
        Err(error) => {
            let text = format!("The {role} {name} of entry {n} cannot be read ({path}: {error}).");
            findings.push(
                Finding::problem(Kind::FileMissing, text)
                    .entry(n)
                    .file(path),
            );
            return;
        }
    };
    if let Some(damage) = file.digest.damage(&bytes) {
        let text = format!(
            "The {role} {name} of entry {n} was changed ({path}): {}.",
            damage.in_words(0)
        );
        findings.push(
            Finding::problem(Kind::FileChanged, text)
                .entry(n)
                .file(path),
        );
    }
}

/// Files that no entry names: never evidence, and told apart from it.
fn left_over(contents: &dyn Contents, named: &BTreeSet<String>, findings: &mut Vec<Finding>) {
    for path in contents.paths().unwrap_or_default() {
        if named.contains(&path) {
            continue;
        }
        let text = if path.ends_with(UNFINISHED) {
            format!(
                "{path} is left from a writing that was interrupted; it is no part of the dossier."
            )
        } else {
            format!(
                "{path} lies in the folder, but no entry names it; it is no part of the dossier."
            )
        };
        findings.push(Finding::remark(Kind::LeftOver, text).file(&path));
    }
}
