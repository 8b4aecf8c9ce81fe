//! The table of measured specimens: what `inktell calibrate` measures, keeps and fits.

use super::outside::Outside;
use super::reading::{Colouring, Process};
use super::variety::Variety;
use std::collections::HashSet;
use std::path::{Path, PathBuf};

/// What a specimen of the table is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Subject {
    /// One of the five processes.
    Process(Process),
    /// Something outside the five that one of them is told from.
    Outside(Outside),
}

impl Subject {
    /// Everything that specimens are measured of.
    pub const ALL: [Self; 9] = [
        Self::Process(Process::StippleEngraving),
        Self::Process(Process::LineEngraving),
        Self::Process(Process::Lithograph),
        Self::Process(Process::TintedLithograph),
        Self::Process(Process::Halftone),
        Self::Outside(Outside::Relief),
        Self::Outside(Outside::Tonal),
        Self::Outside(Outside::Chromolithograph),
        Self::Outside(Outside::Cloth),
    ];

    /// Key in tables.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Process(process) => process.key(),
            Self::Outside(outside) => outside.key(),
        }
    }

    /// The subject with a key.
    #[must_use]
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|subject| subject.key() == key)
    }
}

/// One measured specimen.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Seed that drew it.
    pub seed: u64,
    /// What it truly is.
    pub subject: Subject,
    /// Its true colouring.
    pub colouring: Vec<Colouring>,
    /// For a reproduction: whether its spots are scattered (stochastic, inkjet) and not in rows.
    pub scattered: bool,
    /// For a tinted lithograph: share of the sheet under its tint, 0–1.
    pub tinted: Option<f64>,
    /// One value a finding, none where not measured.
    pub values: Vec<Option<f64>>,
}

/// Measured specimens, one a row.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Table {
    /// Keys of the findings: the columns.
    pub findings: Vec<String>,
    /// The specimens.
    pub rows: Vec<Row>,
}

/// Why a table could not be read or written.
#[derive(Debug, thiserror::Error)]
pub enum TableError {
    /// The file could not be opened, read or written.
    #[error("{}: {what}; make a table with `inktell calibrate measure`", file.display())]
    File {
        /// The file.
        file: PathBuf,
        /// What was wrong; told in the message, and so no source beside it.
        what: csv::Error,
    },
    /// It is something else than a table of measured specimens.
    #[error("{}: {what}; make a table with `inktell calibrate measure`", file.display())]
    Form {
        /// The file.
        file: PathBuf,
        /// What was wrong.
        what: String,
    },
    /// A row is not understood.
    #[error("{}: row {row}: {what}; measure the specimens again", file.display())]
    Row {
        /// The file.
        file: PathBuf,
        /// Row number as a spreadsheet shows it.
        row: usize,
        /// What was wrong.
        what: String,
    },
}

/// Columns before the findings.
const LEADING: [&str; 5] = ["seed", "process", "colouring", "scattered", "tinted"];
/// What stands under "scattered" where it is so; nothing where not.
const YES: &str = "yes";

impl Table {
    /// Its specimens of the five processes, with the variety of each.
    #[must_use]
    pub fn of_the_five(&self) -> (Self, Vec<Variety>) {
        let (rows, varieties) = self
            .rows
            .iter()
            .filter_map(|row| Some((row.clone(), Variety::of(row)?)))
            .unzip();
        let findings = self.findings.clone();
        (Self { findings, rows }, varieties)
    }

    /// Writes it as CSV; values to six significant digits, empty where not measured.
    ///
    /// # Errors
    /// When the file cannot be written.
    pub fn write(&self, file: &Path) -> Result<(), TableError> {
        self.write_csv(file).map_err(|what| TableError::File {
            file: file.to_owned(),
            what,
        })
    }

    fn write_csv(&self, file: &Path) -> Result<(), csv::Error> {
        let mut out = csv::Writer::from_path(file)?;
        out.write_record(
            LEADING
                .iter()
                .copied()
                .chain(self.findings.iter().map(String::as_str)),
        )?;
        for row in &self.rows {
            let colouring: Vec<&str> = row.colouring.iter().map(|c| c.key()).collect();
            let mut record = vec![
                row.seed.to_string(),
                row.subject.key().to_owned(),
                colouring.join("+"),
                if row.scattered { YES } else { "" }.to_owned(),
                number_or_nothing(row.tinted),
            ];
            record.extend(row.values.iter().copied().map(number_or_nothing));
            out.write_record(record)?;
        }
        Ok(out.flush()?)
    }

    /// Takes in another table of the same findings; a specimen measured again replaces the older row.
    ///
    /// # Errors
    /// When the findings differ.
    pub fn take_in(&mut self, newer: Self, file: &Path) -> Result<(), TableError> {
        if newer.findings != self.findings {
            return Err(TableError::Row {
                file: file.to_owned(),
                row: 1,
                what: "its findings are not those of the tables before it".to_owned(),
            });
        }
        let again: HashSet<u64> = newer.rows.iter().map(|row| row.seed).collect();
        self.rows.retain(|row| !again.contains(&row.seed));
        self.rows.extend(newer.rows);
        self.rows.sort_by_key(|row| row.seed);
        Ok(())
    }

    /// Reads what [`Table::write`] wrote.
    ///
    /// # Errors
    /// When the file cannot be read or a row is not understood.
    pub fn read(file: &Path) -> Result<Self, TableError> {
        let wrong_file = |what| TableError::File {
            file: file.to_owned(),
            what,
        };
        let mut input = csv::Reader::from_path(file).map_err(wrong_file)?;
        let wrong_form = |what: String| TableError::Form {
            file: file.to_owned(),
            what,
        };
        let headers = input.headers().map_err(wrong_file)?;
        if headers.iter().take(LEADING.len()).ne(LEADING) {
            let asked = LEADING.join(", ");
            return Err(wrong_form(format!("its columns do not begin with {asked}")));
        }
        let findings = headers
            .iter()
            .skip(LEADING.len())
            .map(str::to_owned)
            .collect();
        let mut rows = Vec::new();
        for (i, record) in input.records().enumerate() {
            rows.push(
                row(&record.map_err(wrong_file)?).map_err(|what| TableError::Row {
                    file: file.to_owned(),
                    row: i + 2,
                    what,
                })?,
            );
        }
        if rows.is_empty() {
            return Err(wrong_form("it holds no specimen".into()));
        }
        Ok(Self { findings, rows })
    }
}

/// The shortest text of the value rounded to six significant digits; empty where there is none.
fn number_or_nothing(value: Option<f64>) -> String {
    value.map_or_else(String::new, |value| {
        let rounded = format!("{value:.5e}").parse::<f64>();
        rounded.unwrap_or(value).to_string()
    })
}

fn row(record: &csv::StringRecord) -> Result<Row, String> {
    let field = |i: usize| record.get(i).ok_or("too few columns");
    let number = |text: &str| match text {
        "" => Ok(None),
        _ => text
            .parse::<f64>()
            .map(Some)
            .map_err(|_| format!("{text} is no number")),
    };
    Ok(Row {
        seed: field(0)?
            .parse()
            .map_err(|_| "the seed is no whole number")?,
        subject: Subject::from_key(field(1)?).ok_or("unknown process")?,
        colouring: field(2)?
            .split('+')
            .map(|key| Colouring::from_key(key).ok_or("unknown colouring"))
            .collect::<Result<_, _>>()?,
        scattered: field(3)? == YES,
        tinted: number(field(4)?)?,
        values: record
            .iter()
            .skip(LEADING.len())
            .map(number)
            .collect::<Result<_, _>>()?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn another_file_and_an_empty_table_are_no_tables() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("other.csv");
        for (text, told) in [
            ("hello\n", "its columns do not begin with seed"),
            (
                "seed,process,colouring,scattered,tinted,a\n",
                "it holds no specimen",
            ),
        ] {
            std::fs::write(&file, text).unwrap();
            let error = Table::read(&file).unwrap_err().to_string();
            assert!(
                error.contains("other.csv") && error.contains(told),
                "{error}"
            );
        }
    }

    #[test]
    fn a_table_comes_back_as_it_was_written() {
        let table = Table {
            findings: vec!["a".into(), "b".into()],
            rows: vec![
                Row {
                    seed: 7,
                    subject: Subject::Process(Process::Halftone),
                    colouring: vec![Colouring::ProcessColour],
                    scattered: true,
                    tinted: None,
                    values: vec![Some(0.125), None],
                },
                Row {
                    seed: 9,
                    subject: Subject::Outside(Outside::Tonal),
                    colouring: vec![Colouring::None],
                    scattered: false,
                    tinted: None,
                    values: vec![Some(2.0), Some(0.5)],
                },
                Row {
                    seed: 8,
                    subject: Subject::Outside(Outside::Relief),
                    colouring: vec![Colouring::PrintedTint, Colouring::HandWash],
                    scattered: false,
                    tinted: Some(0.75),
                    values: vec![None, Some(-3.5e-7)],
                },
            ],
        };
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("table.csv");
        table.write(&file).unwrap();
        assert_eq!(Table::read(&file).unwrap(), table);
    }
}
