//! Findings weighed together → a reading, or "undetermined" and why.

use super::advice;
use super::caution;
use super::colour::ColourReading;
use super::doubt::{self, LIKELIER_THAN_NOT, SCREENS_SHOW_PX_PER_MM};
use super::evidence::{Evidence, by_process, findings, once_each};
use super::features::{FEATURES, Feature};
use super::fuse;
use super::outside::{self, Outside};
use super::reading::{Colouring, FITS, Process, REPRODUCTION_EXCLUDED, Reading, enfsi_words};
use super::reference::Reference;
use super::together::{ALIKE, bound, joined, totals};
use super::told_apart::chances_outside;
use super::variety::{self, Variety};
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

/// How likely each process is.
struct Chances {
    /// Odds beforehand, as shares.
    priors: Vec<f64>,
    /// By each photograph alone.
    alone: Vec<Vec<f64>>,
    /// ln likelihoods by all of them, within what the reference supports.
    bounded: Vec<f64>,
    /// By all of them.
    posterior: Vec<f64>,
    /// The likeliest.
    best: usize,
}

impl Chances {
    fn of(
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
            .map(|v| chances(std::slice::from_ref(v), ALIKE, &priors, reference))
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
        if !photos.iter().any(may_show_screens) {
            doubt::lessen_between_period_processes(&mut bounded);
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
    fn likeliest(&self) -> Process {
        Process::ALL[self.best]
    }
}

/// What else it may be than the likeliest process.
struct Besides {
    /// Share of that process's specimens that lie as far out.
    fit: Option<f64>,
    /// Chances of what outside the five the likeliest is told from.
    outside: BTreeMap<Outside, f64>,
    /// Chance of a reproduction by all other findings, where it rests on colours out of register.
    but_for_register: Option<f64>,
}

impl Besides {
    fn of(
        photos: &[Examined],
        evidence: &Evidence,
        chances_of: &Chances,
        reference: &Reference,
    ) -> Self {
        let Evidence { bare, .. } = evidence;
        let &Chances {
            ref priors,
            ref posterior,
            best,
            ..
        } = chances_of;
        let cloud = reference.clouds.get(best);
        let as_far_out = |v: &Vec<Option<f64>>| cloud?.share_as_far_out(&reference.scores(v));
        let likeliest = chances_of.likeliest();
        Self {
            fit: bare.iter().filter_map(as_far_out).reduce(f64::max),
            outside: chances_outside(&reference.outside, bare, likeliest),
            but_for_register: (likeliest == Process::Halftone && !doubt::dot_screen(photos))
                .then(|| chances(&without(bare, REGISTER), ALIKE, priors, reference)[best])
                .filter(|&chance| doubt::rests_on_register(posterior[best], chance, priors[best])),
        }
    }

    /// Whether it is like the specimens of the likeliest process.
    fn like_one(&self) -> bool {
        self.fit.is_some_and(|p| p >= FITS)
    }

    /// Whether it is rather no print at all.
    fn is_rather_cloth(&self) -> bool {
        let likeliest = outside::not_excluded(&self.outside);
        likeliest.is_some_and(|(outside, chance)| {
            outside == Outside::Cloth && chance > LIKELIER_THAN_NOT
        })
    }

    /// Whether all else but the five is excluded as far as can be told.
    fn one_of_the_five(&self) -> bool {
        self.like_one()
            && outside::not_excluded(&self.outside).is_none()
            && self.but_for_register.is_none()
    }
}

/// Weighs the photographs of one sheet. A photograph given twice counts once.
///
/// Photographs of one sheet repeat each other: they share its paper, its ink and one hand. So each
/// finding's ln likelihoods are averaged over the photographs in which it was measured, and count for as many as those
/// are worth: by [`ALIKE`], for one.
#[must_use]
pub fn read(photos: &[Examined], prior: &BTreeMap<Process, f64>, reference: &Reference) -> Reading {
    let evidence = Evidence::of(photos, reference);
    let chances = Chances::of(photos, &evidence, prior, reference);
    let besides = Besides::of(photos, &evidence, &chances, reference);
    let log10_lr = Process::ALL.map(|p| against_the_others(&chances.bounded, p as usize));
    let undetermined_because = doubt::reasons(&doubt::Weighed {
        photos,
        posterior: &chances.posterior,
        best: chances.best,
        log10_lr: log10_lr[chances.best],
        fit: besides.fit,
        outside: &besides.outside,
        reproduction_but_for_register: besides.but_for_register,
        anything: evidence.bare.iter().flatten().flatten().count() > 0,
    });
    let process = undetermined_because.is_empty().then(|| chances.likeliest());
    let shows_screens = photos.iter().any(may_show_screens);
    let narrowed_to = if process.is_none() && besides.one_of_the_five() {
        last_two_as_measured(&chances, shows_screens)
    } else {
        Vec::new()
    };
    let colour = ColourReading::new(&evidence.bare, reference, &chances.posterior);
    let may_be_told = colouring_may_be_told(photos, &chances, &besides);
    let colouring = colouring_told(colour.kinds(may_be_told), photos, &besides);
    Reading {
        process,
        posterior: by_process(&chances.posterior),
        prior: prior.clone(),
        log10_lr: by_process(&log10_lr),
        limit_log10_lr: reference.bound_ln() / std::f64::consts::LN_10,
        strength: enfsi_words(log10_lr[chances.best]).to_owned(),
        fit: besides.fit,
        colouring_posterior: colour.present,
        next_photographs: advice::next(&advice::Seen {
            photos,
            alone: &chances.alone,
            process,
            posterior: &chances.posterior,
            fit: besides.fit,
            outside: &besides.outside,
            colour_open: may_be_told && colouring.contains(&Colouring::Undetermined),
        }),
        colouring,
        cautions: cautions(photos, &evidence, &chances, process, reference),
        shows_screens,
        shows_colour: shows_colour(photos),
        lit_in_two_colours: lit_in_two_colours(photos),
        narrowed_to,
        outside: besides.outside,
        undetermined_because,
        findings: findings(&evidence, reference),
    }
}

fn cautions(
    photos: &[Examined],
    evidence: &Evidence,
    chances: &Chances,
    process: Option<Process>,
    reference: &Reference,
) -> Vec<String> {
    let fit = |(values, alone): (&Vec<Option<f64>>, &Vec<f64>)| {
        let cloud = reference.clouds.get(index_of_largest(alone))?;
        cloud.share_as_far_out(&reference.scores(values))
    };
    let fits: Vec<Option<f64>> = evidence.bare.iter().zip(&chances.alone).map(fit).collect();
    caution::told(&caution::Told {
        photos: &once_each(photos).collect::<Vec<_>>(),
        alone: &chances.alone,
        fits: &fits,
        process,
    })
}

/// The kinds of colouring as far as they may be told: process colour is a reproduction's and stays open where only register
/// speaks for one, and where several inks are screened the print is not in one.
fn colouring_told(kinds: Vec<Colouring>, photos: &[Examined], besides: &Besides) -> Vec<Colouring> {
    let open = |kind: Colouring| match kind {
        Colouring::ProcessColour => besides.but_for_register.is_some(),
        Colouring::None => photos.iter().any(|p| p.measurements.lattice.inks.len() > 1),
        _ => false,
    };
    let mut told: Vec<Colouring> = kinds
        .into_iter()
        .map(|kind| {
            if open(kind) {
                Colouring::Undetermined
            } else {
                kind
            }
        })
        .collect();
    told.dedup();
    told
}

/// Whether anything may be said of where the colour lies. Several inks look like washes and coloured ink to what tells
/// those, and what is like none of the five is like none of the sheets that they were learned from. Photographs that
/// contradict each other may be of two sheets.
fn colouring_may_be_told(photos: &[Examined], chances: &Chances, besides: &Besides) -> bool {
    let several_inks = doubt::several_inks(photos).is_some();
    // Process inks are told by their spots, whatever the light.
    let ground_told = !lit_in_two_colours(photos) || chances.likeliest() == Process::Halftone;
    photos.iter().any(may_show_screens)
        && shows_colour(photos)
        && ground_told
        && besides.like_one()
        && !besides.is_rather_cloth()
        && (!several_inks || chances.likeliest() == Process::Halftone)
        && !doubt::contradict(&chances.alone)
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

pub(crate) fn index_of_largest(values: &[f64]) -> usize {
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

/// Whether the colour of the ground can be told in none of the photographs, as their light is of two colours.
fn lit_in_two_colours(photos: &[Examined]) -> bool {
    let mut in_colour = photos.iter().filter(|p| !p.inked.grey).peekable();
    in_colour.peek().is_some() && in_colour.all(|p| p.inked.is_lit_in_two_colours())
}

/// The two that are left by the odds given beforehand, where what was measured leaves the same two.
fn last_two_as_measured(chances: &Chances, shows_screens: bool) -> Vec<Process> {
    let by_the_odds = last_two(&chances.posterior, shows_screens);
    let equal = [1.0; Process::ALL.len()];
    let measured = last_two(&fuse::posterior(&chances.bounded, &equal), shows_screens);
    let same = by_the_odds.iter().all(|p| measured.contains(p));
    if same { by_the_odds } else { Vec::new() }
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
