//! What was found on the photographs of one sheet, and what each finding says.

use super::bearing::may_show_screens;
use super::features::{FEATURES, FINEST_EXCLUDED, Feature, Value};
use super::reading::{Finding, Process};
use super::reference::Reference;
use super::together::{ALIKE, joined, totals};
use super::variety::{self, Variety};
use crate::ink::contrast;
use crate::measure::Examined;
use std::collections::BTreeMap;

/// Values of all findings of one photograph, in the order of the features. A photograph on which
/// nothing printed is seen has none: that no lines and no dots were found on it says nothing.
#[must_use]
pub fn values(examined: &Examined) -> Vec<Option<Value>> {
    if !shows_print(examined) {
        return vec![None; FEATURES.len()];
    }
    let can_be_seen = |feature: &&Feature| {
        !(examined.inked.grey && feature.needs_colour()
            || examined.inked.is_lit_in_two_colours() && feature.is_of_the_ground())
    };
    FEATURES
        .iter()
        .map(|feature| Some(feature).filter(can_be_seen))
        .map(|feature| (feature?.take)(examined))
        .collect()
}

/// Greatest density over the parts about it from which something is ink and not the texture of bare paper, about a
/// seventh of a printing black's: drawn blank leaves, foxed ones aside, reach 0.13, the palest of 120 drawn prints 0.16.
const LEAST_INK: f32 = 0.15;

/// Whether there is ink, a screen or a film on it.
fn shows_print(examined: &Examined) -> bool {
    let m = &examined.measurements;
    let ink = contrast::greatest(&examined.inked).is_none_or(|c| c >= LEAST_INK);
    let marks = m.marks.count > 0;
    // The wires of laid paper are lines too.
    (ink && (marks || !m.lines.systems.is_empty()))
        || !m.lattice.inks.is_empty()
        || m.film.lab.is_some()
}

/// What was found on the photographs of one sheet, and what it says; a photograph given twice counts once.
pub(super) struct Evidence {
    /// Each photograph's number, from 1 among all that were given.
    pub(super) numbers: Vec<usize>,
    /// Each photograph's values.
    pub(super) measured: Vec<Vec<Option<Value>>>,
    /// The same without their intervals.
    pub(super) bare: Vec<Vec<Option<f64>>>,
    /// Of each photograph whether a screen would show on it.
    pub(super) fine: Vec<bool>,
    /// ln likelihoods of the varieties by each finding, of all photographs together.
    pub(super) rows: Vec<Option<Vec<f64>>>,
    /// Their sums.
    pub(super) sums: Vec<f64>,
}

impl Evidence {
    pub(super) fn of(photos: &[Examined], reference: &Reference) -> Self {
        let (numbers, measured) = numbered(photos).map(|(n, e)| (n, values(e))).unzip();
        let fine = once_each(photos).map(may_show_screens).collect();
        Self::of_values(numbers, measured, fine, reference)
    }

    /// Of photographs whose numbers, values and fineness are known.
    pub(super) fn of_values(
        numbers: Vec<usize>,
        measured: Vec<Vec<Option<Value>>>,
        fine: Vec<bool>,
        reference: &Reference,
    ) -> Self {
        let bare: Vec<Vec<Option<f64>>> = measured
            .iter()
            .map(|v| v.iter().map(|v| v.map(|v| v.value)).collect())
            .collect();
        let rows = joined(&reference.process, &bare, ALIKE);
        let sums = totals(&rows, Variety::ALL.len());
        Self {
            numbers,
            measured,
            bare,
            fine,
            rows,
            sums,
        }
    }

    /// Of each photograph whether anything was weighed on it.
    pub(super) fn weighed(&self) -> impl Iterator<Item = bool> {
        let bare = self.bare.iter();
        bare.map(|values| values.iter().any(Option::is_some))
    }

    /// Whether anything was weighed on any of them.
    pub(super) fn anything(&self) -> bool {
        self.weighed().any(|weighed| weighed)
    }

    /// Whether anything was weighed on one on which a screen would not show.
    pub(super) fn rests_on_coarse(&self) -> bool {
        let mut fine = self.fine.iter().zip(self.weighed());
        fine.any(|(fine, weighed)| weighed && !fine)
    }

    /// The values of the photographs on which a screen would show, as far as anything was weighed on them.
    pub(super) fn fine_alone(&self) -> impl Iterator<Item = &Vec<Option<f64>>> {
        let fine = self.fine.iter().zip(self.weighed());
        let chosen = self.bare.iter().zip(fine);
        chosen
            .filter(|(_, (fine, weighed))| **fine && *weighed)
            .map(|(values, _)| values)
    }
}

/// The photographs, those with the same bytes once.
pub(super) fn once_each(photos: &[Examined]) -> impl Iterator<Item = &Examined> {
    numbered(photos).map(|(_, e)| e)
}

/// The same with their numbers, from 1 among all.
fn numbered(photos: &[Examined]) -> impl Iterator<Item = (usize, &Examined)> {
    let sha256 = |e: &Examined| e.photo.provenance.sha256.clone();
    photos
        .iter()
        .enumerate()
        .filter(move |(i, e)| {
            photos[..*i]
                .iter()
                .all(|before| sha256(before) != sha256(e))
        })
        .map(|(i, e)| (i + 1, e))
}

pub(super) fn by_process(values: &[f64]) -> BTreeMap<Process, f64> {
    Process::ALL
        .into_iter()
        .zip(values.iter().copied())
        .collect()
}

/// The findings, the weightiest first, each with its value in the photograph that says most of what all say.
pub(super) fn findings(evidence: &Evidence, reference: &Reference) -> Vec<Finding> {
    let Evidence {
        numbers,
        measured,
        bare,
        rows,
        sums,
        ..
    } = evidence;
    let of_processes = |said: &[f64]| variety::said_of_processes(said, sums);
    let each: Vec<Vec<Vec<f64>>> = bare.iter().map(|v| reference.process.weigh(v)).collect();
    // Where photographs say different things, a value beside the weight of all must not speak the other way.
    let shown = |f: usize, all: &[f64]| {
        let seen = measured
            .iter()
            .zip(&each)
            .zip(numbers)
            .filter_map(|((v, w), n)| Some(((v[f]?, *n), agreement(&of_processes(&w[f]), all))));
        seen.reduce(|most, next| if next.1 > most.1 { next } else { most })
    };
    let mut findings: Vec<Finding> = FEATURES
        .iter()
        .enumerate()
        .filter_map(|(f, feature)| {
            let row = of_processes(rows[f].as_ref()?);
            let ((shown, number), _) = shown(f, &row)?;
            let mean = row.iter().sum::<f64>() / row.len() as f64;
            let log10_lr = row
                .iter()
                .map(|l| (l - mean) / std::f64::consts::LN_10)
                .collect::<Vec<_>>();
            let usual = &reference.usual[f];
            Some(Finding {
                measurement: feature.key.to_owned(),
                title: title(evidence, f, &shown, number),
                value: shown.value,
                unit: feature.unit.to_owned(),
                interval: shown.interval,
                nothing_there: shown.nothing_there,
                reference: Process::ALL
                    .into_iter()
                    .zip(usual)
                    .filter_map(|(p, range)| Some((p, (*range)?)))
                    .collect(),
                log10_lr: by_process(&log10_lr),
                because: feature.meaning.to_owned(),
            })
        })
        .collect();
    findings.sort_by(|a, b| {
        b.spread()
            .total_cmp(&a.spread())
            .then_with(|| a.measurement.cmp(&b.measurement))
    });
    findings
}

/// The finding's title; where one photograph excludes screens and another shows one, with the numbers of the two: no
/// screen is then excluded on the sheet.
fn title(evidence: &Evidence, f: usize, shown: &Value, number: usize) -> String {
    let feature = &FEATURES[f];
    if feature.key != FINEST_EXCLUDED || shown.nothing_there {
        return feature.title.to_owned();
    }
    let photos = evidence.numbers.iter().zip(&evidence.measured);
    let with_screen = photos.filter(|(_, v)| v[f].is_some_and(|v| v.nothing_there));
    let with_screen: Vec<String> = with_screen.map(|(n, _)| n.to_string()).collect();
    let photographs = match &with_screen[..] {
        [only] => format!("photograph {only}"),
        [first @ .., last] => format!("photographs {} and {last}", first.join(", ")),
        [] => return feature.title.to_owned(),
    };
    format!(
        "Finest screen excluded on photograph {number} by itself (one was found on {photographs})"
    )
}

/// How far one photograph's weights go the way of those of all: the sum of products about their means.
fn agreement(one: &[f64], all: &[f64]) -> f64 {
    let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
    let (of_one, of_all) = (mean(one), mean(all));
    one.iter()
        .zip(all)
        .map(|(a, b)| (a - of_one) * (b - of_all))
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::weigh::reference::REFERENCE;

    /// Evidence of photographs of which nothing is known but the finest screen that each excludes; none where it shows one.
    fn excluded(rulings: &[Option<f64>]) -> Evidence {
        let f = FEATURES.iter().position(|f| f.key == FINEST_EXCLUDED);
        let of_one = |ruling: &Option<f64>| {
            let mut values = vec![None; FEATURES.len()];
            values[f.unwrap()] = Some(Value {
                value: ruling.unwrap_or(0.0),
                interval: None,
                nothing_there: ruling.is_none(),
            });
            values
        };
        let measured = rulings.iter().map(of_one).collect();
        let numbers = (1..=rulings.len()).collect();
        Evidence::of_values(numbers, measured, vec![true; rulings.len()], &REFERENCE)
    }

    #[test]
    fn a_screen_excluded_on_one_photograph_is_not_the_sheets_where_another_shows_one() {
        let told = |rulings: &[Option<f64>]| {
            let found = findings(&excluded(rulings), &REFERENCE);
            (found[0].title.clone(), found[0].nothing_there)
        };
        let plain = "Finest screen excluded (none where one was found)";
        assert_eq!(told(&[Some(310.0), Some(290.0)]), (plain.into(), false));
        assert_eq!(told(&[None, None]), (plain.into(), true));
        let (title, nothing_there) = told(&[Some(310.0), None, Some(310.0), Some(310.0)]);
        assert!(!nothing_there);
        assert_eq!(
            title,
            "Finest screen excluded on photograph 1 by itself (one was found on photograph 2)"
        );
        let (title, _) = told(&[Some(310.0), None, Some(310.0), None, None]);
        assert!(
            title.ends_with("(one was found on photographs 2, 4 and 5)"),
            "{title}"
        );
    }
}
