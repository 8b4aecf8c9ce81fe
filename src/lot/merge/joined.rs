//! The sheets of the parts, put together.

use super::{MergeError, differences, disk, extent};
use crate::lot::ledger::{Entry, Ledger, sync_folder};
use crate::lot::names::REPORTS;
use crate::lot::order::{Costs, MISSED_CHANCE};
use crate::lot::record::Record;
use crate::lot::settings::Settings;
use crate::lot::task;
use crate::report::words::counted;
use crate::weigh::Process;
use crate::weigh::read::equal_priors;
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, BufRead, BufReader};
use std::path::{Path, PathBuf};

/// The sheets of the parts so far.
pub(super) struct Joined {
    pub ledger: Ledger,
    /// Odds beforehand with which all sheets so far were read, and the part that has them first.
    prior: Option<(PathBuf, BTreeMap<Process, f64>)>,
    /// How all sheets so far were measured, and the part that has them first; none where an older version does not say.
    measuring: Option<(PathBuf, Option<String>)>,
    /// Sheets with a file that could not be fetched.
    to_try_again: BTreeSet<String>,
    /// Folders to copy reports from, and the reports' links.
    pub reports: Vec<(PathBuf, String)>,
    pub notices: Vec<String>,
}

impl Joined {
    pub fn new(ledger: Ledger, first: Option<&(&Path, Settings)>) -> Self {
        Self {
            ledger,
            prior: first.map(|(part, s)| ((*part).to_owned(), s.prior.clone())),
            measuring: None,
            to_try_again: BTreeSet::new(),
            reports: Vec::new(),
            notices: Vec::new(),
        }
    }

    pub fn add_folder(&mut self, part: &Path, all_parts: bool) -> Result<(), MergeError> {
        let source = Ledger::open(part)?;
        if source.damaged_lines() > 0 {
            let damaged = format!(
                "{}: {} of its ledger damaged on the disk",
                part.display(),
                match source.damaged_lines() {
                    1 => "a line is".to_owned(),
                    n => format!("{n} lines are"),
                }
            );
            if all_parts {
                return Err(MergeError::Unfit(format!(
                    "{damaged}; run this part again, which redoes only these sheets, or give --incomplete to merge the others"
                )));
            }
            self.notices.push(format!("{damaged} and left out."));
        }
        for sheet in source.sheets() {
            let entry = source.entry(sheet).map_err(disk(part))?;
            self.add(part, part, entry)?;
        }
        Ok(())
    }

    pub fn add_lines(&mut self, file: &Path) -> Result<(), MergeError> {
        let folder = file.parent().unwrap_or(Path::new(""));
        let lines = BufReader::new(std::fs::File::open(file).map_err(disk(file))?).lines();
        for (index, line) in lines.enumerate() {
            let line = line.map_err(disk(file))?;
            if line.trim().is_empty() {
                continue;
            }
            let entry: Entry =
                serde_json::from_str(&line).map_err(|error| MergeError::BadLine {
                    file: file.to_owned(),
                    line: index + 1,
                    why: error.to_string(),
                })?;
            self.add(file, folder, entry)?;
        }
        Ok(())
    }

    /// Adds a sheet of a part whose reports lie in a folder. One that is already there must be the same, unless files of one of the two could
    /// not be fetched: then the other counts.
    fn add(&mut self, part: &Path, folder: &Path, mut entry: Entry) -> Result<(), MergeError> {
        let link = own_report(&entry.record);
        entry.record.report.clone_from(&link);
        let record = &entry.record;
        self.agree_on_measuring(part, &entry)?;
        self.agree_beforehand(part, record)?;
        let mut is_known = false;
        if self.ledger.contains(&record.sheet) {
            let known = self.ledger.record(&record.sheet).map_err(disk(folder))?;
            is_known = known == *record;
            if !is_known && record.is_to_be_tried_again() {
                return Ok(());
            }
            if !is_known && !known.is_to_be_tried_again() {
                return Err(MergeError::Contradiction {
                    sheet: record.sheet.clone(),
                });
            }
        }
        self.reports
            .extend(link.map(|link| (folder.to_owned(), link)));
        if is_known {
            return Ok(());
        }
        if record.is_to_be_tried_again() {
            self.to_try_again.insert(record.sheet.clone());
        } else {
            self.to_try_again.remove(&record.sheet);
        }
        self.ledger.append(&entry).map_err(disk(folder))
    }

    /// All sheets must have been read with the same odds beforehand: chances from different odds cannot
    /// stand in one order.
    fn agree_beforehand(&mut self, part: &Path, record: &Record) -> Result<(), MergeError> {
        let Some(reading) = &record.reading else {
            return Ok(());
        };
        let own = || (part.to_owned(), reading.prior.clone());
        let (first, prior) = self.prior.get_or_insert_with(own);
        let Some(differ) = differences::of_odds(prior, &reading.prior) else {
            return Ok(());
        };
        Err(MergeError::Unfit(format!(
            "{}, were read with different {differ}; give --reproductions or --prior alike to all and run them again",
            sheets_of(first, part, &record.sheet)
        )))
    }

    /// All sheets must have been measured alike: figures of different versions cannot stand in one order.
    fn agree_on_measuring(&mut self, part: &Path, entry: &Entry) -> Result<(), MergeError> {
        let way = task::way_of_measuring(&entry.fingerprint);
        let own = || (part.to_owned(), way.map(str::to_owned));
        let (first, before) = self.measuring.get_or_insert_with(own);
        if before.as_deref() == way {
            return Ok(());
        }
        Err(MergeError::Unfit(format!(
            "{}, were measured by different versions of this program, whose figures may differ; run all of them with one version, which measures only the others again",
            sheets_of(first, part, &entry.record.sheet)
        )))
    }

    /// The settings of the parts, or where none has any those that its readings tell.
    pub fn settings(&self, of_the_parts: Option<Settings>) -> io::Result<Settings> {
        let mut settings = of_the_parts.unwrap_or_else(|| {
            let prior = self.prior.as_ref();
            let prior = prior.map_or_else(equal_priors, |(_, odds)| odds.clone());
            let (costs, missed_chance) = (Costs::default(), MISSED_CHANCE);
            let mut settings =
                Settings::new("lot".into(), String::new(), prior, costs, missed_chance);
            settings.sheets = self.ledger.sheets().count();
            settings
        });
        settings.settle_rules(&self.ledger)?;
        Ok(settings)
    }

    /// Whether each sheet of a file of tasks is there.
    pub fn holds_all_of(&self, tasks: &Path) -> Result<(), MergeError> {
        let text = std::fs::read_to_string(tasks).map_err(disk(tasks))?;
        let mut missing = Vec::new();
        for (index, line) in text
            .lines()
            .enumerate()
            .filter(|(_, l)| !l.trim().is_empty())
        {
            let task: TaskName = serde_json::from_str(line).map_err(|_| {
                MergeError::Unfit(format!(
                    "{}: line {} is no task; give the file that `inktell lot … --tasks` wrote",
                    tasks.display(),
                    index + 1
                ))
            })?;
            if !self.ledger.contains(&task.sheet) {
                missing.push(task.sheet);
            }
        }
        match missing.first() {
            None => Ok(()),
            Some(first) => Err(MergeError::Unfit(format!(
                "{} of the tasks in {} not finished in the lines given, such as \u{201c}{first}\u{201d}; do {} first",
                counted(missing.len(), "sheet"),
                format_args!(
                    "{} {}",
                    tasks.display(),
                    if missing.len() == 1 { "is" } else { "are" }
                ),
                if missing.len() == 1 { "it" } else { "them" },
            ))),
        }
    }

    pub fn complete(&self, settings: &Settings) -> Result<(), MergeError> {
        let finished = self.ledger.sheets().count();
        if finished != settings.sheets {
            let rules = settings.rules.iter();
            let rules = rules.filter(|rule| self.ledger.contains(rule)).count();
            return Err(MergeError::Unfit(format!(
                "the parts have finished {} and the lot has {}; run the parts to their end, or give --incomplete to merge what there is",
                extent(finished, rules),
                extent(settings.sheets, settings.rules.len())
            )));
        }
        if let Some(sheet) = self.to_try_again.first() {
            return Err(MergeError::Unfit(format!(
                "files of {} could not be fetched, such as those of \u{201c}{sheet}\u{201d}; run its part again, which redoes only these, or give --incomplete to merge what there is",
                counted(self.to_try_again.len(), "sheet")
            )));
        }
        Ok(())
    }
}

/// The sheets of two parts that do not fit together, as the beginning of a sentence.
fn sheets_of(first: &Path, part: &Path, sheet: &str) -> String {
    let (first, part) = (first.display(), part.display());
    if first.to_string() == part.to_string() {
        return format!("the sheets in {part}, such as \u{201c}{sheet}\u{201d}");
    }
    format!("the sheets in {first} and those in {part}, such as \u{201c}{sheet}\u{201d}")
}

#[derive(Deserialize)]
struct TaskName {
    sheet: String,
}

/// The link of a sheet's report. One that leads elsewhere is neither followed nor kept: lines may come from anyone.
fn own_report(record: &Record) -> Option<String> {
    let link = task::report_link(&record.sheet);
    (record.report.as_ref() == Some(&link)).then_some(link)
}

/// Copies reports and their JSON documents, where the parts have them, and then makes sure of all of
/// them: one wait for the disk and not one a sheet.
pub(super) fn copy_reports(reports: &[(PathBuf, String)], into: &Path) -> Result<(), MergeError> {
    let mut written = Vec::new();
    for (from, link) in reports {
        let page = Path::new(link);
        for name in [page.to_owned(), page.with_extension("json")] {
            let (source, target) = (from.join(&name), into.join(&name));
            if source == target || !source.exists() {
                continue;
            }
            if written.is_empty() {
                let folder = into.join(REPORTS);
                std::fs::create_dir_all(&folder).map_err(disk(&folder))?;
            }
            let bytes = std::fs::read(&source).map_err(disk(&source))?;
            std::fs::write(&target, bytes).map_err(disk(&target))?;
            written.push(target);
        }
    }
    for path in &written {
        let file = std::fs::File::open(path).map_err(disk(path))?;
        file.sync_all().map_err(disk(path))?;
    }
    sync_folder(&into.join(REPORTS));
    Ok(())
}
