//! Parts of a lot, worked on by themselves → one lot, the same as if it had been one run.

mod differences;
mod joined;

use super::ledger::{Ledger, LedgerError};
use super::settings::Settings;
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
    let first = settings_of(parts, all_parts)?;
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
    let settings = joined.settings(first.map(|(_, settings)| settings));
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

/// Settings that hold for all parts, with the first part that has some; none where no part has any. With
/// `all_parts`, every share must be there, all of one plan.
fn settings_of(
    parts: &[PathBuf],
    all_parts: bool,
) -> Result<Option<(&Path, Settings)>, MergeError> {
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
                "{} is part of a lot of {} sheets and {} of one of {} sheets; photographs came or went in between: run the parts again, or give --incomplete to merge what there is",
                first.display(),
                common.sheets,
                part.display(),
                settings.sheets
            )));
        }
        common.sheets = common.sheets.max(settings.sheets);
    }
    if all_parts {
        every_share(&shares)?;
    }
    Ok(common.map(|(first, mut settings)| {
        settings.part = None;
        (first, settings)
    }))
}

fn every_share(shares: &BTreeSet<[u64; 2]>) -> Result<(), MergeError> {
    let Some([_, of]) = shares.first() else {
        return Ok(());
    };
    let missing: Vec<String> = (1..=*of)
        .filter(|number| !shares.contains(&[*number, *of]))
        .map(|number| format!("{number}/{of}"))
        .collect();
    if missing.is_empty() {
        return Ok(());
    }
    Err(MergeError::Unfit(format!(
        "part {} is missing; run it, or give --incomplete to merge what there is",
        missing.join(", ")
    )))
}

#[cfg(test)]
mod tests;
