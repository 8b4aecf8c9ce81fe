//! Findings weighed together → a reading, or "undetermined" and why.

use super::advice;
use super::doubt::{self, SCREENS_SHOW_PX_PER_MM, SURE_ENOUGH};
use super::features::{FEATURES, Value};
use super::fuse;
use super::reading::{
    Colouring, FITS, Finding, Process, RELIEF_ODDS, REPRODUCTION_EXCLUDED, Reading, enfsi_words,
};
use super::reference::{Reference, Weigher};
use crate::measure::Examined;
use crate::photo::adequacy::Verdict;
use std::collections::BTreeMap;

/// Two processes are named as all that is left when a wrong call, taken as twenty times as bad as no
/// call, would still be the better bet: a statement that helps less must be surer.
const SURE_OF_TWO: f64 = 0.95;
/// A kind of colouring is read as there, or as not there, when a wrong call, taken as four times as
/// bad as no call, would still be the better bet: at 1 − 1/5.
const COLOUR_SURE_ENOUGH: f64 = 0.8;

/// How far photographs of one sheet are alike, 0–1, as `inktell calibrate sheets` finds it: over 150
/// sheets (2026-11-26) readings from two photographs cost least at 0.80–0.85 (0.2655, at 1 0.2666, from
/// one photograph 0.4368), from three at 1. So a second photograph says much by what it shows that the
/// first does not, and nothing by repeating it.
const ALIKE: f64 = 1.0;

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
    FEATURES
        .iter()
        .map(|feature| (feature.take)(examined))
        .collect()
}

/// Whether there is ink, a screen or a film on it.
fn shows_print(examined: &Examined) -> bool {
    let m = &examined.measurements;
    m.marks.coverage.value().is_some_and(|c| c > 0.0)
        || !m.lines.systems.is_empty()
        || !m.lattice.inks.is_empty()
        || m.film.lab.is_some()
}

/// Weighs the photographs of one sheet. A photograph given twice counts once.
///
/// Photographs of one sheet repeat each other: they share its paper, its ink and one hand. So each
/// finding's ln likelihoods are averaged over the photographs in which it was measured, and count for
/// as many photographs as those are [worth](worth).
#[must_use]
pub fn read(photos: &[Examined], prior: &BTreeMap<Process, f64>, reference: &Reference) -> Reading {
    let measured: Vec<Vec<Option<Value>>> = once_each(photos).map(values).collect();
    let bare: Vec<Vec<Option<f64>>> = measured
        .iter()
        .map(|v| v.iter().map(|v| v.map(|v| v.value)).collect())
        .collect();
    let rows = joined(&reference.process, &bare, ALIKE);
    let sums = totals(&rows, Process::ALL.len());
    let bounded = bound(&sums, reference.process.bound_ln());
    let priors: Vec<f64> = Process::ALL
        .iter()
        .map(|p| prior.get(p).copied().unwrap_or(0.0))
        .collect();
    let specks = doubt::specks_of_inks(photos);
    let posterior = doubt::heeding_screens(
        fuse::posterior(&bounded, &priors),
        doubt::dot_screen(photos) || specks,
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
    let shows_screens = photos.iter().any(may_show_screens);
    let relief = (best == Process::LineEngraving as usize).then(|| relief_chance(&bare, reference));
    let because = doubt::reasons(&doubt::Weighed {
        photos,
        posterior: &posterior,
        best,
        fit,
        relief,
        anything: bare.iter().flatten().flatten().count() > 0,
    });
    let process = because.is_empty().then_some(Process::ALL[best]);
    let narrowed_to =
        if process.is_none() && fit.is_some_and(|p| p >= FITS) && !doubt::may_be_relief(relief) {
            last_two(&posterior, shows_screens)
        } else {
            Vec::new()
        };
    Reading {
        process,
        posterior: by_process(&posterior),
        prior: prior.clone(),
        log10_lr: by_process(&log10_lr),
        limit_log10_lr: reference.process.bound_ln() / std::f64::consts::LN_10,
        strength: enfsi_words(log10_lr[best]).to_owned(),
        fit,
        // Specks of several inks look like washes and coloured ink to what tells those.
        colouring: colour.kinds(shows_screens && (!specks || best == Process::Halftone as usize)),
        colouring_posterior: colour.present,
        next_photographs: advice::next(photos, process, &posterior, fit, relief),
        shows_screens,
        narrowed_to,
        relief,
        undetermined_because: because,
        findings: findings(&measured, &rows, reference),
    }
}

/// Chance that it is a relief print and no line engraving.
fn relief_chance(photos: &[Vec<Option<f64>>], reference: &Reference) -> f64 {
    let weigher = &reference.relief;
    let sums = totals(&joined(weigher, photos, ALIKE), 2);
    fuse::posterior(&bound(&sums, weigher.bound_ln()), &[1.0, RELIEF_ODDS])[1]
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

/// How many photographs of different sheets say as much as `n` of one sheet that are alike to the
/// degree `alike` (0: as different as sheets, 1: one photograph over and over): the effective number of
/// a cluster sample, n / (1 + (n − 1)·ρ). Source: Kish, Survey Sampling (1965), from memory.
fn worth(n: usize, alike: f64) -> f64 {
    n as f64 / (1.0 + (n as f64 - 1.0) * alike)
}

/// Each finding's weighted ln likelihoods, mean over the photographs that show it times what those are
/// worth; none where no photograph shows it.
fn joined(weigher: &Weigher, photos: &[Vec<Option<f64>>], alike: f64) -> Vec<Option<Vec<f64>>> {
    let weighed: Vec<Vec<Vec<f64>>> = photos.iter().map(|v| weigher.weigh(v)).collect();
    (0..weigher.distributions.len())
        .map(|f| {
            let seen: Vec<&Vec<f64>> = weighed
                .iter()
                .zip(photos)
                .filter(|(_, v)| v[f].is_some())
                .map(|(w, _)| &w[f])
                .collect();
            let first = seen.first()?;
            let share = worth(seen.len(), alike) / seen.len() as f64;
            Some(
                (0..first.len())
                    .map(|h| share * seen.iter().map(|row| row[h]).sum::<f64>())
                    .collect(),
            )
        })
        .collect()
}

/// Probabilities of the processes from the findings of one sheet's photographs alone, equal
/// beforehand, were photographs of one sheet alike to the degree `alike`: what [`ALIKE`] is fitted by.
#[must_use]
pub fn posterior_if_alike(
    photos: &[Vec<Option<f64>>],
    alike: f64,
    reference: &Reference,
) -> Vec<f64> {
    let sums = totals(
        &joined(&reference.process, photos, alike),
        Process::ALL.len(),
    );
    let even = [1.0; Process::ALL.len()];
    fuse::posterior(&bound(&sums, reference.process.bound_ln()), &even)
}

fn totals(rows: &[Option<Vec<f64>>], hypotheses: usize) -> Vec<f64> {
    let mut total = vec![0.0; hypotheses];
    for row in rows.iter().flatten() {
        for (t, l) in total.iter_mut().zip(row) {
            *t += l;
        }
    }
    total
}

/// Holds the ratio of the best to every other hypothesis within the bound.
fn bound(ln: &[f64], bound_ln: f64) -> Vec<f64> {
    let top = ln.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    ln.iter().map(|l| (l - top).max(-bound_ln)).collect()
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

fn findings(
    measured: &[Vec<Option<Value>>],
    rows: &[Option<Vec<f64>>],
    reference: &Reference,
) -> Vec<Finding> {
    let mut findings: Vec<Finding> = FEATURES
        .iter()
        .enumerate()
        .filter_map(|(f, feature)| {
            let row = rows[f].as_ref()?;
            let shown = measured.iter().find_map(|v| v[f])?;
            let mean = row.iter().sum::<f64>() / row.len() as f64;
            let log10_lr = row
                .iter()
                .map(|l| (l - mean) / std::f64::consts::LN_10)
                .collect::<Vec<_>>();
            let usual = &reference.process.distributions[f].usual;
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
    let spread = |f: &Finding| {
        let (lo, hi) = f
            .log10_lr
            .values()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), &l| {
                (lo.min(l), hi.max(l))
            });
        hi - lo
    };
    findings.sort_by(|a, b| {
        spread(b)
            .total_cmp(&spread(a))
            .then_with(|| a.measurement.cmp(&b.measurement))
    });
    findings
}

/// Where the colour lies.
struct ColourReading {
    present: BTreeMap<Colouring, f64>,
}

impl ColourReading {
    fn new(photos: &[Vec<Option<f64>>], reference: &Reference, process: &[f64]) -> Self {
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
        // A screened sheet shows no other layer than its inks; a period sheet has no process inks.
        let screened = index_of_largest(process) == Process::Halftone as usize;
        for (kind, p) in &mut present {
            if (*kind == Colouring::ProcessColour) != screened {
                *p = 0.0;
            }
        }
        Self { present }
    }

    /// Each kind on its own evidence: those that are there, and "undetermined" where another may
    /// be there or not. Nothing is said where it may not be told, as where a screen would not show: there marks and ground run together,
    /// and a wash was read in a third of the real scans without one and six tenths of those with one.
    fn kinds(&self, may_be_told: bool) -> Vec<Colouring> {
        if !may_be_told {
            return vec![Colouring::Undetermined];
        }
        // A printed tint says what the process is, so it is named no sooner than that.
        let asked = |kind: Colouring| match kind {
            Colouring::PrintedTint => SURE_ENOUGH,
            _ => COLOUR_SURE_ENOUGH,
        };
        let mut kinds: Vec<Colouring> = self
            .present
            .iter()
            .filter(|&(&kind, &p)| p >= asked(kind))
            .map(|(kind, _)| *kind)
            .collect();
        let open =
            |(&kind, &p): (&Colouring, &f64)| (1.0 - COLOUR_SURE_ENOUGH..asked(kind)).contains(&p);
        if self.present.iter().any(open) {
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
        let kinds = |tint: f64| {
            let present = [(Colouring::PrintedTint, tint), (Colouring::HandWash, 0.02)];
            let present = BTreeMap::from(present);
            ColourReading { present }.kinds(true)
        };
        assert_eq!(kinds(0.92), [Colouring::PrintedTint]);
        assert_eq!(kinds(0.86), [Colouring::Undetermined]);
        assert_eq!(kinds(0.1), [Colouring::None]);
    }

    #[test]
    fn no_colouring_is_named_where_a_screen_would_not_show() {
        let present = BTreeMap::from([(Colouring::HandWash, 0.99)]);
        let reading = ColourReading { present };
        assert_eq!(reading.kinds(true), [Colouring::HandWash]);
        assert_eq!(reading.kinds(false), [Colouring::Undetermined]);
    }

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
