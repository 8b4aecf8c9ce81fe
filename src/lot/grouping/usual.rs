//! The grouping where none is asked for: by sub-folder; by names at the top and in boxes of sheets.

use super::boxes::{self, MOST_OF_ONE_SHEET, Why};
use super::{Grouped, by_name, in_folder, key, stem};
use crate::lot::pattern;
use crate::lot::scales::is_rule_name;
use crate::lot::source::Found;
use crate::lot::task::folder_of;
use crate::report::words::counted;
use std::collections::{BTreeMap, BTreeSet, HashSet};

/// Which names without ending there are, in their folders.
pub(super) struct Beside(HashSet<String>);

impl Beside {
    fn of(photos: &[Found]) -> Self {
        let whole = |photo: &Found| in_folder(&photo.name, stem(&photo.name)).to_lowercase();
        Self(photos.iter().map(whole).collect())
    }

    /// The sheet's name in a file's name.
    pub(super) fn usual_sheet<'a>(&self, file: &'a str) -> &'a str {
        let is_there = |own: &str| self.0.contains(&in_folder(file, own).to_lowercase());
        pattern::usual_sheet(stem(file), is_there)
    }
}

pub(super) fn group(photos: Vec<Found>) -> Grouped {
    let beside = Beside::of(&photos);
    let names = Names {
        boxes: boxes::find(&photos, &beside),
        beside,
    };
    let shared = names.shared(&photos);
    let crowded: BTreeSet<&str> = shared
        .iter()
        .filter(|(_, sheet)| sheet.photographs > MOST_OF_ONE_SHEET)
        .map(|(key, _)| key.as_str())
        .collect();
    let mut grouped = by_name(
        photos,
        "by sub-folder; by file name at the top and in boxes of sheets",
        |file| match names.by_name(file) {
            Some(sheet) if crowded.contains(key(file, &sheet).as_str()) => file.to_owned(),
            Some(sheet) => sheet,
            None => folder_of(file).to_owned(),
        },
    );
    grouped.notices = boxes::notices(&names.boxes, &grouped.sheets);
    grouped.notices.extend(notices(shared.values()));
    grouped
}

struct Names {
    boxes: BTreeMap<String, Why>,
    beside: Beside,
}

/// Photographs that share the name of a sheet.
struct Shared {
    name: String,
    photographs: usize,
}

impl Names {
    /// The sheet's name where names decide and not the folder.
    fn by_name(&self, file: &str) -> Option<String> {
        let folder = folder_of(file);
        let decides = folder.is_empty() || self.boxes.contains_key(folder);
        decides.then(|| in_folder(file, self.beside.usual_sheet(file)))
    }

    /// The sheets that names make, by what they are compared by; rules left out.
    fn shared(&self, photos: &[Found]) -> BTreeMap<String, Shared> {
        let mut shared: BTreeMap<String, Shared> = BTreeMap::new();
        for photo in photos.iter().filter(|f| !is_rule_name(&f.name)) {
            let Some(name) = self.by_name(&photo.name) else {
                continue;
            };
            let sheet = shared.entry(key(&photo.name, &name)).or_insert(Shared {
                name,
                photographs: 0,
            });
            sheet.photographs += 1;
        }
        shared
    }
}

/// Says which names were not taken as one sheet for there are too many of them, and which were though nothing but
/// a letter tells the files apart: `Plate A` and `Plate B` may be two sheets.
fn notices<'a>(shared: impl Iterator<Item = &'a Shared>) -> Vec<String> {
    let has_number = |sheet: &Shared| sheet.name.contains(|c: char| c.is_ascii_digit());
    let (crowded, others): (Vec<&Shared>, Vec<&Shared>) = shared
        .filter(|sheet| sheet.photographs > 1)
        .partition(|sheet| sheet.photographs > MOST_OF_ONE_SHEET);
    let lettered: Vec<&Shared> = others.into_iter().filter(|s| !has_number(s)).collect();
    let mut notices = Vec::new();
    if !crowded.is_empty() {
        notices.push(format!(
            "Each photograph is taken as a sheet of its own where more than {MOST_OF_ONE_SHEET} have one name but for a letter or a copy's number: {}; --name-pattern or --sheets puts photographs together.",
            listed(&crowded)
        ));
    }
    if !lettered.is_empty() {
        notices.push(format!(
            "Taken as one sheet, for the names differ by a letter or a copy's number alone: {}; --group file makes each file one sheet.",
            listed(&lettered)
        ));
    }
    notices
}

/// Sheets named as examples.
const EXAMPLES: usize = 5;

fn listed(sheets: &[&Shared]) -> String {
    let examples = sheets.iter().take(EXAMPLES);
    let mut names: Vec<String> = examples
        .map(|s| format!("{} ({})", s.name, counted(s.photographs, "photograph")))
        .collect();
    if sheets.len() > EXAMPLES {
        names.push(format!("and {} more", sheets.len() - EXAMPLES));
    }
    names.join(", ")
}
