//! What the results of a lot must not take the place of: the files it is made from, and the user's own.

use super::ledger;
use super::names::{LEDGER_NAME, RESULTS};
use super::settings::Settings;
use std::fs;
use std::path::Path;

/// Refuses a folder for results that would take the place of one of the inputs, or of files there that no lot wrote.
/// Nothing is made or changed.
///
/// # Errors
/// A sentence that names the file.
pub fn refuse(folder: &Path, inputs: &[&Path]) -> Result<(), String> {
    let results = RESULTS.map(|name| folder.join(name));
    let is_result = |input: &&&Path| results.iter().any(|result| is_same(input, result));
    if let Some(input) = inputs.iter().find(is_result) {
        return Err(format!(
            "{}: is read for this lot, and a result of that name in {} would take its place; call it something else, such as my-{}, or choose another --out",
            input.display(),
            folder.display(),
            input.file_name().unwrap_or_default().display(),
        ));
    }
    match foreign(folder) {
        None => Ok(()),
        Some(name) => Err(format!(
            "{}: was not written by a lot, for no ledger of one lies beside it, and the results would take its place; move it elsewhere or choose another --out",
            folder.join(name).display()
        )),
    }
}

/// Whether two paths lead to one file that is there.
#[must_use]
pub fn is_same(a: &Path, b: &Path) -> bool {
    let there = |path: &Path| fs::canonicalize(path).ok();
    there(a).is_some_and(|a| Some(a) == there(b))
}

/// A file with the name of a result in a folder that is no lot's.
fn foreign(folder: &Path) -> Option<&'static str> {
    let ledger = folder.join(LEDGER_NAME);
    if matches!(Settings::read(folder), Ok(Some(_))) || ledger::holds_a_line(&ledger) {
        return None;
    }
    // An empty ledger is what a run leaves that was stopped before anything else.
    let is_empty = fs::metadata(&ledger).is_ok_and(|found| found.len() == 0);
    let mut results = RESULTS
        .into_iter()
        .filter(|name| !is_empty || *name != LEDGER_NAME);
    results.find(|name| folder.join(name).exists())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lot::ledger::{Entry, Ledger};
    use crate::lot::names::{CSV_NAME, PAGE_NAME};
    use crate::lot::record::Record;

    #[test]
    fn no_input_and_no_file_of_the_user_is_written_over() {
        let root = tempfile::tempdir().unwrap();
        let (list, page) = (root.path().join(CSV_NAME), root.path().join(PAGE_NAME));
        fs::write(&list, "sheet,file\n").unwrap();
        let spelt = root.path().join(".").join(CSV_NAME);
        let error = refuse(root.path(), &[&spelt]).unwrap_err();
        assert!(error.contains("is read for this lot"), "{error}");
        // Where it is not read it is the user's all the same.
        let error = refuse(root.path(), &[]).unwrap_err();
        assert!(
            error.contains(CSV_NAME) && error.contains("--out"),
            "{error}"
        );
        fs::remove_file(&list).unwrap();
        fs::write(root.path().join(LEDGER_NAME), "the user's own book\n").unwrap();
        let error = refuse(root.path(), &[]).unwrap_err();
        assert!(error.contains(LEDGER_NAME), "{error}");
        fs::remove_file(root.path().join(LEDGER_NAME)).unwrap();
        assert_eq!(refuse(root.path(), &[&list]), Ok(()));
        assert_eq!(fs::read_dir(root.path()).unwrap().count(), 0);
        // Beside a ledger they are results of an earlier run.
        let entry = Entry {
            fingerprint: "f".into(),
            record: Record::blank("rose", None),
        };
        Ledger::open(root.path()).unwrap().append(&entry).unwrap();
        fs::write(&page, "results").unwrap();
        assert_eq!(refuse(root.path(), &[&list]), Ok(()));
        assert!(refuse(root.path(), &[&page]).is_err());
    }
}
