//! The user's own list of sheets.

use super::{Grouped, Sheet};
use crate::lot::source::{Found, NOWHERE, identity, is_address, location_of};
use crate::lot::spelling::{as_seen, composed};
use crate::lot::spreadsheet::{Row, Spreadsheet, unguarded};
use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::path::{Path, PathBuf};

/// One line of the list.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetLine {
    /// Name of the sheet.
    pub sheet: String,
    /// Name of one of its files, as in the folders given, with the blanks before and behind it; its last part is enough where
    /// no other has it.
    pub file: String,
    /// Note on the sheet; the first that is not empty counts.
    pub note: Option<String>,
    /// Scale of this file, px/mm.
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
        let table = Spreadsheet::read(
            file,
            &["sheet", "file"],
            "sheet, file and, if wanted, note and px_per_mm",
        )?;
        let lines: Vec<SheetLine> = table.rows().map(line).collect::<Result<_, _>>()?;
        if lines.is_empty() {
            return Err(format!(
                "{}: names no photographs, only headings; write a line for each photograph, with its sheet and its file",
                file.display()
            ));
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
            sheet.note = sheet.note.take().or_else(|| line.note.clone());
            sheet.files.push((found, line.px_per_mm));
        }
        let sheets: Vec<Sheet> = sheets.into_values().collect();
        let missing: Vec<&str> = sheets
            .iter()
            .flat_map(|sheet| &sheet.files)
            .filter(|(found, _)| found.location == NOWHERE)
            .map(|(found, _)| found.name.as_str())
            .collect();
        let notice = missing.first().map(|first| {
            format!(
                "{} in the list of sheets and not among the photographs, such as {first}.",
                match missing.len() {
                    1 => "1 file is".to_owned(),
                    n => format!("{n} files are"),
                }
            )
        });
        let mut grouped = Grouped::new(sheets, "by the list of sheets given");
        grouped.amiss.extend(notice);
        let left_out = photos.len() - used.len();
        if left_out > 0 {
            grouped.amiss.push(match left_out {
                1 => "1 photograph is not in the list of sheets and is left out.".into(),
                n => format!("{n} photographs are not in the list of sheets and are left out."),
            });
        }
        grouped
    }
}

fn line(row: Row) -> Result<SheetLine, String> {
    Ok(SheetLine {
        sheet: as_seen(unguarded(row.needed("sheet")?)),
        file: row.as_written("file")?.to_owned(),
        note: row.text("note").map(|note| unguarded(note).to_owned()),
        px_per_mm: row.above_zero("px_per_mm")?,
    })
}

/// A file that the list names and no folder holds: it becomes a row with its reason. What lies on the disk under
/// that name is not read: nothing would tell when it changes.
fn missing(file: &str) -> Found {
    Found {
        name: file.trim().to_owned(),
        location: NOWHERE.into(),
        stamp: "missing".into(),
    }
}

/// Finds files by their whole name, by its end where that is plain, or by their path from the current folder.
struct Names<'a> {
    whole: BTreeMap<&'a str, usize>,
    last: BTreeMap<&'a str, Vec<usize>>,
    photos: &'a [Found],
    /// By their paths, composed, however they are written; asked for only where names do not tell.
    paths: OnceCell<HashMap<String, Vec<(PathBuf, usize)>>>,
}

impl<'a> Names<'a> {
    fn new(photos: &'a [Found]) -> Self {
        let mut names = Self {
            whole: BTreeMap::new(),
            last: BTreeMap::new(),
            photos,
            paths: OnceCell::new(),
        };
        for (index, photo) in photos.iter().enumerate() {
            names.whole.insert(&photo.name, index);
            let last = photo.name.rsplit('/').next().unwrap_or(&photo.name);
            names.last.entry(last).or_default().push(index);
        }
        names
    }

    /// A name that was guarded against being taken for a formula comes first, as the program itself writes it, and
    /// blanks are left off last: on Linux a name may begin with one.
    fn find(&self, cell: &str) -> Option<usize> {
        let spellings = [unguarded(cell), cell, unguarded(cell.trim()), cell.trim()];
        let by_name = spellings.iter().find_map(|file| self.by_name(file));
        // Second, so that of two files whose names look the same the one that is meant is found.
        let composed = || spellings.iter().find_map(|f| self.by_name(&composed(f)));
        let by_path = || spellings.iter().find_map(|file| self.by_path(file));
        by_name.or_else(composed).or_else(by_path)
    }

    fn by_path(&self, file: &str) -> Option<usize> {
        let paths = self.paths.get_or_init(|| {
            let mut paths: HashMap<String, Vec<(PathBuf, usize)>> = HashMap::new();
            let photos = self.photos.iter().enumerate();
            for (index, photo) in photos.filter(|(_, photo)| !is_address(&photo.location)) {
                let path = identity(&photo.location);
                let alike = paths.entry(composed(&location_of(&path))).or_default();
                alike.push((path, index));
            }
            paths
        });
        let path = identity(&location_of(Path::new(file)));
        match &paths.get(&composed(&location_of(&path)))?[..] {
            [(_, only)] => Some(*only),
            alike => alike.iter().find(|(own, _)| *own == path).map(|(_, i)| *i),
        }
    }

    fn by_name(&self, file: &str) -> Option<usize> {
        // On Linux a name may hold the mark that parts folders elsewhere.
        if let Some(index) = self.whole.get(file) {
            return Some(*index);
        }
        let file = &file.trim_start_matches("./").replace('\\', "/");
        if let Some(index) = self.whole.get(file.as_str()) {
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
        assert_eq!(lily.files[0].0.location, NOWHERE);
        assert_eq!(rose.note.as_deref(), Some("foxed, torn"));
        assert_eq!(rose.files[1], (found("box/2.jpg"), Some(56.2)));
        let odd = [found("a\\b.jpg")];
        assert_eq!(Names::new(&odd).find("a\\b.jpg"), Some(0));
        assert!(grouped.amiss[0].contains("9.jpg"), "{grouped:?}");
        assert!(grouped.amiss[1].starts_with("1 photograph is not in the list"));
    }

    #[test]
    fn a_file_elsewhere_is_never_led_to_and_one_spelt_from_here_is_found() {
        let folder = tempfile::tempdir().unwrap();
        let file = |name: &str| folder.path().join(name).display().to_string();
        for name in ["in.jpg", "out.jpg"] {
            std::fs::write(file(name), name).unwrap();
        }
        let photo = Found {
            name: "in.jpg".into(),
            location: file("in.jpg"),
            stamp: "1-1".into(),
        };
        let csv = folder.path().join("sheets.csv");
        let text = format!(
            "sheet,file\nRose,{}\nLily,{}\n",
            file("in.jpg"),
            file("out.jpg")
        );
        std::fs::write(&csv, text).unwrap();
        let grouped = SheetList::read(&csv).unwrap().group(vec![photo.clone()]);
        let [lily, rose] = &grouped.sheets[..] else {
            panic!("{grouped:?}")
        };
        assert_eq!(rose.files, [(photo, None)]);
        assert_eq!(lily.files[0].0.location, "");
        assert!(grouped.amiss[0].contains("out.jpg"), "{grouped:?}");
        assert_eq!(grouped.amiss.len(), 1);
    }

    #[test]
    fn names_with_blanks_and_guards_are_found() {
        let folder = tempfile::tempdir().unwrap();
        let csv = folder.path().join("sheets.csv");
        let names = [
            " a.jpg",
            "a.jpg",
            "\tb.jpg",
            "=c.jpg",
            "'=d.jpg",
            "plain.jpg",
        ];
        std::fs::write(
            &csv,
            "sheet,file\n1,\" a.jpg\"\n2,a.jpg\n3,'\tb.jpg\n4,'=c.jpg\n5,'=d.jpg\n'=6, plain.jpg \n",
        )
        .unwrap();
        let grouped = SheetList::read(&csv)
            .unwrap()
            .group(names.map(found).to_vec());
        let mut files: Vec<(&str, &str)> = grouped
            .sheets
            .iter()
            .map(|s| (s.name.as_str(), s.files[0].0.name.as_str()))
            .collect();
        files.sort_unstable();
        let sheets = ["1", "2", "3", "4", "5", "=6"];
        assert_eq!(files, sheets.into_iter().zip(names).collect::<Vec<_>>());
        assert_eq!(grouped.amiss, [""; 0]);
    }

    #[test]
    fn lists_as_spreadsheets_save_them_are_read() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("sheets.csv");
        for text in [
            "\u{feff}Sheet;File;Note;px_per_mm\r\nRose;box\\1.jpg;foxed, torn;31,5\r\n",
            "SHEET\tfile\tpx_per_mm\nRose\tbox/1.jpg\t31,5\n",
        ] {
            std::fs::write(&file, text).unwrap();
            let grouped = SheetList::read(&file)
                .unwrap()
                .group(vec![found("box/1.jpg")]);
            assert_eq!(grouped.sheets[0].name, "Rose", "{text}");
            assert_eq!(
                grouped.sheets[0].files[0],
                (found("box/1.jpg"), Some(31.5)),
                "{text}"
            );
        }
    }

    #[test]
    fn lists_that_make_no_sense_are_refused() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("sheets.csv");
        for (text, said) in [
            ("plate,photo\na,b\n", "no column"),
            ("sheet,file\n,b\n", "line 2 names no sheet"),
            ("sheet,file\na\n", "line 2 names no file"),
            (
                "sheet,file,note,px_per_mm\na,b,,0\n",
                "line 2 has px_per_mm",
            ),
            // Without quotation marks the decimals would be lost, and 31 taken for the scale.
            (
                "sheet,file,note,px_per_mm\na,b,,31,5\n",
                "line 2 has more cells",
            ),
            ("sheet,file\n", "names no photographs"),
        ] {
            std::fs::write(&file, text).unwrap();
            let error = SheetList::read(&file).unwrap_err();
            assert!(
                error.contains("sheets.csv") && error.contains(said),
                "{error}"
            );
        }
    }
}
