//! Confusion matrix, decided share and cost of many readings, in words.

use super::Outcome;
use super::figures::{OffBy, Summary};
use crate::weigh::score::{cllr, multiclass_cost};
use crate::weigh::{Colouring, Process};
use std::collections::BTreeMap;
use std::fmt::Write;

/// Figures over many outcomes of the five processes.
#[derive(Clone, Debug, PartialEq)]
pub struct Tally {
    /// Outcomes whose truth is one of the five.
    pub n: usize,
    /// Share decided.
    pub decided: f64,
    /// Share right among those decided.
    pub right: f64,
    /// Share left undetermined between two processes.
    pub narrowed: f64,
    /// Share of those whose truth is one of the two.
    pub narrowed_right: f64,
    /// Reproductions read as period prints, or left between two of them.
    pub reproductions_called_period: usize,
    /// Mean over the processes of the two-way log-likelihood-ratio cost (process against the others), bits.
    pub cllr: f64,
    /// Multi-class cost, ≥ 0; 1 = as no evidence.
    pub multiclass_cost: f64,
    /// Things outside the five: how many, and how many were rightly left undetermined.
    pub others: (usize, usize),
}

/// Counts.
#[must_use]
pub fn tally(outcomes: &[Outcome]) -> Tally {
    let five: Vec<&Outcome> = outcomes.iter().filter(|o| o.process.is_some()).collect();
    let others: Vec<&Outcome> = outcomes.iter().filter(|o| o.process.is_none()).collect();
    let decided: Vec<bool> = five.iter().filter_map(|o| o.right()).collect();
    let narrowed: Vec<bool> = five.iter().filter_map(|o| o.narrowed_rightly()).collect();
    let posteriors: Vec<(usize, Vec<f64>)> = five
        .iter()
        .filter_map(|o| {
            Some((
                o.process? as usize,
                o.reading.posterior.values().copied().collect(),
            ))
        })
        .collect();
    Tally {
        n: five.len(),
        decided: share(decided.len(), five.len()),
        right: share(decided.iter().filter(|r| **r).count(), decided.len()),
        narrowed: share(narrowed.len(), five.len()),
        narrowed_right: share(narrowed.iter().filter(|r| **r).count(), narrowed.len()),
        reproductions_called_period: five
            .iter()
            .filter(|o| o.reproduction_called_period())
            .count(),
        cllr: mean_cllr(&five),
        multiclass_cost: multiclass_cost(&posteriors, Process::ALL.len()),
        others: (
            others.len(),
            others
                .iter()
                .filter(|o| o.reading.process.is_none())
                .count(),
        ),
    }
}

fn share(part: usize, whole: usize) -> f64 {
    part as f64 / whole.max(1) as f64
}

/// Mean over the processes present of the cost of "this process against the others".
fn mean_cllr(outcomes: &[&Outcome]) -> f64 {
    let costs: Vec<f64> = Process::ALL
        .iter()
        .filter_map(|p| {
            let ratio = |o: &&&Outcome| 10f64.powf(o.reading.log10_lr[p]);
            let same: Vec<f64> = outcomes
                .iter()
                .filter(|o| o.process == Some(*p))
                .map(|o| ratio(&o))
                .collect();
            let other: Vec<f64> = outcomes
                .iter()
                .filter(|o| o.process != Some(*p))
                .map(|o| ratio(&o))
                .collect();
            (!same.is_empty() && !other.is_empty()).then(|| cllr(&same, &other))
        })
        .collect();
    costs.iter().sum::<f64>() / costs.len().max(1) as f64
}

/// The confusion matrix and the figures as plain text.
#[must_use]
pub fn describe(outcomes: &[Outcome]) -> String {
    let t = tally(outcomes);
    let mut text = confusion(outcomes) + "\n";
    text += &of_the_five(&t);
    if t.others.0 > 0 {
        let _ = writeln!(
            text,
            "{} things outside the five: {} left undetermined",
            t.others.0, t.others.1
        );
    }
    text + &colouring(outcomes)
}

/// A share, and the share of it that is right; of nothing none is.
fn share_of_which(share: f64, what: &str, right: f64, which: &str) -> String {
    if share > 0.0 {
        format!(
            "{:.1} % {what}, {:.1} % {which}",
            100.0 * share,
            100.0 * right
        )
    } else {
        format!("none {what}")
    }
}

/// How often the five are read rightly, and at what cost, as a line of text; of none nothing can be reckoned.
fn of_the_five(t: &Tally) -> String {
    if t.n == 0 {
        return "none of the five processes among them\n".to_owned();
    }
    format!(
        "{} of the five processes: {}; {}; {} reproductions called period; Cllr {:.3} (multi-class cost {:.3})\n",
        t.n,
        share_of_which(t.decided, "decided", t.right, "of the decided right"),
        share_of_which(
            t.narrowed,
            "left between two",
            t.narrowed_right,
            "of them rightly"
        ),
        t.reproductions_called_period,
        t.cllr,
        t.multiclass_cost
    )
}

/// Decided, right and cost in each group, as plain text; the groups by name.
#[must_use]
pub fn describe_groups(outcomes: &[Outcome]) -> String {
    let five = outcomes.iter().filter(|o| o.process.is_some());
    let mut groups: BTreeMap<&str, Vec<&Outcome>> = BTreeMap::new();
    for outcome in five {
        groups.entry(&outcome.group).or_default().push(outcome);
    }
    let mut text = String::new();
    for (group, read) in groups {
        let decided: Vec<bool> = read.iter().filter_map(|o| o.right()).collect();
        let _ = writeln!(
            text,
            "  {group}: {} of {} decided, {} of them rightly; Cllr {:.3}",
            decided.len(),
            read.len(),
            decided.iter().filter(|right| **right).count(),
            mean_cllr(&read)
        );
    }
    text
}

fn confusion(outcomes: &[Outcome]) -> String {
    let mut text = format!("{:<22}", "truth \\ read");
    for p in Process::ALL {
        let _ = write!(text, "{:>19}", p.key());
    }
    let _ = writeln!(text, "{:>14}", "undetermined");
    for truth in Process::ALL.into_iter().map(Some).chain([None]) {
        let these: Vec<&Outcome> = outcomes.iter().filter(|o| o.process == truth).collect();
        if these.is_empty() {
            continue;
        }
        let count = |read| these.iter().filter(|o| o.reading.process == read).count();
        let _ = write!(
            text,
            "{:<22}",
            truth.map_or("outside the five", Process::key)
        );
        for p in Process::ALL {
            let _ = write!(text, "{:>19}", count(Some(p)));
        }
        let _ = writeln!(text, "{:>14}", count(None));
    }
    text
}

/// How often each kind of colouring is read where it is and where it is not.
fn colouring(outcomes: &[Outcome]) -> String {
    let mut text = String::new();
    let known: Vec<&Outcome> = outcomes
        .iter()
        .filter(|o| !o.colouring.is_empty())
        .collect();
    let exact = known.iter().filter(|o| o.colouring_is_exact()).count();
    let open = known
        .iter()
        .filter(|o| o.reading.colouring == [Colouring::Undetermined])
        .count();
    if known.is_empty() {
        return text;
    }
    let named: Vec<_> = known.iter().flat_map(|o| o.colouring_named()).collect();
    let _ = writeln!(
        text,
        "colouring: {exact} of {} exactly right, {open} undetermined; {} of {} kinds named rightly",
        known.len(),
        named.iter().filter(|(_, there)| *there).count(),
        named.len()
    );
    for kind in Colouring::ALL {
        let present: Vec<&&Outcome> = known
            .iter()
            .filter(|o| o.colouring.contains(&kind))
            .collect();
        let absent: Vec<&&Outcome> = known
            .iter()
            .filter(|o| !o.colouring.contains(&kind))
            .collect();
        let read = |these: &[&&Outcome]| {
            these
                .iter()
                .filter(|o| o.reading.colouring.contains(&kind))
                .count()
        };
        let _ = writeln!(
            text,
            "  {:<16} read in {} of {} that have it, {} of {} that have not",
            kind.key(),
            read(&present),
            present.len(),
            read(&absent),
            absent.len()
        );
    }
    text
}

/// How far figures were off, by class, as plain text.
#[must_use]
pub fn describe_off_by(rows: &[OffBy]) -> String {
    let mut text = format!(
        "{:<40}{:>6}{:>6}{:>12}{:>14}\n",
        "figure", "class", "n", "95 % of ln", "reckoned with"
    );
    for row in rows {
        let _ = writeln!(
            text,
            "{:<40}{:>6}{:>6}{:>12.4}{:>14.4}",
            row.figure, row.class, row.n, row.ln_95, row.ln_half
        );
    }
    text
}

/// Measured figures against truth as plain text.
#[must_use]
pub fn describe_figures(summaries: &[Summary]) -> String {
    let mut text = format!(
        "{:<40}{:>7}{:>12}{:>14}{:>16}\n",
        "figure", "n", "bias", "median error", "intervals hold"
    );
    for s in summaries {
        let _ = writeln!(
            text,
            "{:<40}{:>7}{:>11.2}%{:>13.2}%{:>15.1}%",
            s.figure,
            s.n,
            100.0 * s.median_error,
            100.0 * s.median_size,
            100.0 * s.held
        );
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::example;

    /// A print read at a chance, the rest spread evenly over the others.
    fn read(truth: Option<Process>, named: Option<Process>, chance_of: Process, p: f64) -> Outcome {
        let rest = (1.0 - p) / 4.0;
        let chance = |q: Process| if q == chance_of { p } else { rest };
        let mut reading = example::reading();
        reading.process = named;
        reading.posterior = Process::ALL.map(|q| (q, chance(q))).into();
        // At equal odds the chance of the one against the mean of the four others.
        let ratio = |q: Process| (4.0 * chance(q) / (1.0 - chance(q))).log10();
        reading.log10_lr = Process::ALL.map(|q| (q, ratio(q))).into();
        reading.colouring = vec![Colouring::None];
        Outcome {
            name: "drawn".into(),
            group: "any".into(),
            process: truth,
            colouring: vec![Colouring::None],
            reading,
        }
    }

    #[test]
    fn shares_are_of_what_they_say() {
        use Process::{Halftone, LineEngraving, StippleEngraving};
        let mut between = read(Some(Halftone), None, LineEngraving, 0.6);
        between.reading.narrowed_to = vec![LineEngraving, StippleEngraving];
        let outcomes = [
            read(
                Some(LineEngraving),
                Some(LineEngraving),
                LineEngraving,
                0.96,
            ),
            read(
                Some(LineEngraving),
                Some(StippleEngraving),
                StippleEngraving,
                0.92,
            ),
            read(Some(Halftone), Some(Halftone), Halftone, 0.9),
            // The worst error twice: named, and left between two period processes.
            read(Some(Halftone), Some(LineEngraving), LineEngraving, 0.9),
            between,
            read(None, None, Halftone, 0.4),
            read(None, Some(Halftone), Halftone, 0.9),
        ];
        let t = tally(&outcomes);
        assert_eq!(
            (t.n, t.reproductions_called_period, t.others),
            (5, 2, (2, 1))
        );
        approx::assert_relative_eq!(t.decided, 0.8);
        approx::assert_relative_eq!(t.right, 0.5);
        approx::assert_relative_eq!(t.narrowed, 0.2);
        approx::assert_relative_eq!(t.narrowed_right, 0.0);
        let told = describe(&outcomes);
        assert!(
            told.contains("5 of the five processes: 80.0 % decided, 50.0 % of the decided right"),
            "{told}"
        );
        assert!(
            told.contains("2 things outside the five: 1 left undetermined"),
            "{told}"
        );
    }

    #[test]
    fn where_none_of_the_five_was_read_no_cost_is_told() {
        let told = describe(&[read(None, None, Process::Halftone, 0.4)]);
        assert!(told.contains("1 left undetermined"), "{told}");
        assert!(!told.contains("Cllr") && !told.contains('%'), "{told}");
    }

    #[test]
    fn cost_is_nothing_for_certainty_and_one_for_no_evidence() {
        let of = |p: f64| -> Vec<Outcome> {
            let one = |q: Process| read(Some(q), None, q, p);
            Process::ALL.map(one).to_vec()
        };
        let sure = tally(&of(1.0 - 1e-9));
        approx::assert_abs_diff_eq!(sure.cllr, 0.0, epsilon = 1e-6);
        approx::assert_abs_diff_eq!(sure.multiclass_cost, 0.0, epsilon = 1e-6);
        let blind = tally(&of(0.2));
        approx::assert_relative_eq!(blind.cllr, 1.0, max_relative = 1e-9);
        approx::assert_relative_eq!(blind.multiclass_cost, 1.0, max_relative = 1e-9);
    }
}
