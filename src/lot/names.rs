//! Names of what stands in a lot's folder. Here because listing photographs must know them as well as what
//! writes them.

/// The ledger; a folder that holds one is a lot's results.
pub const LEDGER_NAME: &str = "ledger.jsonl";
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

/// Whether a name is one of these.
#[must_use]
pub fn is_result(name: &str) -> bool {
    let results = [
        LEDGER_NAME,
        SETTINGS_NAME,
        PAGE_NAME,
        CSV_NAME,
        LINES_NAME,
        PARQUET_NAME,
        REPORTS,
    ];
    results.contains(&name)
}
