//! Folders that hold the photographs of many sheets.

use super::usual::Beside;
use super::{Sheet, stem};
use crate::lot::scales::is_rule_name;
use crate::lot::source::Found;
use crate::lot::task::folder_of;
use crate::report::words::counted;
use std::collections::{BTreeMap, BTreeSet};

/// More photographs than anyone takes of one sheet: a folder with more is a box of sheets.
pub const MOST_OF_ONE_SHEET: usize = 12;

/// Why a folder is taken as a box of sheets.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Why {
    /// Its file names form groups.
    Names,
    /// It holds more than [`MOST_OF_ONE_SHEET`].
    Number,
}

/// Folders below the top that are boxes of sheets: their file names form several groups, or one group beside
/// lettered names of other numbers (`plate-12a`, `plate-12b`, `plate-13a`), or there are more photographs than
/// anyone takes of one sheet. Large and small letters count alike, as they do when sheets are made.
pub(super) fn find(photos: &[Found], beside: &Beside) -> BTreeMap<String, Why> {
    let mut names: BTreeMap<&str, BTreeMap<String, usize>> = BTreeMap::new();
    let mut lettered: BTreeMap<(&str, String), BTreeSet<String>> = BTreeMap::new();
    for photo in photos.iter().filter(|f| !is_rule_name(&f.name)) {
        let (folder, own) = (folder_of(&photo.name), stem(&photo.name));
        let sheet = beside.usual_sheet(&photo.name);
        let is_shorter = sheet != own;
        let sheet = sheet.to_lowercase();
        if is_shorter && sheet.contains(|c: char| c.is_ascii_digit()) {
            let form = (folder, without_digits(&sheet));
            lettered.entry(form).or_default().insert(sheet.clone());
        }
        *names.entry(folder).or_default().entry(sheet).or_default() += 1;
    }
    names.remove("");
    let numbered: BTreeSet<&str> = lettered
        .into_iter()
        .filter(|(_, sheets)| sheets.len() > 1)
        .map(|((folder, _), _)| folder)
        .collect();
    names
        .into_iter()
        .filter_map(|(folder, groups)| {
            let several = groups.values().filter(|n| **n > 1).count() > 1;
            let one = groups.values().any(|n| *n > 1) && numbered.contains(folder);
            let many = groups.values().sum::<usize>() > MOST_OF_ONE_SHEET;
            let why = (several || one)
                .then_some(Why::Names)
                .or_else(|| many.then_some(Why::Number))?;
            Some((folder.to_owned(), why))
        })
        .collect()
}

/// A name with each number in it as one mark.
fn without_digits(name: &str) -> String {
    let parts: Vec<&str> = name.split(|c: char| c.is_ascii_digit()).collect();
    let mut form = String::new();
    for part in parts {
        if !(part.is_empty() && form.ends_with('#')) {
            form.push_str(part);
            form.push('#');
        }
    }
    form
}

/// Says which folders were taken as boxes of sheets, and why.
pub(super) fn notices(boxes: &BTreeMap<String, Why>, sheets: &[Sheet]) -> Vec<String> {
    let by_reason = |reason: Why, because: &str| {
        let boxes = boxes.iter().filter(|(_, why)| **why == reason);
        let boxes: Vec<String> = boxes
            .map(|(folder, _)| in_numbers(folder, sheets))
            .collect();
        let is_any = !boxes.is_empty();
        is_any.then(|| {
            format!(
                "{because}: {}; --group folder makes each folder one sheet.",
                boxes.join(", ")
            )
        })
    };
    let number = format!(
        "Taken as boxes of sheets, for more than {MOST_OF_ONE_SHEET} photographs lie in each"
    );
    let names = "Taken as boxes of sheets, for their file names form groups";
    [(Why::Number, &number[..]), (Why::Names, names)]
        .into_iter()
        .filter_map(|(reason, because)| by_reason(reason, because))
        .collect()
}

/// A folder with how many photographs lie in it and how many sheets they make, rules left out.
fn in_numbers(folder: &str, sheets: &[Sheet]) -> String {
    let own = |sheet: &Sheet| {
        let names = sheet.files.iter().map(|(found, _)| found.name.as_str());
        names
            .filter(|name| folder_of(name) == folder && !is_rule_name(name))
            .count()
    };
    let photographs: Vec<usize> = sheets.iter().map(own).filter(|n| *n > 0).collect();
    format!(
        "{folder} ({}, {})",
        counted(photographs.iter().sum(), "photograph"),
        counted(photographs.len(), "sheet")
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_in_names_are_one_form() {
        assert_eq!(
            without_digits("plate-12 of 100"),
            without_digits("plate-9 of 3")
        );
    }
}
