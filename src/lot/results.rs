//! What is written when all sheets are finished: tables and the lot sheet.

use super::columnar;
use super::ledger::{Ledger, sync_folder};
use super::lines;
use super::names::{CSV_NAME, LINES_NAME, PAGE_NAME, PARQUET_NAME};
use super::ordered::Lot;
use super::page;
use super::record::Pictures;
use super::settings::Settings;
use super::table;
use crate::whole_file;
use std::io;
use std::path::Path;

/// Writes all results from the ledger into the lot's folder, each whole or not at all. The same
/// records and settings give the same bytes.
///
/// # Errors
/// What the disk says.
pub fn write(folder: &Path, ledger: &Ledger, settings: &Settings) -> io::Result<Lot> {
    let mut records = Vec::new();
    for sheet in ledger.sheets() {
        records.push(ledger.record(sheet)?.without_pictures());
    }
    let lot = Lot::new(records, settings);
    let rows: Vec<_> = lot
        .ranked
        .iter()
        .enumerate()
        .map(|(index, ranked)| table::row(index + 1, ranked))
        .collect();
    whole_file::write_by(&folder.join(LINES_NAME), |out| {
        lines::write(&lot.ranked, out)
    })?;
    whole_file::write(&folder.join(CSV_NAME), &table::csv(&rows)?)?;
    let parquet = columnar::parquet(&rows).map_err(io::Error::other)?;
    whole_file::write(&folder.join(PARQUET_NAME), &parquet)?;
    // Pictures are fetched one sheet at a time: all of them together may not fit into memory.
    let pictures =
        |sheet: &str| -> Pictures { ledger.record(sheet).map(|r| r.pictures).unwrap_or_default() };
    whole_file::write_by(&folder.join(PAGE_NAME), |out| {
        page::write(out, &lot, settings, pictures)
    })?;
    sync_folder(folder);
    Ok(lot)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lot::ledger::Entry;
    use crate::lot::order::Costs;
    use crate::lot::order::tests::record;
    use crate::report::words as said;
    use crate::weigh::Process;
    use crate::weigh::caution::told_without_scale;
    use crate::weigh::read::equal_priors;

    fn settings() -> Settings {
        Settings::new(
            "An <estate>".into(),
            "today".into(),
            equal_priors(),
            Costs::default(),
            0.05,
        )
    }

    fn page_of(lot: &Lot, settings: &Settings) -> String {
        let mut page = Vec::new();
        page::write(&mut page, lot, settings, |_| Pictures::default()).unwrap();
        String::from_utf8(page).unwrap()
    }

    /// So many sheets that may be passed unseen, and one below them, under the last heading, that may not.
    fn many_and_one_to_inspect(many: usize) -> Lot {
        let open = (0..many).map(|n| record(&format!("plate {n}"), None, 1e-9));
        let mut strange = record("strange", Some(Process::Lithograph), 1e-9);
        if let Some(reading) = &mut strange.reading {
            reading.fit = Some(0.0);
        }
        Lot::new(open.chain([strange]).collect(), &settings())
    }

    #[test]
    fn a_page_that_lists_not_all_sheets_says_so_and_names_the_table() {
        let lot = many_and_one_to_inspect(page::MOST_SHEETS + 3);
        let text = page_of(&lot, &settings());
        let listed = text.matches("<li class=\"sheet").count();
        assert_eq!(listed, page::MOST_SHEETS + 1);
        let said = format!(
            "Only {listed} of {} sheets are listed",
            page::MOST_SHEETS + 4
        );
        let (before, list) = (text.find(&said), text.find("<ol class=\"sheets\">"));
        assert!(before.unwrap() < list.unwrap(), "it is said too late");
        assert!(text.contains("<a href=\"sheets.csv\">"));
        let whole = Lot::new(vec![record("plate", None, 0.3)], &settings());
        let text = page_of(&whole, &settings());
        assert!(!text.contains("sheets are listed"));
    }

    #[test]
    fn a_page_lists_every_sheet_to_inspect_with_its_place() {
        let lot = many_and_one_to_inspect(page::MOST_SHEETS + 3);
        let text = page_of(&lot, &settings());
        let place = format!("data-rank=\"{}\"", lot.ranked.len());
        assert!(text.contains("data-name=\"strange\"") && text.contains(&place));
        assert!(text.contains("Inspect by hand <b>1</b>"));
    }

    #[test]
    fn what_holds_for_every_sheet_is_said_once_at_the_head() {
        let caution = said::sentence(&told_without_scale());
        let mut sheets = ["rose", "lily"]
            .map(|name| record(name, None, 0.3))
            .to_vec();
        for sheet in &mut sheets {
            sheet.notices.push(caution.clone());
        }
        let lot = Lot::new(sheets, &settings());
        let text = page_of(&lot, &settings());
        assert_eq!(text.matches(&caution).count(), 1);
        assert!(text.find(&caution) < text.find("<ol class=\"sheets\">"));
        let rows: Vec<_> = lot.ranked.iter().map(|r| table::row(1, r)).collect();
        let csv = String::from_utf8(table::csv(&rows).unwrap()).unwrap();
        assert_eq!(csv.matches(&caution).count(), 2);
    }

    #[test]
    fn a_report_elsewhere_is_no_link() {
        let mut own = record("rose", None, 0.3);
        own.report = Some(crate::lot::task::report_link("rose"));
        let mut foreign = record("lily", None, 0.3);
        foreign.report = Some("../../secret.html".into());
        let lot = Lot::new(vec![own, foreign], &settings());
        let text = page_of(&lot, &settings());
        assert!(text.contains("href=\"reports/rose-") && !text.contains("secret"));
        let mut lines = Vec::new();
        lines::write(&lot.ranked, &mut lines).unwrap();
        let rows: Vec<_> = lot.ranked.iter().map(|r| table::row(1, r)).collect();
        let tables = [lines, table::csv(&rows).unwrap()];
        for table in tables.map(|bytes| String::from_utf8(bytes).unwrap()) {
            assert!(
                table.contains("reports/rose-") && !table.contains("secret"),
                "{table}"
            );
        }
    }

    #[test]
    fn a_lot_merged_without_some_parts_says_so() {
        let mut settings = settings();
        settings.sheets = 3;
        let lot = Lot::new(vec![record("plate", None, 0.3)], &settings);
        let text = page_of(&lot, &settings);
        assert!(text.contains("not complete: 2 of its 3 sheets are missing"));
        settings.rules = vec!["rule".into()];
        let lot = Lot::new(vec![record("plate", None, 0.3)], &settings);
        let text = page_of(&lot, &settings);
        assert!(text.contains("not complete: 1 of its 2 sheets is missing"));
        settings.part = Some([1, 3]);
        let lot = Lot::new(vec![record("plate", None, 0.3)], &settings);
        let text = page_of(&lot, &settings);
        assert!(!text.contains("not complete"));
    }

    #[test]
    fn whether_a_file_is_fetched_again_stands_in_no_table() {
        let mut unread = record("plate", None, 0.3);
        unread.not_read.push(crate::lot::record::Unread {
            file: "b.jpg".into(),
            why: "b.jpg: cannot be read".into(),
            try_again: true,
        });
        let lot = Lot::new(vec![unread], &settings());
        assert_eq!(lot.to_be_tried_again(), 1);
        let mut text = Vec::new();
        lines::write(&lot.ranked, &mut text).unwrap();
        let lines = String::from_utf8(text).unwrap();
        assert!(lines.contains("b.jpg") && !lines.contains("try_again"));
    }

    #[test]
    fn results_do_not_depend_on_the_order_of_finishing() {
        let records = [
            record("plate 2", Some(Process::Halftone), 0.99),
            record("plate 10", None, 0.3),
            record("plate 1", Some(Process::Lithograph), 0.001),
        ];
        let write_in = |order: [usize; 3]| {
            let folder = tempfile::tempdir().unwrap();
            let mut ledger = Ledger::open(folder.path()).unwrap();
            for index in order {
                let record = records[index].clone();
                ledger
                    .append(&Entry {
                        fingerprint: "f".into(),
                        record,
                    })
                    .unwrap();
            }
            write(folder.path(), &ledger, &settings()).unwrap();
            [PAGE_NAME, CSV_NAME, PARQUET_NAME, LINES_NAME]
                .map(|name| std::fs::read(folder.path().join(name)).unwrap())
        };
        let first = write_in([0, 1, 2]);
        assert_eq!(first, write_in([2, 0, 1]));
        let page = String::from_utf8(first[0].clone()).unwrap();
        assert!(page.contains("An &lt;estate&gt;") && !page.contains("<estate>"));
        assert!(page.contains("<p class=\"nothing\" hidden>No sheet matches.</p>"));
        for outside in ["http://", "https://", "<link", "@import", "url("] {
            assert!(!page.contains(outside), "{outside}");
        }
        let lines = String::from_utf8(first[3].clone()).unwrap();
        assert!(lines.lines().next().unwrap().contains("\"plate 2\""));
        assert!(!lines.contains("pictures"));
    }
}
