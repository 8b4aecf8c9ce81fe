//! The reading and its weights as sentences.

use super::{article, capital, list};
use crate::report::figures;
use crate::weigh::outside;
use crate::weigh::reading::REPRODUCTION_EXCLUDED;
use crate::weigh::{Colouring, Finding, Process, Reading};
use std::collections::BTreeMap;

/// Priors closer than this are called equal: they are shares written to a few digits.
const EQUAL_PRIORS_WITHIN: f64 = 1e-6;

/// The reading in a few words: "Stipple engraving", "Undetermined", "Undetermined: lithograph or
/// tinted lithograph".
#[must_use]
pub fn headline(reading: &Reading) -> String {
    match (reading.process, &reading.narrowed_to[..]) {
        (Some(process), _) => capital(process.name()),
        (None, [one, other]) => format!("Undetermined: {} or {}", one.name(), other.name()),
        (None, _) => reading.likest_outside().map_or_else(
            || "Undetermined".to_owned(),
            |outside| format!("Undetermined: most like {}", outside.name()),
        ),
    }
}

pub(super) fn chance(reading: &Reading, process: Process) -> String {
    figures::per_cent(reading.posterior.get(&process).copied().unwrap_or(0.0))
}

/// Whether it may be a modern reproduction, where the process read does not say so itself.
#[must_use]
pub fn reproduction_sentence(reading: &Reading) -> Option<String> {
    if reading.process == Some(Process::Halftone) {
        return None;
    }
    let Some(p) = reading.chance_of_reproduction() else {
        return Some(
            "Whether the sheet is a modern reproduction cannot be told from these photographs."
                .into(),
        );
    };
    let p_in_words = if priors_are_equal(&reading.prior) {
        figures::per_cent(p)
    } else {
        format!("{}, with the odds given", figures::per_cent(p))
    };
    // Of 60 drawn reproductions that nothing was fitted to two came out under this chance (`trial specimens
    // --count 360 --others`, 2026-11-28): no smaller one is told, whatever was reckoned.
    Some(if p <= REPRODUCTION_EXCLUDED {
        format!(
            "A halftone reproduction is unlikely (under {:.0}\u{a0}%), but two of 60 drawn ones were misread like that: look for a screen yourself. One made without a screen, such as a collotype, is not among the five.",
            100.0 * REPRODUCTION_EXCLUDED
        )
    } else if reading.best() == Some(Process::Halftone)
        && outside::not_excluded(&reading.outside).is_some()
    {
        format!(
            "If it is one of the five, it is most likely a halftone reproduction ({p_in_words})."
        )
    } else if reading.best() == Some(Process::Halftone) {
        format!("A halftone reproduction is likelier than any other of the five ({p_in_words}).")
    } else {
        format!("A halftone reproduction is not excluded ({p_in_words}).")
    })
}

/// Share of reference specimens under which a print that is read counts as unusual for its kind.
const UNUSUAL: f64 = 0.1;

/// Said of a print that is read and lies far out among its kind.
#[must_use]
pub fn unusual_sentence(reading: &Reading) -> Option<String> {
    let process = reading.process?;
    let fit = reading.fit.filter(|fit| *fit < UNUSUAL)?;
    Some(format!(
        "It is an unusual {}: only {} of the drawn reference specimens of that process fit as badly, so look at it yourself before relying on this.",
        process.name(),
        figures::per_cent(fit)
    ))
}

/// Where the colour lies, as a sentence.
#[must_use]
pub fn colouring_sentence(reading: &Reading) -> String {
    let several = reading.colouring.len() > 1;
    let names: Vec<_> = reading
        .colouring
        .iter()
        .map(|c| match c {
            Colouring::None => "none; one dark ink on the paper".to_owned(),
            Colouring::Undetermined if several => {
                "perhaps more, which these photographs do not tell".to_owned()
            }
            Colouring::Undetermined if reading.lit_in_two_colours => {
                "undetermined; the light on these photographs is of two colours".to_owned()
            }
            Colouring::Undetermined if !reading.shows_colour => {
                "undetermined; these photographs hold no colour".to_owned()
            }
            Colouring::Undetermined if !reading.shows_screens => {
                "undetermined; these photographs are too coarse or too poor to tell where it lies"
                    .to_owned()
            }
            Colouring::Undetermined => {
                "undetermined; these photographs do not tell where it lies".to_owned()
            }
            other => other.name().to_owned(),
        })
        .collect();
    format!("Colour: {}.", list(&names))
}

/// The process that weights are told of, as "a line engraving"; where none is named, with what it is.
#[must_use]
pub fn weighed_for(reading: &Reading, best: Process) -> String {
    let of_what = match reading.process {
        Some(_) => "",
        None if priors_are_equal(&reading.prior) => ", the nearest of the five",
        None => ", the likeliest of the five with the odds given",
    };
    format!("{} {}{of_what}", article(best.name()), best.name())
}

/// The value of a finding with its interval and unit.
#[must_use]
pub fn finding_value(finding: &Finding) -> String {
    if finding.nothing_there {
        NONE_FOUND.into()
    } else {
        figures::value_with_interval(finding.value, finding.interval, &finding.unit)
    }
}

/// Said instead of a value where nothing of its kind is seen, be it that none is there or that it cannot be seen.
pub const NONE_FOUND: &str = "none seen";

/// Weights of one finding smaller than this, log10, are told apart from those that count: in one
/// decimal they are written 0.0.
const SLIGHT: f64 = 0.05;

/// Whether a finding weighs next to nothing for or against any process.
#[must_use]
pub fn is_slight(finding: &Finding) -> bool {
    finding.log10_lr.values().all(|w| w.abs() < SLIGHT)
}

/// Whether a finding weighs next to nothing for or against one process.
#[must_use]
pub fn is_slight_for(finding: &Finding, process: Process) -> bool {
    finding
        .log10_lr
        .get(&process)
        .is_none_or(|w| w.abs() < SLIGHT)
}

/// Whether all priors are the same. No priors at all count as equal.
#[must_use]
pub fn priors_are_equal(prior: &BTreeMap<Process, f64>) -> bool {
    let first = prior.values().next().copied().unwrap_or(0.0);
    prior
        .values()
        .all(|p| (p - first).abs() < EQUAL_PRIORS_WITHIN)
}

/// What the probabilities start from.
#[must_use]
pub fn priors_sentence(prior: &BTreeMap<Process, f64>) -> String {
    if priors_are_equal(prior) {
        return "The probabilities start from equal odds for all five processes: nothing but the photographs was taken into account.".into();
    }
    let given: Vec<_> = prior
        .iter()
        .map(|(process, p)| format!("{} {}", process.name(), figures::per_cent(*p)))
        .collect();
    format!(
        "The probabilities start from the odds given by the user: {}.",
        list(&given)
    )
}

/// What prints of each process usually show, in words; processes with the same range share it.
#[must_use]
pub fn reference_sentence(finding: &Finding) -> String {
    if finding.reference.is_empty() {
        return "No reference specimens have this measurement.".into();
    }
    let parts: Vec<_> = Process::ALL
        .iter()
        .filter_map(|process| {
            let [lo, hi] = finding.reference.get(process)?;
            Some(format!(
                "{} {}",
                process.name(),
                figures::range_with_unit(*lo, *hi, &finding.unit)
            ))
        })
        .collect();
    format!("Middle 80 % of reference specimens: {}.", parts.join("; "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::example;
    use crate::report::words::support_sentence;
    use crate::weigh::outside::Outside;

    #[test]
    fn what_is_cut_at_the_limit_or_unusual_is_said_to_be() {
        let mut reading = example::stipple().reading;
        assert!(!support_sentence(&reading).contains("the most that"));
        reading.limit_log10_lr = 3.49;
        assert!(support_sentence(&reading).contains("the most that"));
        assert_eq!(unusual_sentence(&reading), None);
        reading.fit = Some(0.043);
        assert!(unusual_sentence(&reading).unwrap().contains("4.3"));
    }

    #[test]
    fn a_relief_print_is_said_to_be_outside_the_five() {
        let mut reading = example::stipple().reading;
        reading.process = None;
        reading.outside.insert(Outside::Relief, 0.97);
        assert!(headline(&reading).contains("woodcut or wood engraving"));
        assert!(support_sentence(&reading).contains("no reading"));
        // A scan on which a screen would not show bears no such likeness, nor does a process that is itself unlikely.
        reading.shows_screens = false;
        assert_eq!(headline(&reading), "Undetermined");
        reading.shows_screens = true;
        reading.posterior = Process::ALL.map(|p| (p, 0.2)).into();
        reading.posterior.insert(Process::LineEngraving, 0.45);
        assert_eq!(headline(&reading), "Undetermined");
        assert!(!support_sentence(&reading).contains("no reading"));
    }

    #[test]
    fn a_reproduction_that_may_be_outside_the_five_is_one_only_if_it_is_among_them() {
        let mut reading = example::stipple().reading;
        reading.process = None;
        reading.fit = Some(0.4);
        reading.posterior = BTreeMap::from([(Process::Halftone, 0.99)]);
        reading.log10_lr = BTreeMap::from([(Process::Halftone, 2.6)]);
        let said = |reading: &Reading| reproduction_sentence(reading).unwrap_or_default();
        assert!(said(&reading).contains("likelier than any other"));
        reading.outside.insert(Outside::Cloth, 0.95);
        assert!(said(&reading).starts_with("If it is one of the five"));
        assert!(headline(&reading).contains("woven cloth"));
    }

    #[test]
    fn a_reproduction_is_excluded_only_on_a_print_like_one_of_the_five() {
        let mut reading = example::stipple().reading;
        reading.fit = Some(0.4);
        reading.posterior.insert(Process::Halftone, 0.002);
        let said = |reading: &Reading| reproduction_sentence(reading).unwrap_or_default();
        assert!(said(&reading).contains("unlikely (under 1\u{a0}%)"));
        reading.posterior.insert(Process::Halftone, 0.08);
        assert!(said(&reading).ends_with("not excluded (8.0\u{a0}%)."));
        let equal = std::mem::replace(&mut reading.prior, [(Process::Halftone, 0.5)].into());
        reading.prior.insert(Process::Lithograph, 0.1);
        assert!(said(&reading).ends_with("(8.0\u{a0}%, with the odds given)."));
        reading.prior = equal;
        reading.posterior.insert(Process::Halftone, 0.002);
        reading.shows_screens = false;
        assert!(said(&reading).contains("cannot be told"));
        reading.shows_screens = true;
        reading.fit = Some(0.001);
        assert!(said(&reading).contains("cannot be told"));
        reading.process = Some(Process::Halftone);
        assert_eq!(reproduction_sentence(&reading), None);
    }

    #[test]
    fn priors_say_where_they_come_from() {
        let mut prior: BTreeMap<_, _> = Process::ALL.iter().map(|p| (*p, 0.2)).collect();
        assert!(priors_sentence(&prior).contains("equal odds"));
        prior.insert(Process::Halftone, 0.5);
        assert!(priors_sentence(&prior).contains("halftone reproduction 50"));
    }
}
