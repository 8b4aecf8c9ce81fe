//! One sentence why a sheet reads as it does, for whoever decides what to do with it.

use crate::examine::Examination;
use crate::lot::record::ScreenSeen;
use crate::photo::adequacy::Verdict;
use crate::report::{figures, words};
use crate::weigh::doubt::SURE_ENOUGH;
use crate::weigh::features::YES_OR_NO;
use crate::weigh::outside;
use crate::weigh::reading::{FITS, REPRODUCTION_EXCLUDED, enfsi_words};
use crate::weigh::several_inks::several_inks;
use crate::weigh::{Finding, Process, Reading};

/// Chance from which a reproduction is the first thing to tell of a sheet: as great as a process that is named may
/// be wrong.
const CONSIDERABLE: f64 = 1.0 - SURE_ENOUGH;

/// The sentence.
pub(super) fn sentence(examination: &Examination, screens: &[ScreenSeen]) -> String {
    let reading = &examination.reading;
    let inks = || several_inks(&examination.photos).map(str::to_owned);
    let signs = screen_seen(screens).or_else(inks);
    let clause = nothing_to_weigh(examination).unwrap_or_else(|| of_reading(reading, signs));
    words::sentence(&clause)
}

/// What a reading rests on, with the signs that only a reproduction should have.
fn of_reading(reading: &Reading, signs: Option<String>) -> String {
    match (reading.process, signs) {
        (Some(Process::Halftone), Some(signs)) => signs,
        (Some(process), Some(signs)) => format!("{}, though {signs}", named(reading, process)),
        (Some(process), None) => named(reading, process),
        (None, Some(signs)) => undetermined_with(reading, &signs),
        (None, None) => undetermined(reading),
    }
}

/// The first screen; a lone one is that of whatever the sheet is printed in.
fn screen_seen(screens: &[ScreenSeen]) -> Option<String> {
    let screen = screens.first()?;
    let ruling = screen.ruling_lpi.map_or_else(String::new, |lpi| {
        format!(" of {} lines per inch", figures::number(lpi, 0))
    });
    let ink = match screens {
        [_] => String::new(),
        _ => format!(" in {}", screen.ink),
    };
    Some(format!("a printing screen{ruling} shows{ink}"))
}

/// That nothing can be said of the sheet; nothing where something can.
fn nothing_to_weigh(examination: &Examination) -> Option<String> {
    let photos = &examination.photos;
    if photos
        .iter()
        .all(|p| p.photo.adequacy.verdict == Verdict::Unusable)
    {
        return Some(match photos.len() {
            1 => "the photograph is too poor to be measured".into(),
            n => format!("all {n} photographs are too poor to be measured"),
        });
    }
    let none = examination.reading.findings.is_empty();
    none.then(|| "nothing printed stands out enough to be measured".into())
}

/// How strongly a process is supported, and by what most.
fn named(reading: &Reading, process: Process) -> String {
    let name = with_article(process);
    if reading.strength == enfsi_words(0.0) {
        return format!(
            "what was measured gives no support for {name}, which the odds beforehand make likeliest"
        );
    }
    let support = format!("{} for {name}", reading.strength);
    match heaviest(reading, process) {
        Some(finding) => format!("{support}, most of all by {}", told(finding, process)),
        None => support,
    }
}

/// The finding that speaks most for a process among those that are usual for it: one that is not, however it weighs
/// against the others, would read as a reason against. None where none does.
fn heaviest(reading: &Reading, process: Process) -> Option<&Finding> {
    let weight = |f: &Finding| f.log10_lr.get(&process).copied().unwrap_or(0.0);
    let is_usual = |f: &&Finding| {
        let range = f.reference.get(&process);
        range.is_none_or(|[lo, hi]| (*lo..=*hi).contains(&f.value))
    };
    let mut best: Option<&Finding> = None;
    for finding in reading.findings.iter().filter(is_usual) {
        if weight(finding) > best.map_or(0.0, weight) {
            best = Some(finding);
        }
    }
    best
}

/// A finding with its value and what is usual for a process.
fn told(finding: &Finding, process: Process) -> String {
    let value = if finding.nothing_there {
        words::NONE_FOUND.to_owned()
    } else {
        figures::value_with_interval(finding.value, None, &finding.unit)
    };
    let usual = finding.reference.get(&process);
    let usual = usual.filter(|_| finding.unit != YES_OR_NO);
    let usual = usual.map_or_else(String::new, |r| {
        let range = figures::range_with_unit(r[0], r[1], &finding.unit);
        format!("; usual {range}")
    });
    format!(
        "\u{201c}{}\u{201d} ({value}{usual})",
        with_small_letter(&finding.title)
    )
}

/// Where something shows that only a reproduction should have, but the whole does not settle it.
fn undetermined_with(reading: &Reading, signs: &str) -> String {
    let chance = chance(reading, Process::Halftone);
    let said = figures::per_cent(chance);
    if is_like_none(reading) {
        format!("{signs}, but the print resembles none of the five processes")
    } else if chance >= CONSIDERABLE {
        format!("{signs}, which speaks for a reproduction ({said}), not enough to say so")
    } else if chance > REPRODUCTION_EXCLUDED {
        format!(
            "{signs}, but with all that was measured the chance of a reproduction is {said}, too much to exclude one"
        )
    } else {
        format!("{signs}, but with all that was measured the chance of a reproduction is {said}")
    }
}

/// Where nothing shows that only a reproduction should have.
fn undetermined(reading: &Reading) -> String {
    let Some(best) = reading.best() else {
        return words::support_sentence(reading);
    };
    let reproduction = chance(reading, Process::Halftone);
    if is_like_none(reading) {
        return format!(
            "it resembles none of the five processes: only {} of the drawn reference specimens of {}, the nearest, lie as far out",
            figures::per_cent(reading.fit.unwrap_or(0.0)),
            with_article(best)
        );
    }
    if reproduction >= CONSIDERABLE {
        return may_be_reproduction(reading, best, reproduction);
    }
    let with_chance = |p| {
        format!(
            "{} is likeliest ({}",
            with_article(p),
            percentage(reading, p)
        )
    };
    if !reading.shows_screens {
        "a fine screen would not show at this scale, so no period process is named".into()
    } else if let Some(outside) = reading.likest_outside() {
        format!(
            "it is more like {}, of which no reading is made, than like {}",
            outside.name(),
            with_article(best)
        )
    } else if let Some((outside, chance)) = outside::not_excluded(&reading.outside) {
        format!(
            "{}), but {}, of which no reading is made, is not excluded ({} if one such sheet in five is one)",
            with_chance(best),
            outside.name(),
            figures::per_cent(chance)
        )
    } else if reading.narrowed_to.len() == 2 {
        words::support_sentence(reading)
    } else if chance(reading, best) < SURE_ENOUGH {
        let second = second(reading, best);
        format!(
            "{}, then {} with {}), not enough to name it",
            with_chance(best),
            with_article(second),
            percentage(reading, second)
        )
    } else {
        format!(
            "{}), but a reproduction is not excluded ({})",
            with_chance(best),
            figures::per_cent(reproduction)
        )
    }
}

/// The chance of a reproduction first, then what else it may be.
fn may_be_reproduction(reading: &Reading, best: Process, reproduction: f64) -> String {
    let said = format!(
        "the chance of a reproduction is {}",
        figures::per_cent(reproduction)
    );
    if best == Process::Halftone
        && let Some((outside, chance)) = outside::not_excluded(&reading.outside)
    {
        return format!(
            "{said} among the five, but {}, of which no reading is made, is not excluded ({} if one such sheet in five is one)",
            outside.name(),
            figures::per_cent(chance)
        );
    }
    if best == Process::Halftone && reproduction >= SURE_ENOUGH {
        return format!(
            "{said}, but only by colours that lie out of register, as those of a chromolithograph do too"
        );
    }
    if best == Process::Halftone {
        return format!("{said}, not enough to say so");
    }
    let besides = if !reading.shows_screens {
        ", and a fine screen would not show at this scale".to_owned()
    } else if let Some((outside, _)) = outside::not_excluded(&reading.outside) {
        format!(", and {} is not excluded either", outside.name())
    } else {
        String::new()
    };
    format!(
        "{said}, beside {} for {}{besides}",
        percentage(reading, best),
        with_article(best)
    )
}

fn is_like_none(reading: &Reading) -> bool {
    reading.fit.is_some_and(|fit| fit < FITS)
}

fn chance(reading: &Reading, process: Process) -> f64 {
    reading.posterior.get(&process).copied().unwrap_or(0.0)
}

fn percentage(reading: &Reading, process: Process) -> String {
    figures::per_cent(chance(reading, process))
}

/// The likeliest but one.
fn second(reading: &Reading, best: Process) -> Process {
    let others = Process::ALL.into_iter().filter(|p| *p != best);
    others
        .max_by(|a, b| chance(reading, *a).total_cmp(&chance(reading, *b)))
        .unwrap_or(best)
}

fn with_article(process: Process) -> String {
    let name = process.name();
    format!("{} {name}", words::article(name))
}

fn with_small_letter(title: &str) -> String {
    let mut letters = title.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_lowercase().chain(letters).collect()
    })
}

#[cfg(test)]
mod tests;
