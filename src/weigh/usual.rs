//! What prints of a process usually show: the middle of its reference specimens.

use super::reading::Process;
use super::table::Table;
use super::variety::Variety;

/// Fewest specimens of a process that show the finding.
const FEWEST: usize = 12;
/// Shares of the specimens between which a value is usual.
const BETWEEN: [f64; 2] = [0.1, 0.9];

/// Central 80 % of the specimens of each process by a finding, in the order of [`Process::ALL`], its varieties
/// counted by their shares; none where it was too seldom measured. `variety` is that of each row.
#[must_use]
pub fn ranges(table: &Table, variety: &[Variety], finding: usize) -> Vec<Option<[f64; 2]>> {
    let value = |row: usize| table.rows[row].values[finding].filter(|v| v.is_finite());
    let measured: Vec<usize> = (0..table.rows.len())
        .filter(|&row| value(row).is_some())
        .collect();
    let mut count = [0.0_f64; Variety::ALL.len()];
    for &v in variety {
        count[v as usize] += 1.0;
    }
    Process::ALL
        .into_iter()
        .map(|process| {
            let mut weighted: Vec<(f64, f64)> = measured
                .iter()
                .filter(|&&row| variety[row].process() == process)
                .filter_map(|&row| {
                    let v = variety[row];
                    Some((value(row)?, v.share() / count[v as usize]))
                })
                .collect();
            weighted.sort_by(|a, b| a.0.total_cmp(&b.0));
            (weighted.len() >= FEWEST).then(|| BETWEEN.map(|share| at(&weighted, share)))
        })
        .collect()
}

/// The first value by which a share of all weight is reached.
fn at(weighted: &[(f64, f64)], share: f64) -> f64 {
    let wanted = share * weighted.iter().map(|w| w.1).sum::<f64>();
    let mut reached = 0.0;
    let mut last = 0.0;
    for &(value, weight) in weighted {
        last = value;
        reached += weight;
        if reached >= wanted {
            break;
        }
    }
    last
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_count_by_weight() {
        let even: Vec<(f64, f64)> = (1..=100).map(|i| (f64::from(i), 1.0)).collect();
        approx::assert_abs_diff_eq!(at(&even, 0.1), 10.0);
        approx::assert_abs_diff_eq!(at(&even, 0.9), 90.0);
        // The upper half weighs nine times as much.
        let heavy: Vec<(f64, f64)> = (1..=100)
            .map(|i| (f64::from(i), if i > 50 { 9.0 } else { 1.0 }))
            .collect();
        approx::assert_abs_diff_eq!(at(&heavy, 0.1), 50.0);
    }
}
