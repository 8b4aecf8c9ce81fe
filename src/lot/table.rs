//! The table of a lot: one row a sheet, the same columns in CSV and Parquet.

use super::order::{Ranked, Standing};
use super::record::{Record, ScreenSeen};
use super::spreadsheet::guarded;
use crate::report::figures;
use crate::report::json::round;
use crate::weigh::Process;
use std::io;

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Text, or nothing.
    Text,
    /// A number, or nothing.
    Number,
    /// A whole number.
    Whole,
    /// Yes or no.
    Flag,
}

/// A value of the table.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Text, or nothing.
    Text(Option<String>),
    /// A number to six significant digits, or nothing.
    Number(Option<f64>),
    /// A whole number.
    Whole(i64),
    /// Yes or no.
    Flag(bool),
}

/// Name, kind and meaning of each column. Names and meanings are kept; new columns go to the end.
pub const COLUMNS: &[(&str, Kind, &str)] = &[
    (
        "rank",
        Kind::Whole,
        "place in the order in which to look at the sheets, from 1",
    ),
    ("sheet", Kind::Text, "name of the sheet"),
    (
        "standing",
        Kind::Text,
        "likely-reproduction, doubtful, photograph-again or period",
    ),
    (
        "inspect",
        Kind::Flag,
        "whether it is among the sheets to inspect by hand",
    ),
    (
        "chance_of_reproduction",
        Kind::Number,
        "0 to 1, under the odds given; the odds themselves where nothing was read or the photographs carry nothing",
    ),
    (
        "cost_of_passing",
        Kind::Number,
        "expected cost of passing it as a period print, in inspections",
    ),
    (
        "process",
        Kind::Text,
        "process read, undetermined, or not-read",
    ),
    (
        "p_stipple_engraving",
        Kind::Number,
        "probability of a stipple engraving, 0 to 1",
    ),
    (
        "p_line_engraving",
        Kind::Number,
        "probability of a line engraving, 0 to 1",
    ),
    (
        "p_lithograph",
        Kind::Number,
        "probability of a lithograph, 0 to 1",
    ),
    (
        "p_tinted_lithograph",
        Kind::Number,
        "probability of a tinted lithograph, 0 to 1",
    ),
    (
        "p_halftone",
        Kind::Number,
        "probability of a screened reproduction, 0 to 1",
    ),
    (
        "log10_lr_halftone",
        Kind::Number,
        "weight of the evidence for a screened reproduction, power of ten",
    ),
    ("strength", Kind::Text, "strength of the evidence in words"),
    (
        "fit",
        Kind::Number,
        "share of reference specimens that fit as badly or worse, 0 to 1",
    ),
    (
        "colouring",
        Kind::Text,
        "where the colour lies; several parted by semicolons",
    ),
    (
        "screens",
        Kind::Text,
        "printing screens: ink, lines per inch (lpi), angle (deg); parted by semicolons",
    ),
    (
        "why",
        Kind::Text,
        "one sentence why it reads so, or why it was not read",
    ),
    ("photograph_next", Kind::Text, "what to photograph next"),
    ("photographs", Kind::Whole, "photographs measured"),
    ("not_read", Kind::Whole, "files that could not be read"),
    (
        "not_read_because",
        Kind::Text,
        "their reasons, parted by semicolons",
    ),
    (
        "px_per_mm",
        Kind::Number,
        "scale of the first photograph with one, pixels per millimetre",
    ),
    (
        "twice",
        Kind::Text,
        "the same file elsewhere, or what may be the same spot",
    ),
    ("notices", Kind::Text, "what else to know"),
    ("note", Kind::Text, "the user's note"),
    (
        "report",
        Kind::Text,
        "the full report, from the lot's folder",
    ),
    ("files", Kind::Text, "its files, parted by semicolons"),
];

/// The cells of one row, in the order of [`COLUMNS`].
#[must_use]
pub fn row(rank: usize, ranked: &Ranked) -> Vec<Cell> {
    let record = &ranked.record;
    let reading = record.reading.as_ref();
    let counts = record.reading_that_counts();
    let p = |process| {
        Cell::Number(
            counts
                .and_then(|r| r.posterior.get(&process).copied())
                .map(round),
        )
    };
    let [stipple, line, litho, tinted, halftone] = Process::ALL.map(p);
    let process = match reading {
        None => "not-read",
        Some(r) => r.process.map_or("undetermined", Process::key),
    };
    let scale = record
        .photos
        .iter()
        .find_map(|p| p.px_per_mm)
        .map(|s| round(s[0]));
    let reasons: Vec<&str> = record.not_read.iter().map(|u| u.why.as_str()).collect();
    let files = (record.photos.iter().map(|p| p.file.as_str()))
        .chain(record.not_read.iter().map(|u| u.file.as_str()));
    vec![
        Cell::Whole(rank as i64),
        text(&record.sheet),
        text(ranked.standing.key()),
        Cell::Flag(ranked.inspect),
        Cell::Number(Some(round(ranked.chance))),
        Cell::Number(Some(round(ranked.cost_of_passing))),
        text(process),
        stipple,
        line,
        litho,
        tinted,
        halftone,
        Cell::Number(
            counts
                .and_then(|r| r.log10_lr.get(&Process::Halftone).copied())
                .map(round),
        ),
        Cell::Text(counts.map(|r| r.strength.clone())),
        Cell::Number(counts.and_then(|r| r.fit).map(round)),
        Cell::Text(reading.map(|r| joined(r.colouring.iter().map(|c| c.key())))),
        Cell::Text(
            reading
                .filter(|r| !r.screens.is_empty())
                .map(|r| screens(&r.screens)),
        ),
        Cell::Text(Some(why(ranked))),
        Cell::Text(reading.and_then(|r| r.next_photographs.first().cloned())),
        Cell::Whole(record.photos.len() as i64),
        Cell::Whole(record.not_read.len() as i64),
        some(joined(reasons.into_iter())),
        Cell::Number(scale),
        some(ranked.twice.join(" ")),
        some(record.notices.join(" ")),
        Cell::Text(record.note.clone()),
        Cell::Text(record.report.clone()),
        some(joined(files)),
    ]
}

/// One sentence: why the sheet reads so, or why it was not read.
#[must_use]
pub fn why(ranked: &Ranked) -> String {
    match (&ranked.record.reading, ranked.record.not_read.first()) {
        (Some(reading), Some(_)) if ranked.standing != Standing::LikelyReproduction => {
            format!("{} {}", reading.why, in_part(&ranked.record))
        }
        (Some(reading), _) => reading.why.clone(),
        (None, Some(unread)) => unread.sentence(),
        (None, None) => "No photograph was given.".into(),
    }
}

/// That a sheet was read in part only, and what follows.
fn in_part(record: &Record) -> String {
    format!(
        "{} of its {} files could not be read, so it counts as no period print and is to be inspected.",
        record.not_read.len(),
        record.files()
    )
}

fn text(value: &str) -> Cell {
    Cell::Text(Some(value.to_owned()))
}

fn some(value: String) -> Cell {
    Cell::Text(Some(value).filter(|v| !v.is_empty()))
}

fn joined<'a>(parts: impl Iterator<Item = &'a str>) -> String {
    parts.collect::<Vec<_>>().join("; ")
}

fn screens(screens: &[ScreenSeen]) -> String {
    let one = |s: &ScreenSeen| {
        let ruling = s
            .ruling_lpi
            .map_or_else(String::new, |v| format!(" {} lpi", figures::number(v, 1)));
        let angle = s
            .angle_deg
            .map_or_else(String::new, |v| format!(" {} deg", figures::number(v, 1)));
        format!("{}{ruling}{angle}", s.ink)
    };
    screens.iter().map(one).collect::<Vec<_>>().join("; ")
}

/// The table as CSV (RFC 4180, UTF-8 without a byte-order mark, a line of names first). A text that a spreadsheet
/// would take for a formula has an apostrophe before it.
///
/// # Errors
/// None that a table in memory can cause.
pub fn csv(rows: &[Vec<Cell>]) -> io::Result<Vec<u8>> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(COLUMNS.iter().map(|(name, _, _)| *name))?;
    for row in rows {
        writer.write_record(row.iter().map(as_text))?;
    }
    writer
        .into_inner()
        .map_err(|e| io::Error::other(e.to_string()))
}

fn as_text(cell: &Cell) -> String {
    match cell {
        Cell::Text(text) => text.as_deref().map_or_else(String::new, guarded),
        Cell::Number(number) => number.map_or_else(String::new, |v| v.to_string()),
        Cell::Whole(whole) => whole.to_string(),
        Cell::Flag(flag) => if *flag { "yes" } else { "no" }.to_owned(),
    }
}

/// The columns with their meaning, for help texts.
#[must_use]
pub fn explained() -> String {
    COLUMNS
        .iter()
        .map(|(name, _, meaning)| format!("  {name:<24}{meaning}\n"))
        .collect()
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::lot::order::tests::record;
    use crate::lot::order::{Costs, rank};
    use crate::lot::record::{Record, Unread};

    pub(crate) fn rows() -> Vec<Vec<Cell>> {
        let mut unread = Record::blank("odd, \"name\"\nof a sheet", Some("torn"));
        unread.not_read.push(Unread {
            file: "a.jpg".into(),
            why: "a.jpg: is no picture".into(),
            try_again: false,
        });
        let records = vec![
            record("rose", Some(Process::Halftone), 0.987_654_321),
            unread,
        ];
        let (ranked, _) = rank(records, Costs::default(), 0.2, 0.05);
        ranked
            .iter()
            .enumerate()
            .map(|(i, r)| row(i + 1, r))
            .collect()
    }

    #[test]
    fn cells_are_of_their_columns_kind() {
        for row in rows() {
            assert_eq!(row.len(), COLUMNS.len());
            for (cell, (name, kind, _)) in row.iter().zip(COLUMNS) {
                let own = match cell {
                    Cell::Text(_) => Kind::Text,
                    Cell::Number(_) => Kind::Number,
                    Cell::Whole(_) => Kind::Whole,
                    Cell::Flag(_) => Kind::Flag,
                };
                assert_eq!(own, *kind, "{name}");
            }
        }
    }

    #[test]
    fn photographs_that_carry_nothing_have_the_odds_beforehand_and_no_strength() {
        let mut poor = record("poor", None, 0.005);
        poor.photos[0].unusable = true;
        let mut empty = record("empty", None, 0.005);
        empty.reading.as_mut().unwrap().findings = 0;
        let (ranked, _) = rank(vec![poor, empty], Costs::default(), 0.2, 0.05);
        for ranked in &ranked {
            let row = row(1, ranked);
            let cell = |name| &row[COLUMNS.iter().position(|(n, ..)| *n == name).unwrap()];
            assert_eq!(*cell("chance_of_reproduction"), Cell::Number(Some(0.2)));
            assert_eq!(*cell("cost_of_passing"), Cell::Number(Some(20.0)));
            assert_eq!(*cell("p_halftone"), Cell::Number(None));
            assert_eq!(*cell("log10_lr_halftone"), Cell::Number(None));
            assert_eq!(*cell("strength"), Cell::Text(None));
            assert_eq!(*cell("process"), text("undetermined"));
        }
    }

    #[test]
    fn csv_is_read_back_as_it_was() {
        let bytes = csv(&rows()).unwrap();
        let mut reader = csv::Reader::from_reader(&bytes[..]);
        let read: Vec<csv::StringRecord> = reader.records().collect::<Result<_, _>>().unwrap();
        assert_eq!(&read[0][1], "rose");
        assert_eq!(&read[0][4], "0.987654");
        assert_eq!(&read[1][1], "odd, \"name\"\nof a sheet");
        assert_eq!(&read[1][6], "not-read");
        assert_eq!(&read[1][4], "0.2");
        assert_eq!(&read[1][21], "a.jpg: is no picture");
    }

    #[test]
    fn no_text_is_a_formula_to_a_spreadsheet_and_numbers_stay_numbers() {
        for (name, written) in [
            ("=HYPERLINK(\"x\")", "'=HYPERLINK(\"x\")"),
            ("+1", "'+1"),
            ("-rose", "'-rose"),
            ("@rose", "'@rose"),
            ("rose=1", "rose=1"),
        ] {
            let unread = Record::blank(name, Some(name));
            let mut cells = row(1, &rank(vec![unread], Costs::default(), 0.2, 0.05).0[0]);
            cells[12] = Cell::Number(Some(-1.5));
            let bytes = csv(&[cells]).unwrap();
            assert!(bytes.starts_with(b"rank,"), "no byte-order mark");
            let mut reader = csv::Reader::from_reader(&bytes[..]);
            let read = reader.records().next().unwrap().unwrap();
            assert_eq!((&read[1], &read[25], &read[12]), (written, written, "-1.5"));
        }
    }
}
