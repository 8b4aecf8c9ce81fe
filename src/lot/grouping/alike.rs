//! Names that look the same: of files, which make one sheet in whichever way they are spelt; of sheets, which are numbered.

use super::Sheet;
use crate::lot::source::Found;
use crate::lot::spelling::{as_seen, composed};
use crate::lot::task::folder_of;
use crate::report::words;
use std::collections::{HashMap, HashSet};

/// Names of files as they are on the disk, by where the files are read.
pub(super) struct OnDisk(HashMap<String, String>);

impl OnDisk {
    /// Composes the names of photographs, but where two files would then have one name: those keep theirs, and where
    /// it is their folders that look the same, so does all that lies in these.
    pub(super) fn of(photos: &mut [Found]) -> Self {
        let mut first: HashMap<String, usize> = HashMap::new();
        let (mut files, mut folders) = (HashSet::new(), HashSet::new());
        for (index, photo) in photos.iter().enumerate() {
            let name = composed(&photo.name);
            let other = *first.entry(name.clone()).or_insert(index);
            if other == index {
                continue;
            }
            if folder_of(&photos[other].name) != folder_of(&photo.name) {
                folders.insert(folder_of(&name).to_owned());
            }
            files.insert(name);
        }
        let mut on_disk = HashMap::new();
        for photo in photos {
            let name = composed(&photo.name);
            if files.contains(&name) || folders.contains(folder_of(&name)) {
                continue;
            }
            let own = std::mem::replace(&mut photo.name, name);
            on_disk.insert(photo.location.clone(), own);
        }
        Self(on_disk)
    }

    /// Gives the files of sheets the names that they have on the disk.
    pub(super) fn put_back(mut self, sheets: &mut [Sheet]) {
        for (found, _) in sheets.iter_mut().flat_map(|sheet| &mut sheet.files) {
            if let Some(own) = self.0.get_mut(&found.location) {
                found.name.clone_from(own);
            }
        }
    }
}

/// Leaves off the blanks round the names of sheets, which a list of sheets has not either, and numbers those that
/// then look the same. Returns a sentence on these.
pub(super) fn told_apart(sheets: &mut [Sheet]) -> Option<String> {
    let as_seen = |sheet: &Sheet| {
        let whole = || sheet.files.first().map(|(found, _)| as_seen(&found.name));
        Some(as_seen(&sheet.name))
            .filter(|name| !name.is_empty())
            .or_else(whole)
            .unwrap_or_default()
    };
    let (plain, others): (Vec<&mut Sheet>, Vec<&mut Sheet>) = sheets
        .iter_mut()
        .partition(|sheet| as_seen(sheet) == sheet.name);
    let mut taken: HashSet<String> = plain.into_iter().map(|sheet| sheet.name.clone()).collect();
    let mut numbered = Vec::new();
    for sheet in others {
        let own = as_seen(sheet);
        let mut name = own.clone();
        let mut number = 2;
        while !taken.insert(name.clone()) {
            name = format!("{own} ({number})");
            number += 1;
        }
        if name != own {
            numbered.push(name.clone());
        }
        sheet.name = name;
    }
    (!numbered.is_empty()).then(|| {
        format!(
            "Numbered, for another sheet's name looks the same and has other blanks round it or its accents spelt in another way: {}.",
            words::list(&numbered)
        )
    })
}

#[cfg(test)]
mod tests {
    use super::super::{Grouping, SheetList, group};
    use super::*;
    use crate::lot::pattern::Pattern;

    const AS_ONE: &str = "K\u{e4}fer";
    const APART: &str = "Ka\u{308}fer";

    fn found(names: &[String]) -> Vec<Found> {
        let names = names.iter().enumerate();
        names
            .map(|(n, name)| Found {
                name: name.clone(),
                location: format!("/x/{n}/{name}"),
                stamp: String::new(),
            })
            .collect()
    }

    /// Names of the sheets with those of their files.
    fn sheets(photos: &[Found], grouping: &Grouping) -> Vec<(String, Vec<String>)> {
        let grouped = group(photos.to_vec(), grouping);
        let files = |sheet: &Sheet| sheet.files.iter().map(|(f, _)| f.name.clone()).collect();
        let sheets = grouped.sheets.iter();
        sheets.map(|s| (s.name.clone(), files(s))).collect()
    }

    fn list(text: &str) -> Grouping {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("sheets.csv");
        std::fs::write(&file, text).unwrap();
        Grouping::Sheets(SheetList::read(&file).unwrap())
    }

    #[test]
    fn names_spelt_in_two_ways_make_one_sheet_of_files_as_they_are() {
        let at_the_top = [format!("{APART}-1a.jpg"), format!("{AS_ONE}-1b.jpg")];
        let in_folders = [format!("{APART}/1.jpg"), format!("{AS_ONE}/2.jpg")];
        let box_of_sheets: Vec<String> = (1..=14)
            .map(|n| format!("{}/{n:02}.jpg", if n % 2 == 0 { APART } else { AS_ONE }))
            .collect();
        let pattern = Grouping::Name(Pattern::parse(&format!("{APART}?{{sheet}}#?")).unwrap());
        for (names, grouping, sheet) in [
            (&at_the_top, &Grouping::Usual, format!("{AS_ONE}-1")),
            (&in_folders, &Grouping::Usual, AS_ONE.to_owned()),
            (&in_folders, &Grouping::Folder, AS_ONE.to_owned()),
        ] {
            let made = sheets(&found(names), grouping);
            assert_eq!(made, [(sheet, names.to_vec())]);
        }
        assert_eq!(sheets(&found(&box_of_sheets), &Grouping::Usual).len(), 14);
        let names = [format!("{APART}-x1a.jpg"), format!("{AS_ONE}-x2b.jpg")];
        assert_eq!(
            sheets(&found(&names), &pattern),
            [("x".into(), names.to_vec())]
        );
    }

    #[test]
    fn two_files_of_one_look_stay_two_and_their_sheets_are_told_apart() {
        for names in [
            [format!("{APART}.jpg"), format!("{AS_ONE}.jpg")],
            [format!("{APART}/1.jpg"), format!("{AS_ONE}/1.jpg")],
        ] {
            let grouped = group(found(&names), &Grouping::Usual);
            let made = sheets(&found(&names), &Grouping::Usual);
            let [(first, of_first), (second, of_second)] = &made[..] else {
                panic!("{made:?}")
            };
            assert_eq!([first, second], [AS_ONE, &format!("{AS_ONE} (2)")]);
            assert_eq!([&of_first[0], &of_second[0]], [&names[1], &names[0]]);
            assert!(grouped.notices[0].contains("looks the same"), "{grouped:?}");
        }
        // What lies in folders that look the same stays with its folder.
        let mut names = [APART, AS_ONE]
            .map(|folder| format!("{folder}/1.jpg"))
            .to_vec();
        names.push(format!("{APART}/2.jpg"));
        let sizes: Vec<usize> = sheets(&found(&names), &Grouping::Usual)
            .iter()
            .map(|(_, files)| files.len())
            .collect();
        assert_eq!(sizes, [1, 2]);
    }

    #[test]
    fn names_of_sheets_have_no_blanks_round_them_and_stay_apart() {
        let names = [" a.jpg", "a.jpg", "a .jpg", "b .jpg", " .jpg"].map(str::to_owned);
        let photos = found(&names);
        let mut made: Vec<String> = sheets(&photos, &Grouping::Usual)
            .into_iter()
            .map(|(name, _)| name)
            .collect();
        made.sort();
        assert_eq!(made, [".jpg", "a", "a (2)", "a (3)", "b"]);
        // A list is read without the blanks: given back, the sheets must be the same.
        let mut written = String::from("sheet,file\n");
        for (sheet, files) in sheets(&photos, &Grouping::Usual) {
            written.push_str(&format!("{sheet},\"{}\"\n", files[0]));
        }
        let again = sheets(&photos, &list(&written));
        assert_eq!(again, sheets(&photos, &Grouping::Usual));
    }

    #[test]
    fn a_list_finds_files_however_they_are_spelt_and_the_very_one_first() {
        let photos = found(&[format!("box/{APART}-1.jpg"), format!("box/{AS_ONE}-2.jpg")]);
        for (one, other) in [(AS_ONE, APART), (APART, AS_ONE)] {
            let text = format!("sheet,file\n{one},box/{one}-1.jpg\n{other},{other}-2.jpg\n");
            let grouped = group(photos.clone(), &list(&text));
            assert_eq!(grouped.notices, [""; 0]);
            assert_eq!(grouped.sheets.len(), 1);
            let files = &grouped.sheets[0].files;
            assert_eq!(files[0].0, photos[0]);
            assert_eq!(files[1].0, photos[1]);
        }
        let twins = found(&[format!("{APART}.jpg"), format!("{AS_ONE}.jpg")]);
        let made = sheets(
            &twins,
            &list(&format!("sheet,file\n1,{APART}.jpg\n2,{AS_ONE}.jpg\n")),
        );
        assert_eq!(made[0].1, [twins[0].name.clone()]);
        assert_eq!(made[1].1, [twins[1].name.clone()]);
    }
}
