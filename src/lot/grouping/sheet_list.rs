//! The user's own list of sheets.

use super::{Grouped, Sheet};
use crate::lot::source::Found;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// One line of the list.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SheetLine {
    /// Name of the sheet.
    pub sheet: String,
    /// Name of one of its files, as in the folders given; its last part is enough where no other has it.
    pub file: String,
    /// Note on the sheet; the first that is not empty counts.
    #[serde(default)]
    pub note: Option<String>,
    /// Scale of this file, px/mm.
    #[serde(default)]
    pub px_per_mm: Option<f64>,
}

/// The lines, in their order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SheetList {
    lines: Vec<SheetLine>,
}

impl SheetList {
    /// Reads a CSV file with the columns `sheet`, `file` and, if wanted, `note` and `px_per_mm`.
    ///
    /// # Errors
    /// A sentence that names the file and what is wrong.
    pub fn read(file: &Path) -> Result<Self, String> {
        let wrong = |why: String| format!("{}: {why}", file.display());
        let mut reader = csv::ReaderBuilder::new()
            .trim(csv::Trim::All)
            .flexible(true)
            .from_path(file)
            .map_err(|e| wrong(e.to_string()))?;
        let mut lines: Vec<SheetLine> = Vec::new();
        for line in reader.deserialize() {
            let line: SheetLine =
                line.map_err(|e| wrong(format!("{e}; the columns are sheet,file,note,px_per_mm")))?;
            if line.sheet.is_empty() || line.file.is_empty() {
                return Err(wrong(format!(
                    "line {} names no sheet or no file",
                    lines.len() + 2
                )));
            }
            if line.px_per_mm.is_some_and(|v| !(v.is_finite() && v > 0.0)) {
                return Err(wrong(format!(
                    "the scale of {} must be a number above 0",
                    line.file
                )));
            }
            lines.push(line);
        }
        Ok(Self { lines })
    }

    pub(super) fn group(&self, photos: Vec<Found>) -> Grouped {
        let by_name = Names::new(&photos);
        let mut used = BTreeSet::new();
        let mut sheets: BTreeMap<&str, Sheet> = BTreeMap::new();
        for line in &self.lines {
            let place = by_name.find(&line.file);
            used.extend(place);
            let found = place.map_or_else(|| missing(&line.file), |i| photos[i].clone());
            let sheet = sheets.entry(&line.sheet).or_insert_with(|| Sheet {
                name: line.sheet.clone(),
                note: None,
                files: Vec::new(),
            });
            let note = line.note.clone().filter(|n| !n.is_empty());
            sheet.note = sheet.note.take().or(note);
            sheet.files.push((found, line.px_per_mm));
        }
        let sheets = sheets.into_values().collect();
        let mut grouped = Grouped::new(sheets, "by the list of sheets given");
        let left_out = photos.len() - used.len();
        if left_out > 0 {
            grouped.notices.push(format!(
                "{left_out} photographs are not in the list of sheets and are left out."
            ));
        }
        grouped
    }
}

/// A file that the list names and no folder holds: it becomes a row with its reason.
fn missing(file: &str) -> Found {
    Found {
        name: file.to_owned(),
        location: file.to_owned(),
        stamp: "missing".into(),
    }
}

/// Finds files by their whole name, or by its end where that is plain.
struct Names<'a> {
    whole: BTreeMap<&'a str, usize>,
    last: BTreeMap<&'a str, Vec<usize>>,
    photos: &'a [Found],
}

impl<'a> Names<'a> {
    fn new(photos: &'a [Found]) -> Self {
        let mut names = Self {
            whole: BTreeMap::new(),
            last: BTreeMap::new(),
            photos,
        };
        for (index, photo) in photos.iter().enumerate() {
            names.whole.insert(&photo.name, index);
            let last = photo.name.rsplit('/').next().unwrap_or(&photo.name);
            names.last.entry(last).or_default().push(index);
        }
        names
    }

    fn find(&self, file: &str) -> Option<usize> {
        let file = file.trim_start_matches("./");
        if let Some(index) = self.whole.get(file) {
            return Some(*index);
        }
        let last = file.rsplit('/').next()?;
        let ends = |i: &&usize| self.photos[**i].name.ends_with(&format!("/{file}"));
        match *self.last.get(last)?.iter().filter(ends).collect::<Vec<_>>() {
            [only] => Some(*only),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(name: &str) -> Found {
        Found {
            name: name.into(),
            location: format!("/x/{name}"),
            stamp: String::new(),
        }
    }

    #[test]
    fn a_list_groups_notes_and_names_what_is_missing() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("sheets.csv");
        std::fs::write(
            &file,
            "sheet,file,note,px_per_mm\nRose,box/1.jpg,\"foxed, torn\",\nRose,2.jpg,,56.2\nLily,9.jpg,,\n",
        )
        .unwrap();
        let list = SheetList::read(&file).unwrap();
        let grouped = list.group(vec![
            found("box/1.jpg"),
            found("box/2.jpg"),
            found("box/3.jpg"),
        ]);
        let [lily, rose] = &grouped.sheets[..] else {
            panic!("{grouped:?}")
        };
        assert_eq!(lily.files[0].0.stamp, "missing");
        assert_eq!(rose.note.as_deref(), Some("foxed, torn"));
        assert_eq!(rose.files[1], (found("box/2.jpg"), Some(56.2)));
        assert!(grouped.notices[0].starts_with("1 photographs are not in the list"));
    }

    #[test]
    fn lists_that_make_no_sense_are_refused() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("sheets.csv");
        for text in [
            "plate,photo\na,b\n",
            "sheet,file\n,b\n",
            "sheet,file,note,px_per_mm\na,b,,0\n",
        ] {
            std::fs::write(&file, text).unwrap();
            assert!(
                SheetList::read(&file).unwrap_err().contains("sheets.csv"),
                "{text}"
            );
        }
    }
}
