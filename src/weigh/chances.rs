//! How likely each process is, by the findings of one sheet's photographs.

use super::doubt;
use super::evidence::{Evidence, once_each};
use super::features::{FEATURES, Feature};
use super::fuse;
use super::reading::Process;
use super::reference::Reference;
use super::several_inks::{dot_screen, several_inks};
use super::together::{ALIKE, bound, joined, totals};
use super::variety::{self, Variety};
use crate::measure::Examined;
use std::collections::BTreeMap;

/// No process likelier beforehand than another. By these all is weighed; the odds given enter once, at the end.
const EQUAL_ODDS: [f64; Process::ALL.len()] = [1.0; Process::ALL.len()];

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
            .filter(|(photo, _)| dot_screen(std::slice::from_ref(photo)))
            .map(|(_, alone)| alone[Process::Halftone as usize])
            .fold(0.0, f64::max);
        // At equal odds what one photograph says by itself, within the limit, stays within it when it is said of all.
        if alone.len() > 1 {
            doubt::raise_reproduction(&mut bounded, seen_alone);
        }
        if evidence.rests_on_coarse() {
            heed_the_fine_alone(&mut bounded, evidence, reference);
        }
        let posterior = doubt::heeding_screens(
            fuse::posterior(&bounded, &priors),
            dot_screen(photos) || several_inks(photos).is_some(),
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
fn heed_the_fine_alone(ln: &mut [f64], evidence: &Evidence, reference: &Reference) {
    let fine: Vec<Vec<Option<f64>>> = evidence.fine_alone().cloned().collect();
    let by_fine = likelihoods(&fine, ALIKE, reference);
    if !fine.is_empty() {
        let chance = fuse::posterior(&by_fine, &EQUAL_ODDS)[Process::Halftone as usize];
        doubt::raise_reproduction(ln, chance);
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

/// The same with equal odds beforehand: what [`ALIKE`] is fitted by.
#[must_use]
pub fn posterior_if_alike(
    photos: &[Vec<Option<f64>>],
    alike: f64,
    reference: &Reference,
) -> Vec<f64> {
    chances(photos, alike, &EQUAL_ODDS, reference)
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

    /// Evidence of two photographs of which nothing is known but how far a printing device's grid stands out in the edges,
    /// as far as there are any.
    fn of_grids(prominence: [Option<f64>; 2]) -> Evidence {
        let of_one = |prominence: Option<f64>| {
            let value = prominence.map(|value| Value {
                value,
                interval: None,
                nothing_there: false,
            });
            let of = |f: &Feature| value.filter(|_| f.key == "raster.prominence");
            FEATURES.iter().map(of).collect()
        };
        let measured = prominence.map(of_one).to_vec();
        Evidence::of_values(vec![1, 2], measured, vec![true; 2], &REFERENCE)
    }

    fn odds(of_reproduction: f64) -> BTreeMap<Process, f64> {
        let other = (1.0 - of_reproduction) / 4.0;
        let mut odds: BTreeMap<Process, f64> = Process::ALL.map(|p| (p, other)).into();
        odds.insert(Process::Halftone, of_reproduction);
        odds
    }

    #[test]
    fn what_was_measured_says_the_same_whatever_the_odds() {
        // A coarse photograph without a printing device's grid, beside a fine one with it, which is heeded.
        let mut evidence = of_grids([Some(3.0), Some(0.25)]);
        evidence.fine[1] = false;
        let of = |reproduction: f64| Chances::of(&[], &evidence, &odds(reproduction), &REFERENCE);
        let (few, equal, many) = (of(0.01), of(0.2), of(0.99));
        assert_eq!(few.bounded, equal.bounded);
        assert_eq!(many.bounded, equal.bounded);
        let reproduction = Process::Halftone as usize;
        assert!(few.posterior[reproduction] < equal.posterior[reproduction]);
        assert!(many.posterior[reproduction] > equal.posterior[reproduction]);
        // Raised to what one photograph says by itself, which is bounded, a reproduction is within the limit too.
        let chance = equal.posterior[reproduction];
        assert!((4.0 * chance / (1.0 - chance)).ln() <= REFERENCE.bound_ln() + 1e-9);
    }

    #[test]
    fn a_blank_leaf_contradicts_nothing_whatever_the_odds() {
        let evidence = of_grids([None, Some(3.0)]);
        let equal = Chances::of(&[], &evidence, &equal_priors(), &REFERENCE);
        for of_reproduction in [0.01, 0.99] {
            let given = Chances::of(&[], &evidence, &odds(of_reproduction), &REFERENCE);
            assert_eq!(given.alone, equal.alone);
            assert!(given.alone[0].iter().all(|p| (p - 0.2).abs() < 1e-9));
            assert!(!doubt::contradict(&given.alone));
        }
    }
}
