//! Parts of a lot, worked on by themselves → one lot, the same as if it had been one run.

use super::ledger::{Entry, Ledger, LedgerError, write_whole};
use super::record::Record;
use super::settings::Settings;
use super::sheet::REPORTS;
use super::task::file_stem;
use std::collections::BTreeSet;
use std::io::{self, BufRead, BufReader};
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
    #[error("{}: cannot be read or written ({source}); check the disk and the permissions", path.display())]
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

/// Settings that hold for all parts; none where no part has any. With `all_parts`, every share must be there.
///
/// # Errors
/// A sentence where parts were worked on under different settings, or shares are missing.
pub fn settings_of(parts: &[PathBuf], all_parts: bool) -> Result<Option<Settings>, MergeError> {
    let mut first: Option<Settings> = None;
    let mut shares: BTreeSet<[u64; 2]> = BTreeSet::new();
    for part in parts.iter().filter(|p| p.is_dir()) {
        let settings = Settings::read(part)
            .map_err(MergeError::Unfit)?
            .ok_or_else(|| MergeError::Unfit(format!("{}: holds no lot", part.display())))?;
        shares.extend(settings.part);
        match &first {
            None => first = Some(settings),
            Some(other) if fit_together(other, &settings) => {}
            Some(_) => {
                return Err(MergeError::Unfit(format!(
                    "{}: was worked on with other odds, costs or shares than the first part; run the parts alike",
                    part.display()
                )));
            }
        }
    }
    if all_parts {
        complete(&shares)?;
    }
    Ok(first.map(|mut settings| {
        settings.part = None;
        settings
    }))
}

fn fit_together(a: &Settings, b: &Settings) -> bool {
    a.prior == b.prior
        && a.costs == b.costs
        && a.missed_chance == b.missed_chance
        && a.part.map(|p| p[1]) == b.part.map(|p| p[1])
}

fn complete(shares: &BTreeSet<[u64; 2]>) -> Result<(), MergeError> {
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

/// Puts the finished sheets of all parts into the ledger of a new folder, and their reports beside it.
/// A part is a lot's folder, or a file of lines as `inktell lot work` writes them.
///
/// # Errors
/// [`MergeError`].
pub fn merge(parts: &[PathBuf], into: &Path) -> Result<Ledger, MergeError> {
    std::fs::create_dir_all(into).map_err(disk(into))?;
    let mut ledger = Ledger::open(into)?;
    if ledger.sheets().next().is_some() {
        return Err(MergeError::Unfit(format!(
            "{}: already holds a lot; give --out a new folder",
            into.display()
        )));
    }
    for part in parts {
        if part.is_dir() {
            let source = Ledger::open(part)?;
            let sheets: Vec<String> = source.sheets().map(str::to_owned).collect();
            for sheet in sheets {
                let entry = source.entry(&sheet).map_err(disk(part))?;
                copy_report(part, into, &entry.record)?;
                add(&mut ledger, entry, into)?;
            }
        } else {
            add_lines(&mut ledger, part, into)?;
        }
    }
    let mut sheets: Vec<String> = ledger.sheets().map(str::to_owned).collect();
    sheets.sort_by(|a, b| super::natural::compare(a, b));
    let sheets: Vec<&str> = sheets.iter().map(String::as_str).collect();
    Ok(ledger.tidy(&sheets)?)
}

fn add_lines(ledger: &mut Ledger, file: &Path, into: &Path) -> Result<(), MergeError> {
    let lines = BufReader::new(std::fs::File::open(file).map_err(disk(file))?).lines();
    for (index, line) in lines.enumerate() {
        let line = line.map_err(disk(file))?;
        if line.trim().is_empty() {
            continue;
        }
        let entry: Entry = serde_json::from_str(&line).map_err(|error| MergeError::BadLine {
            file: file.to_owned(),
            line: index + 1,
            why: error.to_string(),
        })?;
        let folder = file.parent().unwrap_or(Path::new(""));
        copy_report(folder, into, &entry.record)?;
        add(ledger, entry, into)?;
    }
    Ok(())
}

/// Adds a sheet; one that is already there must be the same.
fn add(ledger: &mut Ledger, entry: Entry, into: &Path) -> Result<(), MergeError> {
    let sheet = entry.record.sheet.clone();
    if ledger.sheets().any(|known| known == sheet) {
        let known = ledger.record(&sheet).map_err(disk(into))?;
        return if known == entry.record {
            Ok(())
        } else {
            Err(MergeError::Contradiction { sheet })
        };
    }
    ledger.append(&entry).map_err(disk(into))
}

/// Copies a sheet's report and its JSON document, where the part has them.
fn copy_report(from: &Path, into: &Path, record: &Record) -> Result<(), MergeError> {
    let link = format!("{REPORTS}/{}.html", file_stem(&record.sheet));
    // A link from elsewhere is not followed: lines may come from anyone.
    if record.report.as_ref() != Some(&link) {
        return Ok(());
    }
    let page = Path::new(&link);
    for name in [page.to_owned(), page.with_extension("json")] {
        let (source, target) = (from.join(&name), into.join(&name));
        if source == target || !source.exists() {
            continue;
        }
        if let Some(folder) = target.parent() {
            std::fs::create_dir_all(folder).map_err(disk(folder))?;
        }
        let bytes = std::fs::read(&source).map_err(disk(&source))?;
        write_whole(&target, &bytes).map_err(disk(&target))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lot::order::Costs;
    use crate::lot::order::tests::record;
    use crate::weigh::read::equal_priors;

    fn part(root: &Path, number: u64, sheets: &[&str]) -> PathBuf {
        let folder = root.join(format!("part-{number}"));
        std::fs::create_dir_all(&folder).unwrap();
        let mut settings = Settings::new(
            "Estate".into(),
            "today".into(),
            equal_priors(),
            Costs::default(),
            0.05,
        );
        settings.part = Some([number, 2]);
        settings.write(&folder).unwrap();
        let mut ledger = Ledger::open(&folder).unwrap();
        for sheet in sheets {
            let record = record(sheet, None, 0.2);
            ledger
                .append(&Entry {
                    fingerprint: "f".into(),
                    record,
                })
                .unwrap();
        }
        folder
    }

    #[test]
    fn parts_become_one_and_lines_do_too() {
        let root = tempfile::tempdir().unwrap();
        let one = part(root.path(), 1, &["rose", "lily"]);
        let lines = root.path().join("finished.jsonl");
        let text: Vec<String> = ["lily", "iris"]
            .iter()
            .map(|s| {
                serde_json::to_string(&Entry {
                    fingerprint: "g".into(),
                    record: record(s, None, 0.2),
                })
                .unwrap()
            })
            .collect();
        std::fs::write(&lines, text.join("\n")).unwrap();
        let ledger = merge(&[one, lines], &root.path().join("out")).unwrap();
        assert_eq!(
            ledger.sheets().collect::<Vec<_>>(),
            ["iris", "lily", "rose"]
        );
    }

    #[test]
    fn contradictions_bad_lines_and_missing_parts_are_refused() {
        let root = tempfile::tempdir().unwrap();
        let one = part(root.path(), 1, &["rose"]);
        let missing = settings_of(std::slice::from_ref(&one), true).unwrap_err();
        assert!(missing.to_string().contains("2/2"), "{missing}");
        assert!(
            settings_of(std::slice::from_ref(&one), false)
                .unwrap()
                .is_some()
        );
        let lines = root.path().join("finished.jsonl");
        let other = Entry {
            fingerprint: "f".into(),
            record: record("rose", None, 0.3),
        };
        std::fs::write(&lines, serde_json::to_string(&other).unwrap()).unwrap();
        let error = merge(&[one, lines.clone()], &root.path().join("a")).unwrap_err();
        assert!(matches!(error, MergeError::Contradiction { .. }), "{error}");
        std::fs::write(&lines, "{}\n").unwrap();
        let error = merge(&[lines], &root.path().join("b")).unwrap_err();
        assert!(error.to_string().contains("line 1"), "{error}");
    }
}
