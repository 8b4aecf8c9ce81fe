//! Names of what stands in a lot's folder. Here because listing photographs must know them as well as what
//! writes them.

/// The ledger; a folder that holds one is a lot's results.
pub const LEDGER_NAME: &str = "ledger.jsonl";
/// Finished sheets whose photographs were not there in the last run, in the form of the ledger.
pub const ABSENT_NAME: &str = "absent.jsonl";
/// What was asked for.
pub const SETTINGS_NAME: &str = "lot.json";
/// The lot sheet.
pub const PAGE_NAME: &str = "lot.html";
/// The table as CSV.
pub const CSV_NAME: &str = "sheets.csv";
/// The table as Parquet.
pub const PARQUET_NAME: &str = "sheets.parquet";
/// One JSON object a sheet.
pub const LINES_NAME: &str = "sheets.jsonl";
/// Folder of the reports.
pub const REPORTS: &str = "reports";

/// Hex digits that end the name of a report before the ending of the file.
pub const REPORT_DIGITS: usize = 8;

/// All files that stand in a lot's own folder.
pub const RESULTS: [&str; 7] = [
    LEDGER_NAME,
    ABSENT_NAME,
    SETTINGS_NAME,
    PAGE_NAME,
    CSV_NAME,
    LINES_NAME,
    PARQUET_NAME,
];

/// Whether a file of this name in a lot's folder is one of its results.
#[must_use]
pub fn is_result(name: &str) -> bool {
    RESULTS.contains(&name)
}

/// Whether a file of this name in the folder of the reports is one of them or its JSON document. The user may
/// keep photographs in a folder that is called so as well.
#[must_use]
pub fn is_report(name: &str) -> bool {
    let stem = [".html", ".json"]
        .into_iter()
        .find_map(|ending| name.strip_suffix(ending));
    let digits = stem.and_then(|stem| Some(stem.rsplit_once('-')?.1));
    digits.is_some_and(|digits| {
        digits.len() == REPORT_DIGITS
            && digits
                .bytes()
                .all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lot::task::report_link;

    #[test]
    fn reports_are_known_by_their_names() {
        for sheet in ["rose", "плита", "a/b c", ""] {
            let link = report_link(sheet);
            let name = link.rsplit('/').next().unwrap_or_default();
            assert!(is_report(name), "{name}");
            assert!(is_report(&name.replace(".html", ".json")), "{name}");
        }
        for other in ["rose.html", "rose-0123abcd.jpg", "notes-0123ABCD.json"] {
            assert!(!is_report(other), "{other}");
        }
    }
}
