//! The reference speaks for the measuring of this very program: specimens of its table, drawn and measured again,
//! have the findings that the table holds.

use inktell::specimen::series::{SeedFamily, SeriesRequest};
use inktell::trial::specimens::{Wanted, table};
use inktell::weigh::table::Table;
use std::path::Path;

/// Specimens measured again: one of each process.
const AGAIN: u64 = 5;
/// Part of a finding that rounding in another order, by processors and compilers, may change.
const ROUNDING: f64 = 1e-3;

#[test]
fn a_specimen_measured_again_has_the_findings_of_the_table() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/calibration/training.csv");
    let kept = Table::read(&file).expect("the table");
    let request = SeriesRequest::default();
    let again = table(
        SeedFamily::Training,
        0..AGAIN,
        Wanted::TheFive,
        &request,
        &|| (),
    );
    assert_eq!(again.rows.len(), AGAIN as usize);
    assert_eq!(again.findings, kept.findings);
    for row in &again.rows {
        let old = kept.rows.iter().find(|old| old.seed == row.seed);
        let old = old.expect("a specimen of the table");
        assert_eq!(old.subject, row.subject);
        for ((key, new), old) in again.findings.iter().zip(&row.values).zip(&old.values) {
            let same = match (new, old) {
                (Some(new), Some(old)) => (new - old).abs() <= ROUNDING * old.abs().max(1e-3),
                (None, None) => true,
                _ => false,
            };
            assert!(
                same,
                "{:?} {key}: {new:?}, in the table {old:?}",
                row.subject
            );
        }
    }
}
