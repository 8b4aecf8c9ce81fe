//! Five-fold cross-validation of a table: what its specimens come out as by references that never saw them.
//!
//! Findings alone are weighed. A reading asks more of a photograph (see `weigh::doubt`), so fewer are decided there.

use crate::weigh::Process;
use crate::weigh::doubt::SURE_ENOUGH;
use crate::weigh::read::posterior_if_alike;
use crate::weigh::reading::REPRODUCTION_EXCLUDED;
use crate::weigh::reference::Reference;
use crate::weigh::score::multiclass_cost;
use crate::weigh::table::{Row, Subject, Table};
use std::collections::HashSet;
use std::fmt::Write;

/// Parts that the specimens are dealt into.
pub const FOLDS: u64 = 5;
/// Seeds that are dealt out together: the processes take turns from seed to seed, and within the fit every fifth turn
/// is held out again, which parts of five turns keep whole.
const DEALT_TOGETHER: u64 = 25;

/// A specimen of one of the five, weighed by a reference that never saw it.
#[derive(Clone, Debug, PartialEq)]
pub struct HeldOut {
    /// Seed that drew it.
    pub seed: u64,
    /// What it truly is.
    pub process: Process,
    /// Probability of each process at equal odds beforehand, in the order of [`Process::ALL`].
    pub posterior: Vec<f64>,
}

impl HeldOut {
    /// The process that the findings alone are sure enough of.
    #[must_use]
    pub fn named(&self) -> Option<Process> {
        let likeliest = Process::ALL
            .into_iter()
            .max_by(|a, b| self.chance(*a).total_cmp(&self.chance(*b)))?;
        let is_reproduction = likeliest == Process::Halftone;
        let sure = self.chance(likeliest) >= SURE_ENOUGH
            && (is_reproduction || self.chance(Process::Halftone) <= REPRODUCTION_EXCLUDED);
        sure.then_some(likeliest)
    }

    fn chance(&self, process: Process) -> f64 {
        self.posterior[process as usize]
    }
}

/// Part of a specimen.
fn part_of(row: &Row) -> u64 {
    row.seed / DEALT_TOGETHER % FOLDS
}

/// Weighs every specimen of the five by a reference fitted to the parts that it is not in; `done` is told of each part.
#[must_use]
pub fn cross_validated(table: &Table, done: &dyn Fn()) -> Vec<HeldOut> {
    let of_part = |part: u64| {
        let mut others = table.clone();
        others.rows.retain(|row| part_of(row) != part);
        let reference = Reference::fit(&others, String::new());
        let held_out = table.rows.iter().filter(|row| part_of(row) == part);
        let weighed: Vec<HeldOut> = held_out
            .filter_map(|row| weighed(row, &reference))
            .collect();
        done();
        weighed
    };
    (0..FOLDS).flat_map(of_part).collect()
}

fn weighed(row: &Row, reference: &Reference) -> Option<HeldOut> {
    let Subject::Process(process) = row.subject else {
        return None;
    };
    let values = std::slice::from_ref(&row.values);
    Some(HeldOut {
        seed: row.seed,
        process,
        posterior: posterior_if_alike(values, 1.0, reference),
    })
}

/// The table without some findings; an error names those that it does not hold.
///
/// # Errors
/// When a key is that of no finding.
pub fn without(mut table: Table, keys: &[String]) -> Result<Table, String> {
    let known: HashSet<&String> = table.findings.iter().collect();
    let unknown: Vec<&str> = keys
        .iter()
        .filter(|key| !known.contains(key))
        .map(String::as_str)
        .collect();
    if !unknown.is_empty() {
        return Err(format!(
            "no such finding: {}; the first line of the table names them",
            unknown.join(", ")
        ));
    }
    let kept: Vec<bool> = table.findings.iter().map(|f| !keys.contains(f)).collect();
    let mut of_findings = kept.iter();
    table
        .findings
        .retain(|_| of_findings.next().is_none_or(|&is| is));
    for row in &mut table.rows {
        let mut of_values = kept.iter();
        row.values.retain(|_| of_values.next().is_none_or(|&is| is));
    }
    Ok(table)
}

/// Decided, right and cost, in all and for each process, as plain text.
#[must_use]
pub fn describe(held_out: &[HeldOut]) -> String {
    let mut text = format!("{:<22}{:>7}{:>10}{:>8}\n", "truth", "n", "decided", "right");
    for process in Process::ALL {
        let these: Vec<&HeldOut> = held_out.iter().filter(|h| h.process == process).collect();
        let (decided, right) = counts(&these);
        let _ = writeln!(
            text,
            "{:<22}{:>7}{decided:>10}{right:>8}",
            process.key(),
            these.len()
        );
    }
    let all: Vec<&HeldOut> = held_out.iter().collect();
    let (decided, right) = counts(&all);
    let share = |part: usize, whole: usize| 100.0 * part as f64 / whole.max(1) as f64;
    let called_period = |h: &&HeldOut| {
        h.process == Process::Halftone && h.named().is_some_and(|p| p != Process::Halftone)
    };
    let posteriors: Vec<(usize, Vec<f64>)> = held_out
        .iter()
        .map(|h| (h.process as usize, h.posterior.clone()))
        .collect();
    let _ = writeln!(
        text,
        "{} specimens: {:.1} % decided, {:.1} % of the decided right; {} reproductions called period; multi-class cost {:.4}",
        held_out.len(),
        share(decided, held_out.len()),
        share(right, decided),
        held_out.iter().filter(called_period).count(),
        multiclass_cost(&posteriors, Process::ALL.len())
    );
    text
}

/// The chances of every specimen as CSV.
#[must_use]
pub fn as_csv(held_out: &[HeldOut]) -> String {
    let keys = Process::ALL.map(Process::key);
    let mut text = format!("seed,process,{}\n", keys.join(","));
    for h in held_out {
        let chances: Vec<String> = h.posterior.iter().map(|p| format!("{p:.5}")).collect();
        let _ = writeln!(text, "{},{},{}", h.seed, h.process.key(), chances.join(","));
    }
    text
}

/// How many are decided, and how many of those rightly.
fn counts(of: &[&HeldOut]) -> (usize, usize) {
    let named: Vec<bool> = of
        .iter()
        .filter_map(|h| Some(h.named()? == h.process))
        .collect();
    (named.len(), named.iter().filter(|right| **right).count())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::weigh::Colouring;

    fn row(seed: u64, process: Process, value: f64) -> Row {
        Row {
            seed,
            subject: Subject::Process(process),
            colouring: vec![Colouring::None],
            scattered: false,
            tinted: None,
            values: vec![Some(value), Some(-1.0)],
        }
    }

    #[test]
    fn a_finding_left_out_takes_its_column_along() {
        let table = Table {
            findings: vec!["a".into(), "b".into()],
            rows: vec![row(1, Process::Lithograph, 7.0)],
        };
        let left = without(table.clone(), &["a".to_owned()]).unwrap();
        assert_eq!(left.findings, ["b"]);
        assert_eq!(left.rows[0].values, [Some(-1.0)]);
        assert!(without(table, &["c".to_owned()]).unwrap_err().contains('c'));
    }

    #[test]
    fn what_is_sure_is_counted_and_what_is_not_is_left() {
        let held = |process, posterior: [f64; 5]| HeldOut {
            seed: 1,
            process,
            posterior: posterior.to_vec(),
        };
        let sure = held(Process::StippleEngraving, [0.99, 0.0, 0.0, 0.0, 0.01]);
        assert_eq!(sure.named(), Some(Process::StippleEngraving));
        // A reproduction is not excluded.
        let open = held(Process::StippleEngraving, [0.97, 0.0, 0.0, 0.0, 0.03]);
        assert_eq!(open.named(), None);
        // The worst error.
        let wrong = held(Process::Halftone, [0.0, 0.995, 0.0, 0.0, 0.005]);
        let told = describe(&[sure, open, wrong]);
        assert!(told.contains("3 specimens: 66.7 % decided, 50.0 % of the decided right; 1 reproductions called period"), "{told}");
    }

    #[test]
    fn every_part_holds_every_process() {
        for part in 0..FOLDS {
            let processes: HashSet<u64> = (0..1000)
                .filter(|&seed| part_of(&row(seed, Process::Lithograph, 0.0)) == part)
                .map(|seed| seed % Process::ALL.len() as u64)
                .collect();
            assert_eq!(processes.len(), Process::ALL.len());
        }
    }
}
