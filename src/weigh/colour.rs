//! Where the colour lies: each kind of colouring on its own evidence.

use super::fuse;
use super::reading::{Colouring, Process};
use super::reference::Reference;
use super::together::{ALIKE, bound, joined, totals};
use std::collections::BTreeMap;

/// A kind of colouring is read as there, or as not there, when a wrong call, taken as four times as
/// bad as no call, would still be the better bet: at 1 − 1/5.
const COLOUR_SURE_ENOUGH: f64 = 0.8;

/// Chance of a kind of colouring from its signs and the chance of a period print: a screened sheet shows
/// no other layer than its inks, and a period sheet has no process inks.
fn where_it_may_be(kind: Colouring, signs: f64, period: f64) -> f64 {
    signs
        * match kind {
            Colouring::ProcessColour => 1.0 - period,
            _ => period,
        }
}

/// The process that alone has a kind of colouring: to name this kind is to name that, so it is named no sooner.
fn only_on(kind: Colouring) -> Option<Process> {
    match kind {
        Colouring::PrintedTint => Some(Process::TintedLithograph),
        Colouring::ProcessColour => Some(Process::Halftone),
        _ => None,
    }
}

/// Where the colour lies.
pub(super) struct ColourReading {
    /// Chance that each kind is there.
    pub(super) present: BTreeMap<Colouring, f64>,
}

impl ColourReading {
    /// Weighs the findings of a sheet's photographs, given the chances of the processes.
    pub(super) fn new(photos: &[Vec<Option<f64>>], reference: &Reference, process: &[f64]) -> Self {
        let mut present: BTreeMap<Colouring, f64> = reference
            .colouring
            .iter()
            .map(|(&kind, weigher)| {
                let sums = totals(&joined(weigher, photos, ALIKE), 2);
                (
                    kind,
                    fuse::posterior(&bound(&sums, weigher.bound_ln()), &[0.5, 0.5])[1],
                )
            })
            .collect();
        let of = |p: Process| process[p as usize];
        // A printed tint is what parts a tinted lithograph from a plain one, so it is weighed once.
        let period = 1.0 - of(Process::Halftone);
        if period > 0.0 {
            let tinted = of(Process::TintedLithograph) / period;
            present.insert(Colouring::PrintedTint, tinted);
        }
        for (kind, p) in &mut present {
            *p = where_it_may_be(*kind, *p, period);
        }
        Self { present }
    }

    /// Each kind on its own evidence: those that are there, and "undetermined" where another may
    /// be there or not. Nothing is said where it may not be told, as where a screen would not show: there marks and ground run together,
    /// and a wash was read in a third of the real scans without one and six tenths of those with one.
    pub(super) fn kinds(&self, may_be_told: bool, process: Option<Process>) -> Vec<Colouring> {
        if !may_be_told {
            return vec![Colouring::Undetermined];
        }
        let is_named = |kind: Colouring, p: f64| {
            p >= COLOUR_SURE_ENOUGH && (only_on(kind).is_none() || only_on(kind) == process)
        };
        let mut kinds: Vec<Colouring> = self
            .present
            .iter()
            .filter(|&(&kind, &p)| is_named(kind, p))
            .map(|(kind, _)| *kind)
            .collect();
        let open =
            |(&kind, &p): (&Colouring, &f64)| p >= 1.0 - COLOUR_SURE_ENOUGH && !is_named(kind, p);
        // Kinds that are each unlikely need not be so together: a print from colour blocks, by its register nearly a
        // reproduction in chance but named none, was told to hold no colour.
        let some = self.present.values().sum::<f64>() >= 1.0 - COLOUR_SURE_ENOUGH;
        if self.present.iter().any(open) || (kinds.is_empty() && some) {
            kinds.push(Colouring::Undetermined);
        } else if kinds.is_empty() {
            kinds.push(Colouring::None);
        }
        kinds
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_printed_tint_is_named_no_sooner_than_the_tinted_lithograph() {
        let kinds = |tint: f64, process| {
            let present = [(Colouring::PrintedTint, tint), (Colouring::HandWash, 0.02)];
            let present = BTreeMap::from(present);
            ColourReading { present }.kinds(true, process)
        };
        let tinted = Some(Process::TintedLithograph);
        assert_eq!(kinds(0.92, tinted), [Colouring::PrintedTint]);
        // However likely the tint: what keeps the process back, as that it may be a photograph, keeps it back too.
        for tint in [0.83, 0.92, 0.999] {
            assert_eq!(kinds(tint, None), [Colouring::Undetermined]);
        }
        assert_eq!(kinds(0.1, None), [Colouring::None]);
    }

    #[test]
    fn no_colour_is_told_only_where_all_kinds_together_are_unlikely() {
        let kinds = |each: f64| {
            let present = [
                Colouring::HandWash,
                Colouring::ColouredInk,
                Colouring::ProcessColour,
            ];
            let present = present.map(|kind| (kind, each)).into();
            ColourReading { present }.kinds(true, None)
        };
        assert_eq!(kinds(0.05), [Colouring::None]);
        assert_eq!(kinds(0.1), [Colouring::Undetermined]);
    }

    #[test]
    fn process_colour_is_named_no_sooner_than_the_reproduction() {
        let kinds = |reproduction: f64, process| {
            let present = [Colouring::ProcessColour, Colouring::HandWash]
                .map(|kind| (kind, where_it_may_be(kind, 0.99, 1.0 - reproduction)));
            let present = BTreeMap::from(present);
            ColourReading { present }.kinds(true, process)
        };
        for reproduction in [0.74, 0.83, 0.95] {
            assert_eq!(kinds(reproduction, None), [Colouring::Undetermined]);
        }
        let named = kinds(0.95, Some(Process::Halftone));
        assert_eq!(named, [Colouring::ProcessColour]);
        assert_eq!(kinds(0.02, None), [Colouring::HandWash]);
    }

    #[test]
    fn no_colouring_is_named_where_a_screen_would_not_show() {
        let present = BTreeMap::from([(Colouring::HandWash, 0.99)]);
        let reading = ColourReading { present };
        assert_eq!(reading.kinds(true, None), [Colouring::HandWash]);
        assert_eq!(reading.kinds(false, None), [Colouring::Undetermined]);
    }
}
