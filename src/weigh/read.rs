//! Findings weighed together → a reading, or "undetermined" and why.

use super::advice;
use super::colour::ColourReading;
use super::doubt::{self, SCREENS_SHOW_PX_PER_MM};
use super::features::{FEATURES, Feature, Value};
use super::fuse;
use super::reading::{
    FITS, Finding, Process, RELIEF_ODDS, REPRODUCTION_EXCLUDED, Reading, TONAL_ODDS, enfsi_words,
};
use super::reference::{Reference, Weigher};
use super::together::{ALIKE, bound, joined, totals};
use super::variety::{self, Variety};
use crate::ink::contrast;
use crate::measure::Examined;
use crate::photo::adequacy::Verdict;
use std::collections::BTreeMap;

/// Two processes are named as all that is left when a wrong call, taken as twenty times as bad as no
/// call, would still be the better bet: a statement that helps less must be surer.
const SURE_OF_TWO: f64 = 0.95;
/// Equal priors over the five processes.
#[must_use]
pub fn equal_priors() -> BTreeMap<Process, f64> {
    Process::ALL
        .iter()
        .map(|&p| (p, 1.0 / Process::ALL.len() as f64))
        .collect()
}

/// Values of all findings of one photograph, in the order of the features. A photograph on which
/// nothing printed is seen has none: that no lines and no dots were found on it says nothing.
#[must_use]
pub fn values(examined: &Examined) -> Vec<Option<Value>> {
    if !shows_print(examined) {
        return vec![None; FEATURES.len()];
    }
    let can_be_seen = |feature: &&Feature| !(examined.inked.grey && feature.needs_colour());
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
    let marks = m.marks.coverage.value().is_some_and(|c| c > 0.0);
    // The wires of laid paper are lines too.
    (ink && (marks || !m.lines.systems.is_empty()))
        || !m.lattice.inks.is_empty()
        || m.film.lab.is_some()
}

/// Weighs the photographs of one sheet. A photograph given twice counts once.
///
/// Photographs of one sheet repeat each other: they share its paper, its ink and one hand. So each
/// finding's ln likelihoods are averaged over the photographs in which it was measured, and count for as many as those
/// are worth: by [`ALIKE`], for one.
#[must_use]
pub fn read(photos: &[Examined], prior: &BTreeMap<Process, f64>, reference: &Reference) -> Reading {
    let measured: Vec<Vec<Option<Value>>> = once_each(photos).map(values).collect();
    let bare: Vec<Vec<Option<f64>>> = measured
        .iter()
        .map(|v| v.iter().map(|v| v.map(|v| v.value)).collect())
        .collect();
    let rows = joined(&reference.process, &bare, ALIKE);
    let priors: Vec<f64> = Process::ALL
        .iter()
        .map(|p| prior.get(p).copied().unwrap_or(0.0))
        .collect();
    let alone: Vec<Vec<f64>> = bare
        .iter()
        .map(|v| chances(std::slice::from_ref(v), ALIKE, &priors, reference))
        .collect();
    let sums = totals(&rows, Variety::ALL.len());
    let mut bounded = bound(&variety::by_process(&sums), reference.bound_ln());
    let seen_alone = once_each(photos)
        .zip(&alone)
        .filter(|(photo, _)| doubt::dot_screen(std::slice::from_ref(photo)))
        .map(|(_, alone)| alone[Process::Halftone as usize])
        .fold(0.0, f64::max);
    if bare.len() > 1 {
        doubt::raise_reproduction(&mut bounded, &priors, seen_alone);
    }
    let shows_screens = photos.iter().any(may_show_screens);
    if !shows_screens {
        doubt::lessen_between_period_processes(&mut bounded, &priors);
    }
    let several_inks = doubt::several_inks(photos).is_some();
    let posterior = doubt::heeding_screens(
        fuse::posterior(&bounded, &priors),
        doubt::dot_screen(photos) || several_inks,
    );
    let best = index_of_largest(&posterior);
    let fit = bare
        .iter()
        .filter_map(|v| {
            reference
                .clouds
                .get(best)?
                .share_as_far_out(&reference.scores(v))
        })
        .reduce(f64::max);
    let log10_lr = Process::ALL.map(|p| against_the_others(&bounded, p as usize));
    let colour = ColourReading::new(&bare, reference, &posterior);
    let like_one = fit.is_some_and(|p| p >= FITS);
    let relief = (Process::ALL[best] == Process::LineEngraving)
        .then(|| other_chance(&bare, &reference.relief, RELIEF_ODDS));
    let tonal = matches!(
        Process::ALL[best],
        Process::Lithograph | Process::TintedLithograph
    )
    .then(|| other_chance(&bare, &reference.tonal, TONAL_ODDS));
    let but_for_register = (Process::ALL[best] == Process::Halftone && !doubt::dot_screen(photos))
        .then(|| chances(&without(&bare, REGISTER), ALIKE, &priors, reference)[best])
        .filter(|&chance| doubt::rests_on_register(posterior[best], chance, priors[best]));
    let because = doubt::reasons(&doubt::Weighed {
        photos,
        posterior: &posterior,
        best,
        fit,
        relief,
        tonal,
        reproduction_but_for_register: but_for_register,
        anything: bare.iter().flatten().flatten().count() > 0,
    });
    let process = because.is_empty().then_some(Process::ALL[best]);
    let narrowed_to = if process.is_none()
        && like_one
        && !doubt::may_be_relief(relief)
        && !doubt::may_be_tonal(tonal)
        && but_for_register.is_none()
    {
        last_two(&posterior, shows_screens)
    } else {
        Vec::new()
    };
    Reading {
        process,
        posterior: by_process(&posterior),
        prior: prior.clone(),
        log10_lr: by_process(&log10_lr),
        limit_log10_lr: reference.bound_ln() / std::f64::consts::LN_10,
        strength: enfsi_words(log10_lr[best]).to_owned(),
        fit,
        // Several inks look like washes and coloured ink to what tells those, and what is like
        // none of the five is like none of the sheets that they were learned from. Photographs that contradict
        // each other may be of two sheets.
        colouring: colour.kinds(
            shows_screens
                && like_one
                && shows_colour(photos)
                && (!several_inks || best == Process::Halftone as usize)
                && !doubt::contradict(&alone),
        ),
        colouring_posterior: colour.present,
        next_photographs: advice::next(&advice::Seen {
            photos,
            alone: &alone,
            process,
            posterior: &posterior,
            fit,
            relief,
            tonal,
        }),
        shows_screens,
        shows_colour: shows_colour(photos),
        narrowed_to,
        relief,
        tonal,
        undetermined_because: because,
        findings: findings(&measured, &bare, &rows, &sums, reference),
    }
}

/// Probabilities of the processes from the findings of one sheet's photographs alone, from their odds
/// beforehand, were photographs of one sheet alike to the degree `alike`.
fn chances(
    photos: &[Vec<Option<f64>>],
    alike: f64,
    priors: &[f64],
    reference: &Reference,
) -> Vec<f64> {
    let rows = joined(&reference.process, photos, alike);
    let sums = variety::by_process(&totals(&rows, Variety::ALL.len()));
    fuse::posterior(&bound(&sums, reference.bound_ln()), priors)
}

/// The finding that colours lie out of register.
const REGISTER: &str = "layering.out_of_register";

/// The findings with one of them not measured.
fn without(photos: &[Vec<Option<f64>>], key: &str) -> Vec<Vec<Option<f64>>> {
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

/// Chance that it is a print outside the five and not the one that it is likest to, from the odds beforehand.
fn other_chance(photos: &[Vec<Option<f64>>], weigher: &Weigher, odds: f64) -> f64 {
    let sums = totals(&joined(weigher, photos, ALIKE), 2);
    fuse::posterior(&bound(&sums, weigher.bound_ln()), &[1.0, odds])[1]
}

/// The photographs, those with the same bytes once.
fn once_each(photos: &[Examined]) -> impl Iterator<Item = &Examined> {
    let sha256 = |e: &Examined| e.photo.provenance.sha256.clone();
    photos
        .iter()
        .enumerate()
        .filter(move |(i, e)| {
            photos[..*i]
                .iter()
                .all(|before| sha256(before) != sha256(e))
        })
        .map(|(_, e)| e)
}

/// log10 of the likelihood of one hypothesis over the mean likelihood of the others.
fn against_the_others(ln: &[f64], h: usize) -> f64 {
    let others: f64 = ln
        .iter()
        .enumerate()
        .filter(|&(k, _)| k != h)
        .map(|(_, l)| l.exp())
        .sum::<f64>()
        / (ln.len() - 1) as f64;
    (ln[h] - others.ln()) / std::f64::consts::LN_10
}

pub(super) fn index_of_largest(values: &[f64]) -> usize {
    (0..values.len())
        .max_by(|&a, &b| values[a].total_cmp(&values[b]).then(b.cmp(&a)))
        .unwrap_or(0)
}

/// Whether a photograph is good and fine enough that a screen would show; an unknown scale counts
/// as fine enough.
pub(super) fn may_show_screens(examined: &Examined) -> bool {
    let photo = &examined.photo;
    photo.adequacy.verdict != Verdict::Unusable
        && photo
            .scale
            .as_ref()
            .is_none_or(|scale| scale.value >= SCREENS_SHOW_PX_PER_MM)
}

/// Whether any of the photographs holds colour.
fn shows_colour(photos: &[Examined]) -> bool {
    photos.iter().any(|photo| !photo.inked.grey)
}

/// The two likeliest processes, where together they are sure enough and a screen would show; two period
/// processes only where a reproduction is excluded.
fn last_two(posterior: &[f64], shows_screens: bool) -> Vec<Process> {
    // Where a screen would not show, what parts the other processes does not either: of eleven real scans so
    // coarse that were left between two processes, three were of a third.
    if !shows_screens {
        return Vec::new();
    }
    let mut order = Process::ALL;
    order.sort_by(|a, b| posterior[*b as usize].total_cmp(&posterior[*a as usize]));
    let two = &order[..2];
    let sure = two.iter().map(|p| posterior[*p as usize]).sum::<f64>() >= SURE_OF_TWO;
    let reproduction = posterior[Process::Halftone as usize];
    let excluded = reproduction <= REPRODUCTION_EXCLUDED;
    if sure && (two.contains(&Process::Halftone) || excluded) {
        two.to_vec()
    } else {
        Vec::new()
    }
}

fn by_process(values: &[f64]) -> BTreeMap<Process, f64> {
    Process::ALL
        .into_iter()
        .zip(values.iter().copied())
        .collect()
}

/// The findings, the weightiest first, each with its value in the photograph that it weighs most in. `sums` are the
/// ln likelihoods of the varieties by all of them.
fn findings(
    measured: &[Vec<Option<Value>>],
    bare: &[Vec<Option<f64>>],
    rows: &[Option<Vec<f64>>],
    sums: &[f64],
    reference: &Reference,
) -> Vec<Finding> {
    let of_processes = |said: &[f64]| variety::said_of_processes(said, sums);
    let each: Vec<Vec<Vec<f64>>> = bare.iter().map(|v| reference.process.weigh(v)).collect();
    let shown = |f: usize| {
        let seen = measured
            .iter()
            .zip(&each)
            .filter_map(|(v, w)| Some((v[f]?, spread(&of_processes(&w[f])))));
        seen.reduce(|most, next| if next.1 > most.1 { next } else { most })
    };
    let mut findings: Vec<Finding> = FEATURES
        .iter()
        .enumerate()
        .filter_map(|(f, feature)| {
            let row = of_processes(rows[f].as_ref()?);
            let (shown, _) = shown(f)?;
            let mean = row.iter().sum::<f64>() / row.len() as f64;
            let log10_lr = row
                .iter()
                .map(|l| (l - mean) / std::f64::consts::LN_10)
                .collect::<Vec<_>>();
            let usual = &reference.usual[f];
            Some(Finding {
                measurement: feature.key.to_owned(),
                title: feature.title.to_owned(),
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

/// Greatest less least.
fn spread(values: &[f64]) -> f64 {
    let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    most - values.iter().copied().fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_are_left_only_when_sure_and_a_reproduction_is_excluded_or_one_of_them() {
        use Process::{Halftone, LineEngraving, Lithograph, TintedLithograph};
        assert_eq!(
            last_two(&[0.003, 0.002, 0.36, 0.63, 0.005], true),
            [TintedLithograph, Lithograph]
        );
        assert_eq!(
            last_two(&[0.02, 0.5, 0.0, 0.0, 0.48], true),
            [LineEngraving, Halftone]
        );
        // A reproduction is not excluded.
        assert!(last_two(&[0.0, 0.0, 0.38, 0.59, 0.03], true).is_empty());
        assert!(last_two(&[0.08, 0.0, 0.4, 0.515, 0.005], true).is_empty());
        // A screen would not show.
        assert!(last_two(&[0.003, 0.002, 0.36, 0.63, 0.005], false).is_empty());
        assert!(last_two(&[0.02, 0.5, 0.0, 0.0, 0.48], false).is_empty());
    }
}
