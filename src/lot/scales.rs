//! What is known of the photographs' scale: stated for a file, a sheet or a folder; measured on a rule.

use super::spelling::composed;
use super::spreadsheet::Spreadsheet;
use super::task::{folder_of, holds};
use std::collections::BTreeMap;
use std::path::Path;

/// Scales stated by the user, px/mm, by the name of a file, a sheet or a folder.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StatedScales {
    by_place: BTreeMap<String, f64>,
}

impl StatedScales {
    /// Reads a CSV file with the columns `place` and `px_per_mm`.
    ///
    /// # Errors
    /// A sentence that names the file and the line.
    pub fn read(file: &Path) -> Result<Self, String> {
        let table = Spreadsheet::read(file, &["place", "px_per_mm"], "place and px_per_mm")?;
        let mut scales = Self::default();
        for row in table.rows() {
            let place = row.needed("place")?;
            let px_per_mm = row.above_zero("px_per_mm")?;
            let missing = || row.wrong("states no px_per_mm; fill that cell, or take the line out");
            scales.state(place, px_per_mm.ok_or_else(missing)?)?;
        }
        if scales.by_place.is_empty() {
            return Err(format!(
                "{}: states no scales, only headings; write a line for each place, with its px_per_mm",
                file.display()
            ));
        }
        Ok(scales)
    }

    /// States the scale of a place.
    ///
    /// # Errors
    /// A clause when it is not a number above 0.
    pub fn state(&mut self, place: &str, px_per_mm: f64) -> Result<(), String> {
        if !(px_per_mm.is_finite() && px_per_mm > 0.0) {
            return Err(format!("the scale of {place} must be a number above 0"));
        }
        self.by_place
            .insert(composed(place.trim_matches('/')), px_per_mm);
        Ok(())
    }

    /// The scale stated for a file, else for its sheet, else for the innermost folder round it.
    #[must_use]
    pub fn of(&self, file: &str, sheet: &str) -> Option<f64> {
        let mut places = vec![file, sheet];
        let mut folder = folder_of(file);
        while !folder.is_empty() {
            places.push(folder);
            folder = folder_of(folder);
        }
        places
            .into_iter()
            .find_map(|place| self.by_place.get(&composed(place)).copied())
    }

    /// Places that are neither a file, nor a sheet, nor a folder of the lot.
    #[must_use]
    pub fn unknown_places<'a>(&'a self, files_and_sheets: &[(&str, &str)]) -> Vec<&'a str> {
        let names: Vec<(String, String)> = files_and_sheets
            .iter()
            .map(|(file, sheet)| (composed(file), composed(sheet)))
            .collect();
        let known = |place: &str| {
            names
                .iter()
                .any(|(file, sheet)| place == file || place == sheet || holds(place, file))
        };
        let places = self.by_place.keys().map(String::as_str);
        places.filter(|place| !known(place)).collect()
    }
}

/// Words that say, in the name of a file, that it shows a rule.
const RULE_WORDS: [&str; 14] = [
    "rule",
    "ruler",
    "scale",
    "graticule",
    "micrometer",
    "micrometre",
    "millimeter",
    "millimetre",
    "lineal",
    "liniaal",
    "massstab",
    "maßstab",
    "righello",
    "réglet",
];

/// Words that say so only where nothing but numbers, single letters and such words stand beside them: a
/// print may be called "La Scala" or "Riga", or have its size in its name.
const RULE_WORDS_ALONE: [&str; 9] = [
    "mm", "règle", "regle", "échelle", "echelle", "scala", "riga", "regla", "escala",
];

/// Whether a file's name says that it shows a rule. The graduations decide; the name only saves
/// looking for them on every photograph.
#[must_use]
pub fn is_rule_name(name: &str) -> bool {
    let file = name.rsplit('/').next().unwrap_or(name);
    let stem = file.rsplit_once('.').map_or(file, |(stem, _)| stem);
    let stem = composed(stem).to_lowercase();
    let words = || {
        let words = stem.split(|c: char| !c.is_alphabetic());
        words.filter(|word| !word.is_empty())
    };
    let is_alone = |word: &str| RULE_WORDS_ALONE.contains(&word);
    words().any(|word| RULE_WORDS.contains(&word))
        || words().any(is_alone) && words().all(|word| is_alone(word) || is_one_letter(word))
}

fn is_one_letter(word: &str) -> bool {
    word.chars().count() == 1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_statement_counts() {
        let mut scales = StatedScales::default();
        for (place, scale) in [
            ("box", 20.0),
            ("box/plate-2", 30.0),
            ("box/plate-2/c.jpg", 40.0),
            ("rose", 50.0),
        ] {
            scales.state(place, scale).unwrap();
        }
        assert_eq!(scales.of("box/plate-1/a.jpg", "box/plate-1"), Some(20.0));
        assert_eq!(scales.of("box/plate-2/b.jpg", "box/plate-2"), Some(30.0));
        assert_eq!(scales.of("box/plate-2/c.jpg", "box/plate-2"), Some(40.0));
        assert_eq!(scales.of("x.jpg", "rose"), Some(50.0));
        assert_eq!(scales.of("x.jpg", "x"), None);
        assert!(scales.state("x", f64::NAN).is_err());
        assert_eq!(
            scales.unknown_places(&[("box/plate-2/c.jpg", "box/plate-2")]),
            ["rose"]
        );
    }

    #[test]
    fn places_are_known_however_their_accents_are_spelt() {
        for (stated, on_disk) in [
            ("Ka\u{308}fer", "K\u{e4}fer"),
            ("K\u{e4}fer", "Ka\u{308}fer"),
        ] {
            let mut scales = StatedScales::default();
            scales.state(stated, 30.0).unwrap();
            let file = format!("{on_disk}/1.jpg");
            assert_eq!(scales.of(&file, "x"), Some(30.0));
            assert_eq!(scales.unknown_places(&[(&file, "x")]), [""; 0]);
        }
    }

    #[test]
    fn statements_as_spreadsheets_save_them_are_read() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("scales.csv");
        for text in [
            "place,px_per_mm\nbox,40.5\n",
            "\u{feff}Place;PX_PER_MM\r\nbox;40,5\r\n;\r\n",
            "place\tpx_per_mm\nbox\t40,5\n",
        ] {
            std::fs::write(&file, text).unwrap();
            let scales = StatedScales::read(&file).unwrap();
            assert_eq!(scales.of("box/a.jpg", "box"), Some(40.5), "{text}");
        }
        for (text, said) in [
            (
                "place;scale\nbox;40\n",
                "no column \u{201c}px_per_mm\u{201d}",
            ),
            ("place;px_per_mm\nbox;forty\n", "line 2 has px_per_mm"),
            ("place;px_per_mm\nbox;\n", "line 2 states no px_per_mm"),
            ("place;px_per_mm\n;40\n", "line 2 names no place"),
            ("place;px_per_mm\n", "states no scales"),
        ] {
            std::fs::write(&file, text).unwrap();
            let error = StatedScales::read(&file).unwrap_err();
            assert!(
                error.contains("scales.csv") && error.contains(said),
                "{error}"
            );
        }
    }

    #[test]
    fn names_of_rules_are_whole_words() {
        for name in [
            "rule.jpg",
            "box/10x_Ruler_2.JPG",
            "scale-10x.png",
            "mm.jpg",
            "Lineal.jpg",
            "MASSSTAB 2.jpg",
            "USB-Maßstab.jpg",
            "Règle.jpg",
            "re\u{301}glet.jpg",
            "USB-Ma\u{df}stab Ka\u{308}fer.jpg",
            "re\u{300}gle_10x.jpg",
            "E\u{301}chelle.jpg",
            "scala-2.jpg",
            "riga mm.jpg",
            "ESCALA.JPG",
        ] {
            assert!(is_rule_name(name), "{name}");
        }
        for name in [
            "ferrule.jpg",
            "rules/rose.jpg",
            "hammer.jpg",
            "10mmx.jpg",
            "La Scala di Milano.jpg",
            "riga-harbour-01a.jpg",
            "La règle du jeu.jpg",
            "rose 120x80 mm.jpg",
            "lineale.jpg",
        ] {
            assert!(!is_rule_name(name), "{name}");
        }
    }
}
