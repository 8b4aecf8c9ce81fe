//! How likely each process is, by the findings of one sheet's photographs.

use super::doubt;
use super::evidence::{Evidence, once_each};
use super::features::{FEATURES, Feature};
use super::fuse;
use super::reading::Process;
use super::reference::Reference;
use super::together::{ALIKE, bound, joined, totals};
use super::variety::{self, Variety};
use crate::measure::Examined;
use std::collections::BTreeMap;

/// How likely each process is.
pub(super) struct Chances {
    /// Odds beforehand, as shares.
    pub(super) priors: Vec<f64>,
    /// By each photograph alone, at equal odds: what one says against another is no matter of the odds given. One on
    /// which nothing was weighed leaves all processes alike.
    pub(super) alone: Vec<Vec<f64>>,
    /// ln likelihoods by all of them, within what the reference supports.
    pub(super) bounded: Vec<f64>,
    /// By all of them.
    pub(super) posterior: Vec<f64>,
    /// The likeliest.
    pub(super) best: usize,
}

impl Chances {
    pub(super) fn of(
        photos: &[Examined],
        evidence: &Evidence,
        prior: &BTreeMap<Process, f64>,
        reference: &Reference,
    ) -> Self {
        let of_process = |p: &Process| prior.get(p).copied().unwrap_or(0.0);
        let priors: Vec<f64> = Process::ALL.iter().map(of_process).collect();
        let alone: Vec<Vec<f64>> = evidence
            .bare
            .iter()
            .map(|v| posterior_if_alike(std::slice::from_ref(v), ALIKE, reference))
            .collect();
        let mut bounded = bound(&variety::by_process(&evidence.sums), reference.bound_ln());
        let seen_alone = once_each(photos)
            .zip(&alone)
            .filter(|(photo, _)| doubt::dot_screen(std::slice::from_ref(photo)))
            .map(|(_, alone)| alone[Process::Halftone as usize])
            .fold(0.0, f64::max);
        if alone.len() > 1 {
            doubt::raise_reproduction(&mut bounded, &priors, seen_alone);
        }
        if evidence.rests_on_coarse() {
            heed_the_fine_alone(&mut bounded, evidence, &priors, reference);
        }
        let posterior = doubt::heeding_screens(
            fuse::posterior(&bounded, &priors),
            doubt::dot_screen(photos) || doubt::several_inks(photos).is_some(),
        );
        Self {
            best: index_of_largest(&posterior),
            priors,
            alone,
            bounded,
            posterior,
        }
    }

    /// The likeliest process.
    pub(super) fn likeliest(&self) -> Process {
        Process::ALL[self.best]
    }
}

/// Where photographs too coarse or too poor for a screen to show stand beside others: they exclude no reproduction that
/// those do not exclude by themselves, and what they add between the period processes is drawn together.
fn heed_the_fine_alone(ln: &mut [f64], evidence: &Evidence, priors: &[f64], reference: &Reference) {
    let fine: Vec<Vec<Option<f64>>> = evidence.fine_alone().cloned().collect();
    let by_fine = likelihoods(&fine, ALIKE, reference);
    if !fine.is_empty() {
        let chance = fuse::posterior(&by_fine, priors)[Process::Halftone as usize];
        doubt::raise_reproduction(ln, priors, chance);
    }
    doubt::lessen_between_period_processes(ln, &by_fine);
}

/// ln likelihoods of the processes by the findings of one sheet's photographs, within what the reference supports, were
/// photographs of one sheet alike to the degree `alike`.
fn likelihoods(photos: &[Vec<Option<f64>>], alike: f64, reference: &Reference) -> Vec<f64> {
    let rows = joined(&reference.process, photos, alike);
    let sums = variety::by_process(&totals(&rows, Variety::ALL.len()));
    bound(&sums, reference.bound_ln())
}

/// Probabilities of the processes from the findings of one sheet's photographs alone, from their odds
/// beforehand, were photographs of one sheet alike to the degree `alike`.
pub(super) fn chances(
    photos: &[Vec<Option<f64>>],
    alike: f64,
    priors: &[f64],
    reference: &Reference,
) -> Vec<f64> {
    fuse::posterior(&likelihoods(photos, alike, reference), priors)
}

/// The finding that colours lie out of register.
pub(super) const REGISTER: &str = "layering.out_of_register";

/// The findings with one of them not measured.
pub(super) fn without(photos: &[Vec<Option<f64>>], key: &str) -> Vec<Vec<Option<f64>>> {
    let keep = |(value, feature): (&Option<f64>, &Feature)| value.filter(|_| feature.key != key);
    photos
        .iter()
        .map(|values| values.iter().zip(FEATURES.iter()).map(keep).collect())
        .collect()
}

/// The same with equal odds beforehand: what [`ALIKE`] is fitted by.
#[must_use]
pub fn posterior_if_alike(
    photos: &[Vec<Option<f64>>],
    alike: f64,
    reference: &Reference,
) -> Vec<f64> {
    chances(photos, alike, &[1.0; Process::ALL.len()], reference)
}

pub(crate) fn index_of_largest(values: &[f64]) -> usize {
    (0..values.len())
        .max_by(|&a, &b| values[a].total_cmp(&values[b]).then(b.cmp(&a)))
        .unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::weigh::features::Value;
    use crate::weigh::read::equal_priors;
    use crate::weigh::reference::REFERENCE;

    /// Evidence of a blank leaf and of a photograph with one finding, such as edges on a printing device's grid.
    fn blank_and(key: &str, value: f64) -> Evidence {
        let finding = Value {
            value,
            interval: None,
            nothing_there: false,
        };
        let of = |f: &Feature| (f.key == key).then_some(finding);
        let measured = vec![
            vec![None; FEATURES.len()],
            FEATURES.iter().map(of).collect(),
        ];
        Evidence::of_values(vec![1, 2], measured, vec![true; 2], &REFERENCE)
    }

    fn odds(of_reproduction: f64) -> BTreeMap<Process, f64> {
        let other = (1.0 - of_reproduction) / 4.0;
        let mut odds: BTreeMap<Process, f64> = Process::ALL.map(|p| (p, other)).into();
        odds.insert(Process::Halftone, of_reproduction);
        odds
    }

    #[test]
    fn a_blank_leaf_contradicts_nothing_whatever_the_odds() {
        let evidence = blank_and("raster.prominence", 3.0);
        let equal = Chances::of(&[], &evidence, &equal_priors(), &REFERENCE);
        for of_reproduction in [0.01, 0.99] {
            let given = Chances::of(&[], &evidence, &odds(of_reproduction), &REFERENCE);
            assert_eq!(given.alone, equal.alone);
            assert!(given.alone[0].iter().all(|p| (p - 0.2).abs() < 1e-9));
            assert!(!doubt::contradict(&given.alone));
        }
    }
}
