//! Five-fold cross-validation of a table: what its specimens come out as by references that never saw them.
//!
//! Findings alone are weighed, and what is outside the five told apart. A reading asks more of a photograph (see
//! `weigh::doubt`), so fewer are named there.

use crate::weigh::Process;
use crate::weigh::doubt::SURE_ENOUGH;
use crate::weigh::outside::{Outside, not_excluded};
use crate::weigh::read::{index_of_largest, posterior_if_alike};
use crate::weigh::reading::REPRODUCTION_EXCLUDED;
use crate::weigh::reference::Reference;
use crate::weigh::score::multiclass_cost;
use crate::weigh::table::{Row, Subject, Table};
use crate::weigh::told_apart::chances_outside;
use std::collections::HashSet;
use std::fmt::Write;

/// Parts that the specimens are dealt into.
pub const FOLDS: u64 = 5;
/// Seeds that are dealt out together: the processes take turns from seed to seed, and within the fit every fifth turn
/// is held out again, which parts of five turns keep whole.
const DEALT_TOGETHER: u64 = 25;

/// A specimen weighed by a reference that never saw it.
#[derive(Clone, Debug, PartialEq)]
pub struct HeldOut {
    /// Seed that drew it.
    pub seed: u64,
    /// What it truly is.
    pub subject: Subject,
    /// What outside the five is not excluded, if anything.
    pub not_excluded: Option<Outside>,
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
        (sure && self.not_excluded.is_none()).then_some(likeliest)
    }

    /// Which of the five it is.
    fn process(&self) -> Option<Process> {
        match self.subject {
            Subject::Process(process) => Some(process),
            Subject::Outside(_) => None,
        }
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
        let weighed: Vec<HeldOut> = held_out.map(|row| weighed(row, &reference)).collect();
        done();
        weighed
    };
    (0..FOLDS).flat_map(of_part).collect()
}

fn weighed(row: &Row, reference: &Reference) -> HeldOut {
    let values = std::slice::from_ref(&row.values);
    let posterior = posterior_if_alike(values, 1.0, reference);
    let likeliest = Process::ALL[index_of_largest(&posterior)];
    let outside = chances_outside(&reference.outside, values, likeliest);
    HeldOut {
        seed: row.seed,
        subject: row.subject,
        not_excluded: not_excluded(&outside).map(|(outside, _)| outside),
        posterior,
    }
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

/// Named, rightly named and cost, in all and for everything that specimens are of, as plain text.
#[must_use]
pub fn describe(held_out: &[HeldOut]) -> String {
    let mut text = format!("{:<22}{:>7}{:>10}{:>8}\n", "truth", "n", "named", "right");
    for subject in Subject::ALL {
        let these: Vec<&HeldOut> = held_out.iter().filter(|h| h.subject == subject).collect();
        let (named, right) = counts(&these);
        let _ = writeln!(
            text,
            "{:<22}{:>7}{named:>10}{right:>8}",
            subject.key(),
            these.len()
        );
    }
    let (five, others): (Vec<&HeldOut>, Vec<&HeldOut>) =
        held_out.iter().partition(|h| h.process().is_some());
    let (named, right) = counts(&five);
    let share = |part: usize, whole: usize| 100.0 * part as f64 / whole.max(1) as f64;
    let called_period = |h: &&&HeldOut| {
        h.process() == Some(Process::Halftone) && h.named().is_some_and(|p| p != Process::Halftone)
    };
    let posteriors: Vec<(usize, Vec<f64>)> = five
        .iter()
        .filter_map(|h| Some((h.process()? as usize, h.posterior.clone())))
        .collect();
    let _ = writeln!(
        text,
        "{} specimens of the five: {:.1} % named, {:.1} % of them rightly; {} reproductions called period; multi-class cost {:.4}",
        five.len(),
        share(named, five.len()),
        share(right, named),
        five.iter().filter(called_period).count(),
        multiclass_cost(&posteriors, Process::ALL.len())
    );
    let (named, _) = counts(&others);
    let _ = writeln!(
        text,
        "{} outside the five: {:.1} % named as one of them",
        others.len(),
        share(named, others.len())
    );
    text
}

/// The chances of every specimen as CSV.
#[must_use]
pub fn as_csv(held_out: &[HeldOut]) -> String {
    let keys = Process::ALL.map(Process::key);
    let mut text = format!("seed,process,not_excluded,{}\n", keys.join(","));
    for h in held_out {
        let chances: Vec<String> = h.posterior.iter().map(|p| format!("{p:.5}")).collect();
        let _ = writeln!(
            text,
            "{},{},{},{}",
            h.seed,
            h.subject.key(),
            h.not_excluded.map_or("", Outside::key),
            chances.join(",")
        );
    }
    text
}

/// How many are decided, and how many of those rightly.
fn counts(of: &[&HeldOut]) -> (usize, usize) {
    let named: Vec<bool> = of
        .iter()
        .filter_map(|h| Some(Some(h.named()?) == h.process()))
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
            subject: Subject::Process(process),
            not_excluded: None,
            posterior: posterior.to_vec(),
        };
        let sure = held(Process::StippleEngraving, [0.99, 0.0, 0.0, 0.0, 0.01]);
        assert_eq!(sure.named(), Some(Process::StippleEngraving));
        // A reproduction is not excluded.
        let open = held(Process::StippleEngraving, [0.97, 0.0, 0.0, 0.0, 0.03]);
        assert_eq!(open.named(), None);
        // The worst error.
        let wrong = held(Process::Halftone, [0.0, 0.995, 0.0, 0.0, 0.005]);
        let outside = HeldOut {
            subject: Subject::Outside(Outside::Relief),
            ..sure.clone()
        };
        let told_apart = HeldOut {
            not_excluded: Some(Outside::Relief),
            ..outside.clone()
        };
        assert_eq!(told_apart.named(), None);
        let told = describe(&[sure, open, wrong, outside, told_apart]);
        assert!(told.contains("3 specimens of the five: 66.7 % named, 50.0 % of them rightly; 1 reproductions called period"), "{told}");
        assert!(told.contains("2 outside the five: 50.0 % named"), "{told}");
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
