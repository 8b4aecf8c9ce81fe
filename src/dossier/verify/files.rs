//! Photographs, readings and reports against the digests in the log.

use super::{Finding, Kind};
use crate::dossier::contents::Contents;
use crate::dossier::entry::FileRef;
use crate::dossier::left_out::{self, LeftOut, Swapped};
use crate::dossier::line::Log;
use crate::dossier::{LOCK, UNFINISHED};
use std::collections::BTreeSet;
use std::io::ErrorKind;

/// Said where `left-out.json` names a file that is missing and is not to be believed.
const UNFOUNDED: &str = " That it was left out of an export, as left-out.json says, counts only in an export's bag (verify the bag itself, not the folder in it), and only where the entry names its copy without location, its reading says that the photograph holds a location, or a copy of it stands in.";

/// Checks every file that an entry names. Gives the number checked.
pub fn check(contents: &dyn Contents, log: &Log, findings: &mut Vec<Finding>) -> usize {
    let left_out = left_out::read(contents, log);
    let absent = Absent {
        log,
        left_out: left_out.as_ref(),
        swapped: &left_out::swapped(contents, log),
    };
    // Two entries may name one file. Where they say different things of it, each is checked: else
    // the first to name it would speak for all.
    let mut checked = BTreeSet::new();
    for entry in log.entries() {
        for file in entry.files.iter().chain(&entry.set_aside) {
            let FileRef { path, digest, .. } = file;
            if checked.insert((path, &digest.sha256, digest.bytes)) {
                check_one(contents, entry.n, file, &absent, findings);
            }
        }
    }
    let belonging = left_out::belonging(log, left_out.as_ref());
    left_over(contents, &belonging, findings);
    let excused = findings.iter().filter(|f| f.kind == Kind::LeftOut).count();
    checked.len() - excused.min(checked.len())
}

/// What is known of files that are not there.
struct Absent<'a> {
    log: &'a Log,
    left_out: Option<&'a LeftOut>,
    swapped: &'a [Swapped],
}

impl Absent<'_> {
    fn finding(&self, contents: &dyn Contents, n: u64, file: &FileRef) -> Finding {
        if let Some(swapped) = self.swapped.iter().find(|s| s.stands_for(file)) {
            return swapped.finding(n);
        }
        if let Some(photo) = self.left_out.and_then(|l| l.excuse(file)) {
            return photo.finding(contents, self.log, n);
        }
        let mut text = format!(
            "The {} {} of entry {n} is missing ({}).",
            file.role.name(),
            file.name,
            file.path
        );
        if left_out::told(contents).is_some_and(|told| told.excuse(file).is_some()) {
            text.push_str(UNFOUNDED);
        }
        Finding::problem(Kind::FileMissing, text)
    }
}

/// Paths of the files that entries name.
pub fn named_by_entries(log: &Log) -> impl Iterator<Item = String> {
    log.entries()
        .flat_map(|entry| entry.files.iter().chain(&entry.set_aside))
        .map(|file| file.path.clone())
}

fn check_one(
    contents: &dyn Contents,
    n: u64,
    file: &FileRef,
    absent: &Absent<'_>,
    findings: &mut Vec<Finding>,
) {
    let (role, path, name) = (file.role.name(), &file.path, &file.name);
    let bytes = match contents.read(path) {
        Ok(bytes) => bytes,
        Err(error) if error.kind() == ErrorKind::NotFound => {
            let finding = absent.finding(contents, n, file);
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
fn left_over(contents: &dyn Contents, belonging: &BTreeSet<String>, findings: &mut Vec<Finding>) {
    for path in contents.paths().unwrap_or_default() {
        if path == LOCK || belonging.contains(&path) {
            continue;
        }
        let text = if path == left_out::FILE {
            format!(
                "{path} says what was left out of an export; in a folder that is none it counts for nothing."
            )
        } else if path.ends_with(UNFINISHED) {
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
