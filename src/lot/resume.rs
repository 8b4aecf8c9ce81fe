//! A folder with results of an earlier run: whether this run goes on with that work, and what of it
//! is done.

use super::ledger::{Ledger, LedgerError};
use super::plan::Plan;
use super::settings::Settings;
use super::source::{is_address, path_of};
use super::task::Task;
use crate::photo::sha256_hex;
use std::collections::{HashMap, HashSet};
use std::path::Path;

/// Whether the finished sheets in a folder are of the same lot and the same part of it. Results are
/// written anew at the end, so going on with other work would throw these away.
///
/// # Errors
/// A sentence that names the folder.
pub fn same_work(
    folder: &Path,
    before: Option<&Settings>,
    now: &Settings,
    ledger: &Ledger,
    plan: &Plan,
) -> Result<(), String> {
    let Some(first) = ledger.sheets().next() else {
        return Ok(());
    };
    if let Some(before) = before.filter(|before| before.part != now.part) {
        return Err(format!(
            "{}: holds the results of {}, and {} was asked for; choose another --out",
            folder.display(),
            part_in_words(before.part),
            part_in_words(now.part),
        ));
    }
    let files: HashSet<&str> = plan
        .tasks
        .iter()
        .flat_map(|task| task.photos.iter().map(|photo| photo.name.as_str()))
        .collect();
    let is_planned = |sheet: &str| {
        ledger.record(sheet).is_ok_and(|record| {
            let seen = record.photos.iter().map(|photo| photo.file.as_str());
            let unread = record.not_read.iter().map(|file| file.file.as_str());
            let rules = record.rules.iter().map(|rule| rule.file.as_str());
            let mut own = seen.chain(unread).chain(rules);
            own.any(|file| files.contains(file))
        })
    };
    if ledger.sheets().any(is_planned) && !all_bytes_differ(ledger, plan) {
        return Ok(());
    }
    Err(format!(
        "{}: holds the results of another lot (no file of its sheet \u{201c}{first}\u{201d} or of others is in this one, at most files of the same names); choose another --out",
        folder.display(),
    ))
}

/// Whether no file of the plan is the one of its name that was measured: cameras give the same names to
/// the photographs of every lot. A few are looked at; one that differs may have been taken again, and what
/// cannot be read here says nothing.
fn all_bytes_differ(ledger: &Ledger, plan: &Plan) -> bool {
    const LOOKED_AT: usize = 12;
    let before: HashMap<String, String> = ledger
        .sheets()
        .filter_map(|sheet| ledger.record(sheet).ok())
        .flat_map(|record| record.photos)
        .map(|photo| (photo.file, photo.sha256))
        .collect();
    let mut differ = 0;
    let photos = plan.tasks.iter().flat_map(|task| &task.photos);
    for (photo, known) in photos
        .filter_map(|photo| Some((photo, before.get(&photo.name)?)))
        .filter(|(photo, _)| !is_address(&photo.location))
        .take(LOOKED_AT)
    {
        match std::fs::read(path_of(&photo.location)) {
            Ok(bytes) if sha256_hex(&bytes) == *known => return false,
            Ok(_) => differ += 1,
            Err(_) => {}
        }
    }
    differ > 1
}

/// Takes in again what earlier runs have finished and the last one found absent, where it is the work of this plan.
///
/// # Errors
/// [`LedgerError`].
pub fn take_back(ledger: &mut Ledger, plan: &Plan) -> Result<(), LedgerError> {
    let tasks = plan.tasks.iter();
    let tasks: HashMap<&str, &Task> = tasks.map(|task| (task.sheet.as_str(), task)).collect();
    ledger.take_back(|sheet, fingerprint| {
        let task = tasks.get(sheet);
        task.is_some_and(|task| task.fingerprint() == fingerprint)
    })
}

fn part_in_words(part: Option<[u64; 2]>) -> String {
    part.map_or_else(
        || "a whole lot".into(),
        |[number, of]| format!("part {number}/{of}"),
    )
}

/// Whether a sheet is finished for these very files: every file was fetched, and its report is there
/// where `reports` are wanted.
#[must_use]
pub fn is_finished(task: &Task, ledger: &Ledger, folder: &Path, reports: bool) -> bool {
    if !ledger.holds(&task.sheet, &task.fingerprint()) {
        return false;
    }
    let Ok(record) = ledger.record(&task.sheet) else {
        return false;
    };
    !record.is_to_be_tried_again()
        && match &record.report {
            Some(link) => reports && folder.join(link).exists(),
            None => !reports || record.reading.is_none(),
        }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lot::ledger::Entry;
    use crate::lot::order::Costs;
    use crate::lot::order::tests::record;
    use crate::lot::plan::plan;
    use crate::lot::plan::tests::request;
    use crate::lot::record::{Record, Unread};
    use crate::lot::source::Fetcher;
    use crate::weigh::read::equal_priors;

    fn settings(part: Option<[u64; 2]>) -> Settings {
        let mut settings = Settings::new(
            "Estate".into(),
            "today".into(),
            equal_priors(),
            Costs::default(),
            0.05,
        );
        settings.part = part;
        settings
    }

    fn plan_of(names: &[&str]) -> (tempfile::TempDir, Plan) {
        let folder = tempfile::tempdir().unwrap();
        for name in names {
            std::fs::write(folder.path().join(name), name).unwrap();
        }
        let plan = plan(&request(folder.path()), &Fetcher::default()).unwrap();
        (folder, plan)
    }

    fn ledger_of(folder: &Path, entries: &[(&str, Record)]) -> Ledger {
        let mut ledger = Ledger::open(folder).unwrap();
        for (fingerprint, record) in entries {
            let (fingerprint, record) = ((*fingerprint).to_owned(), record.clone());
            ledger
                .append(&Entry {
                    fingerprint,
                    record,
                })
                .unwrap();
        }
        ledger
    }

    #[test]
    fn results_of_other_work_are_not_written_over() {
        let out = tempfile::tempdir().unwrap();
        let (_photos, plan) = plan_of(&["rose.jpg", "lily.jpg"]);
        let (_others, other_plan) = plan_of(&["heron.jpg"]);
        let (whole, first) = (settings(None), settings(Some([1, 3])));
        let check = |ledger: &Ledger, before: &Settings, now: &Settings, plan: &Plan| {
            same_work(out.path(), Some(before), now, ledger, plan)
        };
        let ledger = ledger_of(out.path(), &[]);
        assert!(check(&ledger, &first, &whole, &other_plan).is_ok());
        drop(ledger);
        let [rose, lily] = ["rose", "lily"].map(|name| {
            let mut record = record(name, None, 0.1);
            record.photos[0].sha256 = sha256_hex(format!("{name}.jpg").as_bytes());
            record
        });
        let ledger = ledger_of(out.path(), &[("f", rose), ("g", lily)]);
        assert!(check(&ledger, &whole, &whole, &plan).is_ok());
        assert!(check(&ledger, &first, &first, &plan).is_ok());
        // The same names in another folder, as cameras give them, are no proof; one photograph may have
        // been taken again.
        let (same_names, same_plan) = plan_of(&["rose.jpg", "lily.jpg"]);
        std::fs::write(same_names.path().join("rose.jpg"), "another rose").unwrap();
        assert!(check(&ledger, &whole, &whole, &same_plan).is_ok());
        std::fs::write(same_names.path().join("lily.jpg"), "another lily").unwrap();
        assert!(check(&ledger, &whole, &whole, &same_plan).is_err());
        let other_part = check(&ledger, &first, &settings(Some([2, 3])), &plan).unwrap_err();
        assert!(
            other_part.contains("part 1/3") && other_part.contains("part 2/3"),
            "{other_part}"
        );
        assert!(check(&ledger, &whole, &first, &plan).is_err());
        let other_lot = check(&ledger, &whole, &whole, &other_plan).unwrap_err();
        assert!(
            other_lot.contains("lily") && other_lot.contains("--out"),
            "{other_lot}"
        );
    }

    #[test]
    fn a_sheet_with_a_file_that_could_not_be_fetched_is_done_again() {
        let out = tempfile::tempdir().unwrap();
        let (_photos, plan) = plan_of(&["rose.jpg"]);
        let task = &plan.tasks[0];
        let fingerprint = task.fingerprint();
        let done = record("rose", None, 0.1);
        let mut broken = done.clone();
        broken.not_read.push(Unread {
            file: "b.jpg".into(),
            why: "b.jpg: is no picture".into(),
            try_again: false,
        });
        let mut unfetched = broken.clone();
        unfetched.not_read[0].try_again = true;
        for (record, finished) in [(done, true), (broken, true), (unfetched, false)] {
            let ledger = ledger_of(out.path(), &[(&fingerprint, record)]);
            assert_eq!(is_finished(task, &ledger, out.path(), false), finished);
            assert!(!is_finished(task, &ledger, out.path(), true), "no report");
        }
        let ledger = ledger_of(out.path(), &[("other", record("rose", None, 0.1))]);
        assert!(!is_finished(task, &ledger, out.path(), false));
    }
}
