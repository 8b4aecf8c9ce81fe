//! Tables of the user's, as the spreadsheets of all countries save them.

use std::path::Path;

/// A table with one row a line. Cells are found by their column's heading, in small or capital letters.
pub struct Spreadsheet {
    /// The file, as errors name it.
    file: String,
    headings: Vec<String>,
    rows: Vec<(u64, csv::StringRecord)>,
}

/// One line of a table.
pub struct Row<'a> {
    table: &'a Spreadsheet,
    number: u64,
    cells: &'a csv::StringRecord,
}

impl Spreadsheet {
    /// Reads a CSV file whose first line must name the columns `needed`; `wanted` says which there may be.
    /// Lines without any text are passed over.
    ///
    /// # Errors
    /// A sentence that names the file, what is wrong and what to do.
    pub fn read(file: &Path, needed: &[&str], wanted: &str) -> Result<Self, String> {
        let wrong = |why: String| format!("{}: {why}", file.display());
        let bytes = std::fs::read(file).map_err(|e| {
            wrong(format!(
                "cannot be read ({e}); check the path and permissions"
            ))
        })?;
        let text = String::from_utf8(bytes).map_err(|_| {
            wrong("is not in UTF-8; save it as \u{201c}CSV UTF-8\u{201d} in the spreadsheet".into())
        })?;
        let mut reader = reader(&text);
        let mut lines = reader.records();
        let headings = lines.next().and_then(Result::ok).unwrap_or_default();
        let mut table = Self {
            file: file.display().to_string(),
            headings: lower_case(&headings),
            rows: Vec::new(),
        };
        if let Some(missing) = needed.iter().find(|n| table.column(n).is_none()) {
            return Err(wrong(format!(
                "has no column \u{201c}{missing}\u{201d}; its first line must name the columns {wanted}"
            )));
        }
        for line in lines {
            let cells = line.map_err(|e| wrong(format!("cannot be read ({e})")))?;
            let number = cells.position().map_or(0, csv::Position::line);
            if cells
                .iter()
                .skip(table.headings.len())
                .any(|c| !c.trim().is_empty())
            {
                return Err(wrong(format!(
                    "line {number} has more cells than the first line names columns; put what holds the mark between the cells into quotation marks, such as \"31,5\""
                )));
            }
            if cells.iter().any(|cell| !cell.trim().is_empty()) {
                table.rows.push((number, cells));
            }
        }
        Ok(table)
    }

    /// Its lines below the headings.
    pub fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.rows.iter().map(|(number, cells)| Row {
            table: self,
            number: *number,
            cells,
        })
    }

    fn column(&self, heading: &str) -> Option<usize> {
        self.headings.iter().position(|h| h == heading)
    }
}

impl Row<'_> {
    /// The text under a heading without the blanks round it; none where it is empty.
    #[must_use]
    pub fn text(&self, heading: &str) -> Option<&str> {
        self.cell(heading).map(str::trim)
    }

    fn cell(&self, heading: &str) -> Option<&str> {
        let cell = self.cells.get(self.table.column(heading)?)?;
        Some(cell).filter(|text| !text.trim().is_empty())
    }

    /// The text under a heading that must be there, with the blanks round it: the name of a file may have some.
    ///
    /// # Errors
    /// As [`Row::needed`].
    pub fn as_written(&self, heading: &str) -> Result<&str, String> {
        self.needed(heading)?;
        Ok(self.cell(heading).unwrap_or_default())
    }

    /// The text under a heading that must be there.
    ///
    /// # Errors
    /// A sentence that names the file and the line.
    pub fn needed(&self, heading: &str) -> Result<&str, String> {
        self.text(heading)
            .ok_or_else(|| self.wrong(&format!("names no {heading}; fill that cell")))
    }

    /// The number above 0 under a heading, with a point or a comma before its decimals.
    ///
    /// # Errors
    /// As [`Row::needed`].
    pub fn above_zero(&self, heading: &str) -> Result<Option<f64>, String> {
        let Some(text) = self.text(heading) else {
            return Ok(None);
        };
        let number = text.replacen(',', ".", 1).parse::<f64>().ok();
        let number = number.filter(|n| n.is_finite() && *n > 0.0);
        number.map(Some).ok_or_else(|| {
            self.wrong(&format!(
                "has {heading} \u{201c}{text}\u{201d}; it must be a number above 0, such as 56.2 or 56,2"
            ))
        })
    }

    /// A sentence that names the file and the line.
    #[must_use]
    pub fn wrong(&self, why: &str) -> String {
        format!("{}: line {} {why}", self.table.file, self.number)
    }
}

/// First letters of what spreadsheets take for a formula (OWASP, "CSV Injection").
const FORMULAS_BEGIN: [char; 6] = ['=', '+', '-', '@', '\t', '\r'];

/// Whether a text begins as a formula does, behind any marks that guard it: what looks guarded is guarded once
/// more, so that each text can be told from every other when it is read back.
fn is_like_a_formula(text: &str) -> bool {
    text.trim_start_matches('\'').starts_with(FORMULAS_BEGIN)
}

/// The text so that no spreadsheet takes it for a formula: names and notes come from anyone.
#[must_use]
pub fn guarded(text: &str) -> String {
    match is_like_a_formula(text) {
        true => format!("'{text}"),
        false => text.to_owned(),
    }
}

/// The text behind the mark that [`guarded`] puts before it; without such a mark as it stands.
#[must_use]
pub fn unguarded(text: &str) -> &str {
    text.strip_prefix('\'')
        .filter(|rest| is_like_a_formula(rest))
        .unwrap_or(text)
}

/// The headings that a text has if it is a table: the cells of its first line, in small letters.
#[must_use]
pub fn headings(text: &str) -> Vec<String> {
    let first = reader(text).records().next();
    lower_case(&first.and_then(Result::ok).unwrap_or_default())
}

fn lower_case(cells: &csv::StringRecord) -> Vec<String> {
    cells
        .iter()
        .map(|heading| heading.trim().to_lowercase())
        .collect()
}

/// Some programs begin a file with a mark of its encoding.
fn reader(text: &str) -> csv::Reader<&[u8]> {
    let text = text.trim_start_matches('\u{feff}');
    csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter(text))
        .from_reader(text.as_bytes())
}

/// What parts the columns: the mark most used in the first line, as spreadsheets of some countries save
/// with semicolons.
fn delimiter(text: &str) -> u8 {
    let first = text.lines().next().unwrap_or_default();
    let used = |mark: u8| first.bytes().filter(|b| *b == mark).count();
    // The last of equals, so a comma where none is used.
    [b'\t', b';', b',']
        .into_iter()
        .max_by_key(|mark| used(*mark))
        .unwrap_or(b',')
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<Spreadsheet, String> {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("places.csv");
        std::fs::write(&file, text).unwrap();
        Spreadsheet::read(&file, &["place"], "place and px_per_mm")
    }

    #[test]
    fn cells_are_found_as_all_countries_save_them() {
        for text in [
            "place,px_per_mm\nrose,31.5\nlily,\n",
            "\u{feff}Place;PX_PER_MM\r\nrose;31,5\r\n;;\r\n lily ;\r\n",
            "note\tplace\tpx_per_mm\n\trose\t31,5\n\tlily\n",
            "px_per_mm,place\n\"31,5\",rose\n\n,lily\n",
        ] {
            let table = read(text).unwrap();
            let rows: Vec<_> = table.rows().collect();
            assert_eq!(rows.len(), 2, "{text}");
            assert_eq!(rows[0].above_zero("px_per_mm"), Ok(Some(31.5)), "{text}");
            assert_eq!(rows[1].needed("place"), Ok("lily"), "{text}");
            assert_eq!(rows[1].above_zero("px_per_mm"), Ok(None), "{text}");
        }
        assert_eq!(headings("Sheet;File\na;b"), ["sheet", "file"]);
    }

    #[test]
    fn what_is_wrong_is_said_with_the_line() {
        for (text, said) in [
            ("folder,px_per_mm\na,3\n", "no column \u{201c}place\u{201d}"),
            ("", "no column \u{201c}place\u{201d}"),
            (
                "place,px_per_mm\nrose,30\nlily,31,5\n",
                "line 3 has more cells",
            ),
        ] {
            let error = read(text).err().unwrap();
            assert!(
                error.contains("places.csv") && error.contains(said),
                "{error}"
            );
        }
        let table = read("place;px_per_mm\nrose;1.234,5\n;30\n").unwrap();
        let rows: Vec<_> = table.rows().collect();
        let error = rows[0].above_zero("px_per_mm").unwrap_err();
        for said in ["places.csv", "line 2", "1.234,5", "number above 0"] {
            assert!(error.contains(said), "{said} in {error}");
        }
        assert!(
            rows[1]
                .needed("place")
                .unwrap_err()
                .contains("line 3 names no place")
        );
    }
}
