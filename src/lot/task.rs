//! The work on one sheet, as it travels to whoever does it: another thread, process or machine.

use super::names::{REPORT_DIGITS, REPORTS};
use super::source::{identity, location_of};
use super::spelling::composed;
use crate::photo::sha256_hex;
use crate::weigh::Process;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Name and version of a task's form.
pub const TASK_SCHEMA: &str = "inktell/lot-task/1";

/// All that is needed to examine one sheet. The same files and the same task give the same record.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Task {
    /// [`TASK_SCHEMA`].
    pub schema: String,
    /// Name of the sheet, unique in its lot.
    pub sheet: String,
    /// The user's note on it.
    pub note: Option<String>,
    /// Its photographs, in natural order.
    pub photos: Vec<PhotoRef>,
    /// Photographs that may show a rule for this sheet's photographs. One that is among them has the same location here.
    pub rules: Vec<PhotoRef>,
    /// Scale for photographs of which nothing better is known, px/mm.
    pub px_per_mm: Option<f64>,
    /// Diameter of the loupe's field, mm.
    pub loupe_field_mm: Option<f64>,
    /// Largest picture accepted, 10⁶ px.
    pub max_megapixels: f64,
    /// Probability of each process before the photographs are looked at.
    pub prior: BTreeMap<Process, f64>,
}

/// One file.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PhotoRef {
    /// Its name in the lot, with `/` between folders.
    pub name: String,
    /// Where it is read: a path, or an address such as `s3://bucket/name`. Before a path that is no UTF-8
    /// stands `bytes=`, and its odd bytes are written as `%` and two hex digits.
    pub location: String,
    /// What tells one state of the file from another (size and time, or the store's tag).
    pub stamp: String,
    /// Scale stated for this file, its sheet or its folder, px/mm.
    pub px_per_mm: Option<f64>,
    /// Whether the user named it as the rule for the whole lot: then it is told where it gives no scale.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub is_named_rule: bool,
}

impl PhotoRef {
    /// The folder part of the name, composed, so that a rule holds for its folder in whichever way either is spelt;
    /// empty at the top.
    #[must_use]
    pub fn folder(&self) -> String {
        composed(folder_of(&self.name))
    }
}

/// The folder part of a name; empty at the top.
#[must_use]
pub fn folder_of(name: &str) -> &str {
    name.rsplit_once('/').map_or("", |(folder, _)| folder)
}

/// Whether `folder` is `inner` or holds it.
#[must_use]
pub fn holds(folder: &str, inner: &str) -> bool {
    folder.is_empty()
        || inner == folder
        || inner
            .strip_prefix(folder)
            .is_some_and(|rest| rest.starts_with('/'))
}

impl Task {
    /// Whether all its photographs are taken for rules.
    #[must_use]
    pub fn is_of_rules(&self) -> bool {
        let is_rule = |p: &PhotoRef| self.rules.iter().any(|rule| rule.location == p.location);
        self.photos.iter().all(is_rule)
    }

    /// Tells this task on these files, by this way of measuring, from every other: lower-case hex, the way of measuring
    /// first, up to a hyphen.
    /// A program that was built again and measures alike goes on where the other stopped, and so does a
    /// run that is given the same files by another spelling of their path.
    #[must_use]
    pub fn fingerprint(&self) -> String {
        let mut task = self.clone();
        for file in task.photos.iter_mut().chain(&mut task.rules) {
            file.location = location_of(&identity(&file.location));
        }
        let text = serde_json::to_string(&task).unwrap_or_default();
        let task = sha256_hex(text.as_bytes());
        format!("{}-{task}", env!("INKTELL_MEASURING"))
    }

    /// Which of `parts` shares the sheet falls to, 0-based. It depends on the sheet's name alone,
    /// so a lot that grows keeps its shares.
    #[must_use]
    pub fn share(&self, parts: u64) -> u64 {
        let digest = sha256_hex(self.sheet.as_bytes());
        u64::from_str_radix(&digest[..16], 16).unwrap_or(0) % parts.max(1)
    }
}

/// The way of measuring that a task's [fingerprint](Task::fingerprint) names; older versions named none.
#[must_use]
pub fn way_of_measuring(fingerprint: &str) -> Option<&str> {
    Some(fingerprint.split_once('-')?.0)
}

/// File name of a sheet's report: legible, safe on every file system, unique by its ending.
#[must_use]
pub fn file_stem(sheet: &str) -> String {
    /// Longest legible part; with the ending far below the 255 bytes file systems allow.
    const LEGIBLE: usize = 60;
    let mut stem = String::new();
    for letter in sheet.chars().take(LEGIBLE) {
        let fine = letter.is_ascii_alphanumeric() || letter == '.';
        let letter = if fine {
            letter.to_ascii_lowercase()
        } else {
            '-'
        };
        if !(letter == '-' && stem.ends_with('-')) {
            stem.push(letter);
        }
    }
    let ending = sha256_hex(sheet.as_bytes());
    format!(
        "{}-{}",
        stem.trim_matches(['-', '.']),
        &ending[..REPORT_DIGITS]
    )
}

/// The link of a sheet's report from the lot's own folder.
#[must_use]
pub fn report_link(sheet: &str) -> String {
    format!("{REPORTS}/{}.html", file_stem(sheet))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn file_names_are_safe_and_never_meet() {
        for sheet in [
            "../../etc/passwd",
            "a/b",
            "CON",
            "плита",
            "",
            ".hidden",
            "a:b*c?",
        ] {
            let stem = file_stem(sheet);
            assert!(
                stem.chars()
                    .all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '.'),
                "{stem}"
            );
            assert!(!stem.starts_with('.') && !stem.contains('/') && stem.len() < 90);
        }
        assert_ne!(file_stem("a b"), file_stem("a-b"));
    }

    #[test]
    fn another_task_or_another_file_has_another_fingerprint() {
        let task = Task {
            schema: TASK_SCHEMA.into(),
            sheet: "rose".into(),
            note: None,
            photos: vec![PhotoRef {
                name: "rose.jpg".into(),
                location: "rose.jpg".into(),
                stamp: "10-1".into(),
                px_per_mm: None,
                is_named_rule: false,
            }],
            rules: Vec::new(),
            px_per_mm: None,
            loupe_field_mm: None,
            max_megapixels: 200.0,
            prior: crate::weigh::read::equal_priors(),
        };
        assert_eq!(task.fingerprint(), task.clone().fingerprint());
        let measuring = env!("INKTELL_MEASURING");
        assert_eq!(way_of_measuring(&task.fingerprint()), Some(measuring));
        let mut spelt = task.clone();
        spelt.photos[0].location = "./rose.jpg".into();
        assert_eq!(task.fingerprint(), spelt.fingerprint());
        let mut changed = task.clone();
        changed.photos[0].stamp = "10-2".into();
        assert_ne!(task.fingerprint(), changed.fingerprint());
        let mut changed = task.clone();
        changed.prior.insert(Process::Halftone, 0.3);
        assert_ne!(task.fingerprint(), changed.fingerprint());
    }

    #[test]
    fn folders_hold_what_lies_in_them() {
        assert!(holds("", "box/plate"));
        assert!(holds("box", "box") && holds("box", "box/plate"));
        assert!(!holds("box", "box-2") && !holds("box/plate", "box"));
        assert_eq!(folder_of("box/plate/a.jpg"), "box/plate");
    }
}
