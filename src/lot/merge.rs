//! Parts of a lot, worked on by themselves → one lot, the same as if it had been one run.

mod differences;
mod joined;

use super::ledger::{Ledger, LedgerError};
use super::settings::Settings;
use crate::report::words::{self, counted};
use joined::{Joined, copy_reports};
use std::collections::BTreeSet;
use std::io;
use std::path::{Path, PathBuf};

/// Why parts cannot be merged.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum MergeError {
    /// A part's ledger.
    #[error(transparent)]
    Ledger(#[from] LedgerError),
    /// A part has no settings, or none that fit.
    #[error("{0}")]
    Unfit(String),
    /// Two parts say different things of one sheet.
    #[error(
        "sheet \u{201c}{sheet}\u{201d} is in two parts with different results; its files changed between the runs: run the parts again"
    )]
    Contradiction {
        /// The sheet.
        sheet: String,
    },
    /// A line is no finished sheet.
    #[error("{}: line {line} is no finished sheet ({why}); give lines as `inktell lot work` writes them", file.display())]
    BadLine {
        /// The file.
        file: PathBuf,
        /// Its number, from 1.
        line: usize,
        /// What was wrong.
        why: String,
    },
    /// The disk.
    #[error("{}: cannot be read or written; check the path and the permissions", path.display())]
    Disk {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
}

fn disk(path: &Path) -> impl Fn(io::Error) -> MergeError + '_ {
    move |source| MergeError::Disk {
        path: path.to_owned(),
        source,
    }
}

/// What the parts make together.
#[derive(Debug)]
pub struct Merged {
    /// The sheets of all parts.
    pub ledger: Ledger,
    /// What holds for all of them. Where no part has settings, the title is "lot", the moment empty,
    /// and costs are the usual ones.
    pub settings: Settings,
    /// What the user should know, as sentences.
    pub notices: Vec<String>,
}

/// Puts the finished sheets of all parts into the ledger of a new folder, and their reports beside it.
/// A part is a lot's folder, or a file of lines as `inktell lot work` writes them. With `all_parts`,
/// every share must be there, finished and undamaged; with `tasks`, a file of them, every sheet of theirs.
///
/// # Errors
/// [`MergeError`]; the folder then holds no lot, and the same merge can be tried again.
pub fn merge(
    parts: &[PathBuf],
    into: &Path,
    all_parts: bool,
    tasks: Option<&Path>,
) -> Result<Merged, MergeError> {
    let (first, left_out) = settings_of(parts, all_parts)?;
    std::fs::create_dir_all(into).map_err(disk(into))?;
    // Holds the folder against another run meanwhile.
    let held = Ledger::open(into)?;
    if held.sheets().next().is_some() {
        return Err(MergeError::Unfit(format!(
            "{}: already holds a lot; give --out a new folder",
            into.display()
        )));
    }
    let mut joined = Joined::new(Ledger::aside(into)?, first.as_ref());
    for part in parts {
        if part.is_dir() {
            joined.add_folder(part, all_parts)?;
        } else {
            joined.add_lines(part)?;
        }
    }
    joined.notices.extend(left_out);
    let settings = joined
        .settings(first.map(|(_, settings)| settings))
        .map_err(disk(into))?;
    if all_parts {
        joined.complete(&settings)?;
    }
    if let Some(tasks) = tasks {
        joined.holds_all_of(tasks)?;
    }
    copy_reports(&joined.reports, into)?;
    drop(held);
    let mut sheets: Vec<String> = joined.ledger.sheets().map(str::to_owned).collect();
    sheets.sort_by(|a, b| super::natural::compare(a, b));
    let sheets: Vec<&str> = sheets.iter().map(String::as_str).collect();
    Ok(Merged {
        ledger: joined.ledger.tidy(&sheets)?,
        settings,
        notices: joined.notices,
    })
}

/// The first part that has settings, and what holds for all parts.
type OfAllParts<'a> = Option<(&'a Path, Settings)>;

/// Settings that hold for all parts, with the first part that has some; none where no part has any. With
/// `all_parts`, every share must be there, all of one plan; without, those that are not are told of.
fn settings_of(
    parts: &[PathBuf],
    all_parts: bool,
) -> Result<(OfAllParts<'_>, Option<String>), MergeError> {
    let mut common: Option<(&Path, Settings)> = None;
    let mut shares: BTreeSet<[u64; 2]> = BTreeSet::new();
    for part in parts.iter().filter(|p| p.is_dir()) {
        let settings = Settings::read(part)
            .map_err(MergeError::Unfit)?
            .ok_or_else(|| MergeError::Unfit(format!(
                    "{}: holds no lot; give a folder that `inktell lot --out` wrote, or a file of lines of `inktell lot work`",
                    part.display()
                )))?;
        shares.extend(settings.part);
        let Some((first, common)) = &mut common else {
            common = Some((part, settings));
            continue;
        };
        let differ = differences::between(common, &settings);
        if !differ.is_empty() {
            return Err(MergeError::Unfit(format!(
                "{} and {} were run with different settings: {}; run one of them again with the settings of the other",
                first.display(),
                part.display(),
                differ.join("; ")
            )));
        }
        if all_parts && common.sheets != settings.sheets {
            return Err(MergeError::Unfit(format!(
                "{} is part of a lot of {} and {} of one of {}; photographs came or went in between: run the parts again, or give --incomplete to merge what there is",
                first.display(),
                extent(common.sheets, common.rules.len()),
                part.display(),
                extent(settings.sheets, settings.rules.len())
            )));
        }
        if common.sheets < settings.sheets {
            common.sheets = settings.sheets;
            common.rules = settings.rules;
        }
    }
    let missing = missing_shares(&shares);
    if let Some(missing) = missing.as_ref().filter(|_| all_parts) {
        return Err(MergeError::Unfit(format!(
            "{missing}; run what is missing, or give --incomplete to merge what there is"
        )));
    }
    let common = common.map(|(first, mut settings)| {
        settings.part = None;
        (first, settings)
    });
    Ok((common, missing.map(|missing| format!("{missing}."))))
}

/// So many tasks, of which some hold rules alone, in words.
fn extent(tasks: usize, rules: usize) -> String {
    let sheets = counted(tasks.saturating_sub(rules), "sheet");
    match rules {
        0 => sheets,
        n => format!("{sheets} and {}", counted(n, "rule")),
    }
}

/// Which shares of the lot are missing, as a clause; none where all are there.
fn missing_shares(shares: &BTreeSet<[u64; 2]>) -> Option<String> {
    let [_, of] = shares.first()?;
    let missing: Vec<String> = (1..=*of)
        .filter(|number| !shares.contains(&[*number, *of]))
        .map(|number| format!("{number}/{of}"))
        .collect();
    match missing.len() {
        0 => None,
        1 => Some(format!("part {} is missing", missing[0])),
        _ => Some(format!("parts {} are missing", words::list(&missing))),
    }
}

#[cfg(test)]
mod tests;
