//! Findings weighed together → a reading, or "undetermined" and why.

use super::advice;
use super::bearing::{may_show_screens, rested_on};
use super::caution;
use super::chances::{Chances, REGISTER, chances, without};
use super::colour::ColourReading;
use super::doubt::{self, LIKELIER_THAN_NOT};
use super::evidence::{Evidence, by_process, findings, once_each};
use super::last_two::last_two_as_measured;
use super::outside::{self, Outside};
use super::reading::{Colouring, FITS, Process, Reading, enfsi_words};
use super::reference::Reference;
use super::several_inks::{dot_screen, rosette, several_inks};
use super::together::ALIKE;
use super::told_apart::chances_outside;
use crate::measure::Examined;
use std::collections::BTreeMap;

pub(crate) use super::chances::index_of_largest;
pub use super::chances::posterior_if_alike;

/// Equal priors over the five processes.
#[must_use]
pub fn equal_priors() -> BTreeMap<Process, f64> {
    Process::ALL
        .iter()
        .map(|&p| (p, 1.0 / Process::ALL.len() as f64))
        .collect()
}

/// What else it may be than the likeliest process.
struct Besides {
    /// Share of that process's specimens that lie as far out.
    fit: Option<f64>,
    /// Whether it is likest to a reproduction and shows a rosette. Then it is a colour reproduction however few of the
    /// reference are like it: of 180 of its reproductions 26 show one, and of its 6876 other specimens four show screens in
    /// three inks, none of them a rosette.
    rosette: bool,
    /// Chances of what outside the five the likeliest is told from; none where nothing was weighed.
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
        let likeliest = chances_of.likeliest();
        Self {
            fit: fit_of(likeliest, bare, reference),
            rosette: likeliest == Process::Halftone && rosette(photos),
            outside: if evidence.anything() {
                chances_outside(&reference.outside, bare, likeliest)
            } else {
                BTreeMap::new()
            },
            but_for_register: (likeliest == Process::Halftone && !dot_screen(photos))
                .then(|| chances(&without(bare, REGISTER), ALIKE, priors, reference)[best])
                .filter(|&chance| doubt::rests_on_register(posterior[best], chance, priors[best])),
        }
    }

    /// Whether it is like the specimens of the likeliest process.
    fn like_one(&self) -> bool {
        self.rosette || self.fit.is_some_and(|p| p >= FITS)
    }

    /// Whether it is rather no print at all.
    fn is_rather_cloth(&self) -> bool {
        let likeliest = outside::not_excluded(&self.outside);
        likeliest.is_some_and(|(outside, chance)| {
            outside == Outside::Cloth && chance > LIKELIER_THAN_NOT
        })
    }
}

/// Share of a process's specimens that lie as far out as the photograph that is likest to them.
fn fit_of(process: Process, photos: &[Vec<Option<f64>>], reference: &Reference) -> Option<f64> {
    let cloud = reference.clouds.get(process as usize)?;
    let as_far_out = |v: &Vec<Option<f64>>| cloud.share_as_far_out(&reference.scores(v));
    photos.iter().filter_map(as_far_out).reduce(f64::max)
}

/// Whether a sheet is like one process and nothing outside the five that is told from that comes into question.
fn may_be(process: Process, photos: &[Vec<Option<f64>>], reference: &Reference) -> bool {
    let outside = chances_outside(&reference.outside, photos, process);
    fit_of(process, photos, reference).is_some_and(|p| p >= FITS)
        && outside::not_excluded(&outside).is_none()
}

/// Whether a sheet may be any of some processes, and nothing outside the five that is told from one of them.
fn all_may_be(processes: &[Process], photos: &[Vec<Option<f64>>], reference: &Reference) -> bool {
    processes.iter().all(|p| may_be(*p, photos, reference))
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
    let rested_on = rested_on(photos, &evidence);
    let undetermined_because = doubt::reasons(&doubt::Weighed {
        photos,
        rested_on: &rested_on,
        posterior: &chances.posterior,
        best: chances.best,
        log10_lr: log10_lr[chances.best],
        fit: besides.fit,
        like_one: besides.like_one(),
        outside: &besides.outside,
        reproduction_but_for_register: besides.but_for_register,
        anything: evidence.anything(),
    });
    let process = undetermined_because.is_empty().then(|| chances.likeliest());
    let shows_screens = rested_on.iter().any(|photo| may_show_screens(photo));
    let may_be_narrowed = process.is_none() && besides.but_for_register.is_none();
    let two = last_two_as_measured(&chances, shows_screens);
    let may_both_be = may_be_narrowed && all_may_be(&two, &evidence.bare, reference);
    let narrowed_to = if may_both_be { two } else { Vec::new() };
    let colour = ColourReading::new(&evidence.bare, reference, &chances.posterior);
    let may_be_told = shows_screens && colouring_may_be_told(photos, &chances, &besides);
    let colouring = colouring_told(colour.kinds(may_be_told, process), photos);
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
        cautions: cautions(photos, &rested_on, &evidence, &chances, process, reference),
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
    rested_on: &[&Examined],
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
        rested_on,
        alone: &chances.alone,
        fits: &fits,
        process,
    })
}

/// The kinds of colouring as far as they may be told: where several inks are screened the print is not in one.
fn colouring_told(mut kinds: Vec<Colouring>, photos: &[Examined]) -> Vec<Colouring> {
    let in_several = photos.iter().any(|p| p.measurements.lattice.inks.len() > 1);
    if in_several && kinds == [Colouring::None] {
        kinds = vec![Colouring::Undetermined];
    }
    kinds
}

/// Whether anything may be said of where the colour lies. Several inks look like washes and coloured ink to what tells
/// those, and what is like none of the five is like none of the sheets that they were learned from. Photographs that
/// contradict each other may be of two sheets.
fn colouring_may_be_told(photos: &[Examined], chances: &Chances, besides: &Besides) -> bool {
    let several_inks = several_inks(photos).is_some();
    // Process inks are told by their spots, whatever the light.
    let ground_told = !lit_in_two_colours(photos) || chances.likeliest() == Process::Halftone;
    shows_colour(photos)
        && ground_told
        && besides.like_one()
        && !besides.is_rather_cloth()
        && (!several_inks || chances.likeliest() == Process::Halftone)
        && !doubt::contradict(&chances.alone)
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

/// Whether any of the photographs holds colour.
fn shows_colour(photos: &[Examined]) -> bool {
    photos.iter().any(|photo| !photo.inked.grey)
}

/// Whether the colour of the ground can be told in none of the photographs, as their light is of two colours.
fn lit_in_two_colours(photos: &[Examined]) -> bool {
    let mut in_colour = photos.iter().filter(|p| !p.inked.grey).peekable();
    in_colour.peek().is_some() && in_colour.all(|p| p.inked.is_lit_in_two_colours())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::weigh::reference::REFERENCE;
    use crate::weigh::table::{Subject, Table};

    #[test]
    fn where_nothing_was_weighed_nothing_outside_the_five_comes_into_question() {
        let nothing = read(&[], &equal_priors(), &REFERENCE);
        assert_eq!(nothing.outside, BTreeMap::new());
        let told = nothing.next_photographs.join(" ");
        assert!(!told.contains("chromolithograph"), "{told}");
    }

    /// Pictures in tone of the calibration table, which are told from lithographs and from stipple are not, and lithographs.
    #[test]
    fn of_two_that_are_left_each_is_told_from_what_is_outside_the_five() {
        let file = concat!(
            env!("CARGO_MANIFEST_DIR"),
            "/fixtures/calibration/training.csv"
        );
        let mut table = Table::read(std::path::Path::new(file)).unwrap();
        let wanted = [
            Subject::Outside(Outside::Tonal),
            Subject::Process(Process::Lithograph),
        ];
        table.rows.retain(|row| wanted.contains(&row.subject));
        let two = [Process::StippleEngraving, Process::Lithograph];
        let (mut kept, mut held_back) = (0, 0);
        for row in table.rows {
            let photos = [row.values];
            let [may_be_stipple, may_be_stone] = two.map(|p| may_be(p, &photos, &REFERENCE));
            if may_be_stipple && !may_be_stone {
                held_back += 1;
            } else if may_be_stipple {
                kept += 1;
            }
            assert_eq!(
                all_may_be(&two, &photos, &REFERENCE),
                may_be_stipple && may_be_stone
            );
        }
        assert!(kept > 0 && held_back > 0, "{kept} kept, {held_back} not");
    }
}
