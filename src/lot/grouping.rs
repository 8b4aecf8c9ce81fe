//! Photographs → sheets.

mod alike;
mod boxes;
mod sheet_list;
mod usual;

pub use boxes::MOST_OF_ONE_SHEET;
pub use sheet_list::{SheetLine, SheetList};

use alike::OnDisk;

use super::natural;
use super::pattern::Pattern;
use super::source::Found;
use super::task::folder_of;
use std::collections::{BTreeMap, BTreeSet};

/// How photographs are put together to sheets.
#[derive(Clone, Debug, PartialEq)]
pub enum Grouping {
    /// By sub-folder; a folder that is a box of sheets, and the top, by names.
    Usual,
    /// Each folder is a sheet.
    Folder,
    /// By the sheet's name inside the file's name.
    Name(Pattern),
    /// Each file is a sheet of its own.
    File,
    /// By the user's list.
    Sheets(SheetList),
}

/// One sheet with its files, in natural order.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// Its name, unique in the lot.
    pub name: String,
    /// The user's note.
    pub note: Option<String>,
    /// Its files, each with the scale stated for it in the user's list.
    pub files: Vec<(Found, Option<f64>)>,
}

/// The sheets of a lot.
#[derive(Clone, Debug, PartialEq)]
pub struct Grouped {
    /// In natural order.
    pub sheets: Vec<Sheet>,
    /// How they were put together, as a clause.
    pub how: String,
    /// What the user should know of it, as sentences.
    pub notices: Vec<String>,
    /// What was asked for and is not so, as sentences.
    pub amiss: Vec<String>,
}

/// Puts photographs together to sheets.
#[must_use]
pub fn group(mut photos: Vec<Found>, grouping: &Grouping) -> Grouped {
    let on_disk = OnDisk::of(&mut photos);
    let mut grouped = by(photos, grouping);
    on_disk.put_back(&mut grouped.sheets);
    grouped
        .notices
        .extend(alike::told_apart(&mut grouped.sheets));
    in_order(&mut grouped.sheets);
    grouped
}

fn in_order(sheets: &mut [Sheet]) {
    sheets.sort_by(|a, b| natural::compare(&a.name, &b.name));
}

fn by(photos: Vec<Found>, grouping: &Grouping) -> Grouped {
    match grouping {
        Grouping::Sheets(list) => list.group(photos),
        Grouping::Usual => usual::group(photos),
        Grouping::Folder => by_name(photos, "by folder", |f| match folder_of(f) {
            "" => "(top folder)".to_owned(),
            folder => folder.to_owned(),
        }),
        Grouping::File => by_name(photos, "each file a sheet of its own", str::to_owned),
        Grouping::Name(pattern) => {
            let unmatched = photos
                .iter()
                .filter(|f| pattern.sheet(stem(&f.name)).is_none())
                .count();
            let mut grouped = by_name(photos, "by the pattern given for file names", |f| {
                in_folder(f, pattern.sheet(stem(f)).unwrap_or(stem(f)))
            });
            grouped.amiss.extend(match unmatched {
                0 => None,
                1 => Some("1 file name does not fit the pattern; it is taken as a sheet.".into()),
                n => Some(format!(
                    "{n} file names do not fit the pattern; each such name is taken as a sheet."
                )),
            });
            grouped
        }
    }
}

/// Large and small letters of a file's name make one sheet, which has its name as it is first written.
fn by_name(photos: Vec<Found>, how: &str, name: impl Fn(&str) -> String) -> Grouped {
    let apart = kept_apart(&photos, &name);
    let mut sheets: BTreeMap<String, Sheet> = BTreeMap::new();
    for photo in photos {
        let name = name(&photo.name);
        let key = key(&photo.name, &name);
        let key = if apart.contains(&key) {
            name.clone()
        } else {
            key
        };
        let sheet = sheets.entry(key).or_insert_with(|| Sheet {
            name,
            note: None,
            files: Vec::new(),
        });
        sheet.files.push((photo, None));
    }
    Grouped::new(sheets.into_values().collect(), how)
}

/// What names of sheets are compared by: small letters, but for the folder. Folders that lie beside each other and
/// differ by that alone are kept apart by who made them.
fn key(file: &str, sheet: &str) -> String {
    let folder = folder_of(file);
    match sheet.strip_prefix(folder) {
        Some(own) => format!("{folder}{}", own.to_lowercase()),
        None => sheet.to_lowercase(),
    }
}

/// Keys of sheets that large and small letters tell apart: where two files differ by these alone (`a1.jpg`,
/// `A1.jpg`), whoever named them made a difference of it.
fn kept_apart(photos: &[Found], name: impl Fn(&str) -> String) -> BTreeSet<String> {
    let mut first: BTreeMap<String, &str> = BTreeMap::new();
    let mut apart = BTreeSet::new();
    for photo in photos {
        let other = *first
            .entry(key(&photo.name, &photo.name))
            .or_insert(&photo.name);
        let sheet = name(&photo.name);
        if name(other) != sheet {
            apart.insert(key(&photo.name, &sheet));
        }
    }
    apart
}

impl Grouped {
    fn new(mut sheets: Vec<Sheet>, how: &str) -> Self {
        for sheet in &mut sheets {
            sheet
                .files
                .sort_by(|a, b| natural::compare(&a.0.name, &b.0.name));
        }
        in_order(&mut sheets);
        Self {
            sheets,
            how: how.to_owned(),
            notices: Vec::new(),
            amiss: Vec::new(),
        }
    }
}

fn in_folder(file: &str, sheet: &str) -> String {
    match folder_of(file) {
        "" => sheet.to_owned(),
        folder => format!("{folder}/{sheet}"),
    }
}

/// The file's name without folder and ending.
fn stem(name: &str) -> &str {
    let file = name.rsplit('/').next().unwrap_or(name);
    match file.rsplit_once('.') {
        Some((stem, _)) if !stem.is_empty() => stem,
        _ => file,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(names: &[&str]) -> Vec<Found> {
        names
            .iter()
            .map(|name| Found {
                name: (*name).to_owned(),
                location: format!("/x/{name}"),
                stamp: String::new(),
            })
            .collect()
    }

    fn sheets(names: &[&str], grouping: &Grouping) -> Vec<(String, usize)> {
        group(found(names), grouping)
            .sheets
            .into_iter()
            .map(|s| (s.name, s.files.len()))
            .collect()
    }

    fn named(pairs: &[(&str, usize)]) -> Vec<(String, usize)> {
        pairs.iter().map(|(n, c)| ((*n).to_owned(), *c)).collect()
    }

    #[test]
    fn sub_folders_are_sheets_and_names_group_at_the_top() {
        let names = [
            "plate-10a.jpg",
            "plate-2/x.jpg",
            "plate-2/y.jpg",
            "plate-10b.jpg",
            "plate-11.jpg",
        ];
        assert_eq!(
            sheets(&names, &Grouping::Usual),
            named(&[("plate-2", 2), ("plate-10", 2), ("plate-11", 1)])
        );
    }

    #[test]
    fn a_full_folder_or_one_with_groups_of_names_is_a_box() {
        let many: Vec<String> = (1..=14).map(|n| format!("dcim/IMG_{n:04}.jpg")).collect();
        let many: Vec<&str> = many.iter().map(String::as_str).collect();
        assert_eq!(sheets(&many, &Grouping::Usual).len(), 14);
        let groups = [
            "box/rose_a.jpg",
            "box/rose_b.jpg",
            "box/lily_a.jpg",
            "box/lily_b.jpg",
        ];
        assert_eq!(
            sheets(&groups, &Grouping::Usual),
            named(&[("box/lily", 2), ("box/rose", 2)])
        );
    }

    #[test]
    fn boxes_are_named_with_the_reason() {
        let mut names: Vec<String> = (1..=13).map(|n| format!("rose/IMG_{n:04}.jpg")).collect();
        names.extend(["rose/rule.jpg".to_owned(), "lily/1.jpg".to_owned()]);
        for sheet in ["7", "8"] {
            names.extend(["a", "b"].map(|letter| format!("tin/plate-{sheet}{letter}.jpg")));
        }
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let [number, groups] = &group(found(&names), &Grouping::Usual).notices[..] else {
            panic!("two notices")
        };
        for said in [
            "more than 12",
            "rose (13 photographs, 13 sheets)",
            "--group folder",
        ] {
            assert!(number.contains(said), "{said} in {number}");
        }
        assert!(groups.contains("file names form groups: tin (4 photographs, 2 sheets)"));
        assert!(group(found(&names), &Grouping::Folder).notices.is_empty());
    }

    #[test]
    fn one_group_beside_other_numbers_is_a_box_and_beside_other_words_is_not() {
        let plates = ["b/plate-12a.jpg", "b/plate-12b.jpg", "b/plate-13a.jpg"];
        assert_eq!(
            sheets(&plates, &Grouping::Usual),
            named(&[("b/plate-12", 2), ("b/plate-13", 1)])
        );
        let parts = ["rose/head_a.jpg", "rose/head_b.jpg", "rose/border_a.jpg"];
        assert_eq!(sheets(&parts, &Grouping::Usual), named(&[("rose", 3)]));
    }

    #[test]
    fn a_number_in_brackets_is_a_copys_only_beside_what_was_copied() {
        let copied = ["rose.jpg", "rose (2).jpg", "rose (3).png"];
        assert_eq!(sheets(&copied, &Grouping::Usual), named(&[("rose", 3)]));
        let renamed: Vec<String> = (1..=14).map(|n| format!("Print ({n}).jpg")).collect();
        let renamed: Vec<&str> = renamed.iter().map(String::as_str).collect();
        assert_eq!(sheets(&renamed, &Grouping::Usual).len(), 14);
        // The plain one must lie beside it, not elsewhere.
        let apart = ["box/Print.jpg", "Print (1).jpg", "Print (2).jpg"];
        assert_eq!(sheets(&apart, &Grouping::Usual).len(), 3);
    }

    #[test]
    fn names_alone_make_no_sheet_of_more_than_anyone_photographs() {
        for folder in ["", "box/"] {
            let letters: Vec<String> = ('A'..='N')
                .map(|l| format!("{folder}Plate {l}.jpg"))
                .collect();
            let letters: Vec<&str> = letters.iter().map(String::as_str).collect();
            let grouped = group(found(&letters), &Grouping::Usual);
            assert_eq!(grouped.sheets.len(), 14);
            let said = grouped.notices.join(" ");
            assert!(
                said.contains(&format!("{folder}Plate (14 photographs)")),
                "{said}"
            );
            assert_eq!(sheets(&letters[..12], &Grouping::Usual).len(), 1);
        }
        let few = group(found(&["Plate A.jpg", "Plate B.jpg"]), &Grouping::Usual);
        assert_eq!(few.sheets.len(), 1);
        let said = few.notices.join(" ");
        assert!(
            said.contains("Plate (2 photographs)") && said.contains("--group file"),
            "{said}"
        );
    }

    #[test]
    fn large_and_small_letters_make_one_sheet_unless_the_disk_keeps_them_apart() {
        let mixed = ["Plate-7a.jpg", "plate-7b.jpg", "PLATE-7C.JPG"];
        let [(_, 3)] = sheets(&mixed, &Grouping::Usual)[..] else {
            panic!("{:?}", sheets(&mixed, &Grouping::Usual))
        };
        let pattern = Grouping::Name(Pattern::parse("{sheet}_#").unwrap());
        let mixed = ["box/Rose_1.jpg", "box/rose_2.jpg"];
        assert_eq!(sheets(&mixed, &pattern), named(&[("box/Rose", 2)]));
        let tin = [
            "tin/Iris-7a.jpg",
            "tin/iris-7b.jpg",
            "tin/Iris-8a.jpg",
            "tin/iris-8b.jpg",
        ];
        assert_eq!(
            sheets(&tin, &Grouping::Usual),
            named(&[("tin/Iris-7", 2), ("tin/Iris-8", 2)])
        );
        for kept in [["a1.jpg", "A1.jpg"], ["Rose/1.jpg", "rose/2.jpg"]] {
            for grouping in [Grouping::Usual, Grouping::File, Grouping::Folder] {
                let apart = sheets(&kept, &grouping).len();
                let one_folder = grouping == Grouping::Folder && !kept[0].contains('/');
                assert_eq!(apart, if one_folder { 1 } else { 2 }, "{kept:?}");
            }
        }
    }

    #[test]
    fn other_groupings_do_as_they_are_told() {
        let names = ["box/rose_1.jpg", "box/rose_2.jpg", "lily.jpg"];
        assert_eq!(
            sheets(&names, &Grouping::Folder),
            named(&[("(top folder)", 1), ("box", 2)])
        );
        assert_eq!(sheets(&names, &Grouping::File).len(), 3);
        let pattern = Grouping::Name(Pattern::parse("{sheet}_#").unwrap());
        let grouped = group(found(&names), &pattern);
        assert_eq!(grouped.sheets[0].name, "box/rose");
        assert_eq!(grouped.sheets[1].name, "lily");
        assert!(grouped.amiss[0].starts_with("1 file name does not fit"));
        let strange = group(found(&["a.jpg", "b.jpg"]), &pattern);
        assert!(strange.amiss[0].starts_with("2 file names do not fit"));
    }
}
