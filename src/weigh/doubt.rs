//! What chances are drawn together or raised before a process is named, and why none is named.

use super::bearing::{may_show_screens, too_poor};
use super::chances::index_of_largest;
use super::outside::{self, Outside};
use super::reading::{Process, REPRODUCTION_EXCLUDED};
use super::several_inks::{dot_screen, several_inks};
use crate::measure::Examined;
use std::collections::BTreeMap;

/// A process is read when a wrong call, taken as four times as bad as no call, would still be the better bet: at
/// 1 − 1/5, as a kind of colouring is. It is a choice between deciding more and deciding rightly: of 8000 specimens of a
/// megapixel 75.2 % are decided in cross-validation and 98.3 % of those rightly; at 0.85 it is 73.6 % and 98.6 %, at 0.75
/// 76.5 % and 98.1 % (2026-11-28, before what else is asked below). Reproductions are kept out by [`REPRODUCTION_EXCLUDED`] whatever stands here.
pub const SURE_ENOUGH: f64 = 0.8;
/// Pixels per mm below which no period process is named: a screen of 150 lines an inch would have
/// under four pixels a line, and only 8 % of the reference specimens are as coarse. (Of 13 scans of
/// screened prints at 5–16 px/mm two came out at under 1 % for a reproduction.)
pub const SCREENS_SHOW_PX_PER_MM: f64 = 20.0;

/// Share at which the ln likelihoods of the period processes count against one another on photographs so coarse: what is
/// learned from drawn specimens proved five times too sure there. Fitted on 60 scans of real prints at 5–16 px/mm
/// from six sources: with it the cost of a wrong probability (equal priors, 1 = no evidence) is 0.82
/// instead of 1.24; with the share fitted on the other sources, 0.1 to 0.3, it is 0.86 on the one left out.
const COARSE_SHARE: f64 = 0.2;

/// What a reading is judged by.
pub struct Weighed<'a> {
    /// The photographs.
    pub photos: &'a [Examined],
    /// Those of them that the reading rests on.
    pub rested_on: &'a [&'a Examined],
    /// Probability of each process.
    pub posterior: &'a [f64],
    /// The likeliest.
    pub best: usize,
    /// log10 of the likelihood of the likeliest over the mean of the others: what was measured says of it, whatever the
    /// odds beforehand.
    pub log10_lr: f64,
    /// Share of its reference specimens that lie as far out.
    pub fit: Option<f64>,
    /// Whether it is like one of the five.
    pub like_one: bool,
    /// Chances of what outside the five the likeliest is told from.
    pub outside: &'a BTreeMap<Outside, f64>,
    /// Chance of a reproduction by all other findings, where it rests on colours out of register.
    pub reproduction_but_for_register: Option<f64>,
    /// Whether anything was measured.
    pub anything: bool,
}

impl Weighed<'_> {
    fn reads_as_reproduction(&self) -> bool {
        self.best == Process::Halftone as usize
    }

    fn name(&self) -> &'static str {
        Process::ALL[self.best].name()
    }

    /// How far out the print lies among the likeliest process, where that is too far to be one of the five.
    fn like_none(&self) -> Option<f64> {
        self.fit.filter(|_| !self.like_one)
    }
}

/// Least chance of a reproduction where a square screen of dots is found: a sum of many slight findings must not outvote the
/// one that only a reproduction should show. By an earlier weighing 7 of 24 specimens whose other findings outvoted a lattice
/// were reproductions, and it was set by those. By the present one a square one is outvoted on two specimens, both period prints, of
/// 1422 (cross-validation, 2026-11-28): too few to set anything by, so it stays.
const WITH_A_SCREEN: f64 = 0.3;

/// Probabilities with the chance of a reproduction no lower than the screens or specks found allow.
#[must_use]
pub fn heeding_screens(mut posterior: Vec<f64>, screened: bool) -> Vec<f64> {
    let reproduction = Process::Halftone as usize;
    let chance = posterior[reproduction];
    if screened && chance < WITH_A_SCREEN {
        let left = (1.0 - WITH_A_SCREEN) / (1.0 - chance);
        posterior.iter_mut().for_each(|p| *p *= left);
        posterior[reproduction] = WITH_A_SCREEN;
    }
    posterior
}

/// Draws what the ln likelihoods of the period processes say more than those by the fine photographs alone, `by_fine` (all
/// alike where there are none), together to [`COARSE_SHARE`]; at equal priors the chance of a
/// reproduction stays. Priors have no part in it, or the likelihoods would depend on them.
pub fn lessen_between_period_processes(ln: &mut [f64], by_fine: &[f64]) {
    let reproduction = Process::Halftone as usize;
    let period = || (0..Process::ALL.len()).filter(|&k| k != reproduction);
    let together = |ln: &[f64]| period().map(|k| ln[k].exp()).sum::<f64>();
    let before = together(ln);
    for k in period() {
        ln[k] = by_fine[k] + COARSE_SHARE * (ln[k] - by_fine[k]);
    }
    let back = (before / together(ln)).ln();
    for k in period() {
        ln[k] += back;
    }
}

/// Raises the ln likelihood of a reproduction so far that at equal odds its chance is not below `least`: a screen seen
/// in one photograph of a sheet is not unseen by another that does not show it.
pub fn raise_reproduction(ln: &mut [f64], least: f64) {
    let reproduction = Process::Halftone as usize;
    let others: f64 = (0..ln.len())
        .filter(|&k| k != reproduction)
        .map(|k| ln[k].exp())
        .sum();
    if least <= 0.0 || least >= 1.0 || others <= 0.0 {
        return;
    }
    let asked = (least / (1.0 - least) * others).ln();
    ln[reproduction] = ln[reproduction].max(asked);
}

/// Whether by themselves some photographs speak for a reproduction and others for a period print, whatever the odds
/// beforehand. One on which nothing was weighed speaks for neither: at equal odds a reproduction's chance is a fifth there.
#[must_use]
pub fn contradict(alone: &[Vec<f64>]) -> bool {
    let chances = || alone.iter().map(|p| p[Process::Halftone as usize]);
    chances().any(|p| p >= SURE_ENOUGH) && chances().any(|p| p <= 1.0 - SURE_ENOUGH)
}

/// Chance of a reproduction that the findings besides register must reach. At a fifth, the odds beforehand, it hung on the
/// fit: a colour wood engraving of the real scans, at 15.5 and 19.5 % by two of them, passed that by a third and was named.
/// Of cloth it says from where on no colouring is told, and of a process from where on what it is told from is named.
pub const LIKELIER_THAN_NOT: f64 = 0.5;

/// Whether only colours out of register speak for a reproduction: its chance by all findings, by all but that one, and
/// beforehand. Where the odds given beforehand and not the findings make it likely, register does not. Chromolithographs
/// and prints from several colour blocks, which have no reference of their own, are printed one ink after the other
/// too: a colour wood engraving of the 1860s would have been named a reproduction.
#[must_use]
pub fn rests_on_register(chance: f64, but_for_register: f64, beforehand: f64) -> bool {
    but_for_register < beforehand.max(LIKELIER_THAN_NOT) && beforehand <= chance
}

/// How the reason begins that a screen of dots was found.
pub const DOTS_FOUND: &str = "a screen of dots was found";

/// Reasons against naming the likeliest process; none where it may be named.
#[must_use]
pub fn reasons(weighed: &Weighed) -> Vec<String> {
    let mut because: Vec<String> = by_the_photographs(weighed).into_iter().collect();
    if !weighed.anything {
        because.push("nothing printed stands out enough to be measured".to_owned());
        return because;
    }
    because.extend(something_else(weighed));
    because.extend(by_screens_and_inks(weighed));
    // Chances among the five say little of what is like none of them.
    if weighed.like_none().is_none() {
        because.extend(not_sure_enough(weighed));
    }
    because
}

/// What the photographs cannot bear.
fn by_the_photographs(weighed: &Weighed) -> Option<String> {
    let any = |of: fn(&Examined) -> bool| weighed.rested_on.iter().any(|photo| of(photo));
    // Clipping to black and white, as in a line scan, takes all else but leaves a screen standing.
    let shows_its_screen = weighed.reads_as_reproduction() && dot_screen(weighed.photos);
    if !any(|photo| !too_poor(photo)) && !shows_its_screen {
        Some("the photograph is too poor for what was measured on it to be relied on".to_owned())
    } else if !weighed.reads_as_reproduction() && !any(may_show_screens) {
        Some(format!(
            "a fine screen would not show at this scale; {SCREENS_SHOW_PX_PER_MM:.0} pixels per mm are asked for before a period process is named"
        ))
    } else {
        None
    }
}

/// What lies outside the five and is not excluded.
fn something_else(weighed: &Weighed) -> Vec<String> {
    let mut because = Vec::new();
    if let Some(fit) = weighed.like_none() {
        because.push(format!(
            "it resembles none of the five processes: only {:.1}\u{a0}% of the drawn reference specimens of {}, the nearest, lie as far out",
            100.0 * fit,
            weighed.name()
        ));
    }
    if let Some((outside, chance)) = outside::not_excluded(weighed.outside) {
        because.push(format!(
            "{}, outside the five, is not excluded: supposing that one such sheet in five is one, the chance that this is one is {:.1}\u{a0}%, and below {:.0}\u{a0}% is asked for",
            outside.name(),
            100.0 * chance,
            100.0 * outside::EXCLUDED
        ));
    }
    because
}

/// What screens, specks and register say against the likeliest process.
fn by_screens_and_inks(weighed: &Weighed) -> Vec<String> {
    let mut because = Vec::new();
    let period = !weighed.reads_as_reproduction();
    if period && dot_screen(weighed.photos) {
        because.push(format!(
            "{DOTS_FOUND}, which only a reproduction should show; the mesh of wove paper or crossed ruling can be taken for one"
        ));
    }
    if let Some(chance) = weighed.reproduction_but_for_register {
        because.push(format!(
            "only the colours of the marks, which lie out of register, speak for a reproduction: without that its chance would be {:.1}\u{a0}%; a chromolithograph or a print from several colour blocks, outside the five, shows it too",
            100.0 * chance
        ));
    }
    if let Some(seen) = several_inks(weighed.photos).filter(|_| period) {
        because.push(format!(
            "{seen}, as in a colour reproduction; a chromolithograph, which is outside the five, might show the like"
        ));
    }
    because
}

/// Least likelihood ratio at which anything was said in favour of a process (ENFSI guideline: 1 to 2 is no support).
const SAYS_SOMETHING: f64 = 2.0;

/// A chance short of [`SURE_ENOUGH`] in per cent, which rounding to one decimal must not lift to that.
#[must_use]
pub fn per_cent_short_of_sure(chance: f64) -> f64 {
    const LAST_DECIMAL: f64 = 0.1;
    (100.0 * chance).min(100.0 * SURE_ENOUGH - LAST_DECIMAL)
}

/// How far the chances fall short.
fn not_sure_enough(weighed: &Weighed) -> Option<String> {
    let posterior = weighed.posterior;
    if weighed.log10_lr < SAYS_SOMETHING.log10() && posterior[weighed.best] >= SURE_ENOUGH {
        return Some(format!(
            "only the odds given beforehand speak for a {}, what was measured does not",
            weighed.name()
        ));
    }
    let chance = posterior[weighed.best];
    let halftone = posterior[Process::Halftone as usize];
    if chance < SURE_ENOUGH {
        let mut others = posterior.to_vec();
        others[weighed.best] = -1.0;
        let second = index_of_largest(&others);
        Some(format!(
            "a {} is likeliest ({:.1}\u{a0}%, then a {} with {:.1}\u{a0}%), but {:.0}\u{a0}% is asked for",
            weighed.name(),
            per_cent_short_of_sure(chance),
            Process::ALL[second].name(),
            100.0 * posterior[second],
            100.0 * SURE_ENOUGH
        ))
    } else if !weighed.reads_as_reproduction() && halftone > REPRODUCTION_EXCLUDED {
        Some(format!(
            "a reproduction is not excluded: its chance is {:.1}\u{a0}%, and below {:.0}\u{a0}% is asked for before a period process is named",
            100.0 * halftone,
            100.0 * REPRODUCTION_EXCLUDED
        ))
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn odds_alone_name_nothing() {
        let posterior = [0.97, 0.01, 0.01, 0.005, 0.005];
        let none = BTreeMap::new();
        let weighed = |log10_lr| Weighed {
            photos: &[],
            rested_on: &[],
            posterior: &posterior,
            best: 0,
            log10_lr,
            fit: Some(0.5),
            like_one: true,
            outside: &none,
            reproduction_but_for_register: None,
            anything: true,
        };
        assert_eq!(not_sure_enough(&weighed(1.5)), None);
        for says_nothing in [0.2, -1.0] {
            let because = not_sure_enough(&weighed(says_nothing)).unwrap();
            assert!(
                because.contains("beforehand speak for a stipple"),
                "{because}"
            );
        }
    }

    #[test]
    fn what_falls_short_is_not_rounded_to_what_is_asked_for() {
        let none = BTreeMap::new();
        let weighed = Weighed {
            photos: &[],
            rested_on: &[],
            posterior: &[0.7998, 0.18, 0.01, 0.005, 0.0052],
            best: 0,
            log10_lr: 1.0,
            fit: Some(0.5),
            like_one: true,
            outside: &none,
            reproduction_but_for_register: None,
            anything: true,
        };
        let because = not_sure_enough(&weighed).unwrap();
        assert!(because.contains("(79.9\u{a0}%, then"), "{because}");
    }

    #[test]
    fn a_screen_of_dots_keeps_a_reproduction_in_play() {
        let period = vec![0.9, 0.03, 0.04, 0.02, 0.01];
        assert_eq!(heeding_screens(period.clone(), false), period);
        let heeded = heeding_screens(period.clone(), true);
        approx::assert_abs_diff_eq!(heeded[4], WITH_A_SCREEN, epsilon = 1e-12);
        approx::assert_abs_diff_eq!(heeded.iter().sum::<f64>(), 1.0, epsilon = 1e-12);
        approx::assert_abs_diff_eq!(heeded[0] / heeded[1], 30.0, epsilon = 1e-9);
        let reproduction = vec![0.02, 0.01, 0.01, 0.01, 0.95];
        assert_eq!(heeding_screens(reproduction.clone(), true), reproduction);
    }

    #[test]
    fn register_alone_names_no_reproduction() {
        assert!(rests_on_register(0.9, 0.1, 0.2));
        assert!(rests_on_register(0.9, 0.3, 0.2));
        assert!(!rests_on_register(0.9, 0.6, 0.2));
        // Likely by the odds beforehand, against what was found: not by register either.
        assert!(!rests_on_register(0.6, 0.5, 0.9));
    }

    #[test]
    fn a_coarse_photograph_parts_period_processes_less_and_reproductions_as_much() {
        let chances = |ln: &[f64]| crate::weigh::fuse::posterior(ln, &[0.2; 5]);
        let fine = vec![0.0, -2.0, -4.0, -1.0, -3.0];
        let mut coarse = fine.clone();
        lessen_between_period_processes(&mut coarse, &[0.0; 5]);
        approx::assert_abs_diff_eq!(chances(&coarse)[4], chances(&fine)[4], epsilon = 1e-12);
        approx::assert_abs_diff_eq!(coarse[0] - coarse[2], 0.2 * 4.0, epsilon = 1e-12);
        // Beside a fine one a fifth counts of what it adds to that.
        let mut both = fine.clone();
        lessen_between_period_processes(&mut both, &[0.0, -1.0, -3.0, -2.0, -5.0]);
        approx::assert_abs_diff_eq!(chances(&both)[4], chances(&fine)[4], epsilon = 1e-12);
        approx::assert_abs_diff_eq!(both[0] - both[2], 3.0 + 0.2, epsilon = 1e-12);
    }

    #[test]
    fn a_screen_seen_in_one_photograph_is_not_outvoted_by_another() {
        let chance = |ln: &[f64]| crate::weigh::fuse::posterior(ln, &[0.2; 5])[4];
        let mut ln = vec![-3.0, -5.0, -1.0, 0.0, -0.5];
        let before = chance(&ln);
        raise_reproduction(&mut ln, 0.99);
        approx::assert_abs_diff_eq!(chance(&ln), 0.99, epsilon = 1e-12);
        let mut surer = vec![-9.0, -9.0, -9.0, -9.0, 0.0];
        raise_reproduction(&mut surer, 0.9);
        assert_eq!(surer[4], 0.0);
        let mut none = vec![-3.0, -5.0, -1.0, 0.0, -0.5];
        raise_reproduction(&mut none, 0.0);
        approx::assert_abs_diff_eq!(chance(&none), before, epsilon = 1e-12);
    }
}
