//! One sentence why a sheet reads as it does, for whoever decides what to do with it.

use crate::examine::Examination;
use crate::lot::record::ScreenSeen;
use crate::photo::adequacy::Verdict;
use crate::report::{figures, words};
use crate::weigh::doubt::{SURE_ENOUGH, may_be_relief, may_be_tonal, several_inks};
use crate::weigh::reading::{FITS, REPRODUCTION_EXCLUDED, enfsi_words};
use crate::weigh::{Finding, Process, Reading};

/// Chance from which a reproduction is the first thing to tell of a sheet: as great as a process that is named may
/// be wrong.
const CONSIDERABLE: f64 = 1.0 - SURE_ENOUGH;
/// Unit of a finding that is there or not: it has no usual range worth telling.
const YES_OR_NO: &str = "1 = yes";

/// The sentence.
pub(super) fn sentence(examination: &Examination, screens: &[ScreenSeen]) -> String {
    let reading = &examination.reading;
    let signs = match screens.first() {
        Some(screen) => Some(screen_seen(screen)),
        None => several_inks(&examination.photos).map(str::to_owned),
    };
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

fn screen_seen(screen: &ScreenSeen) -> String {
    let ruling = screen.ruling_lpi.map_or_else(String::new, |lpi| {
        format!(" of {} lines per inch", figures::number(lpi, 0))
    });
    format!("a printing screen{ruling} shows in {}", screen.ink)
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

/// The finding that speaks most for a process; none where none does.
fn heaviest(reading: &Reading, process: Process) -> Option<&Finding> {
    let weight = |f: &Finding| f.log10_lr.get(&process).copied().unwrap_or(0.0);
    let mut best: Option<&Finding> = None;
    for finding in &reading.findings {
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
            "it resembles none of the five processes: only {} of the reference specimens of {}, the nearest, lie as far out",
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
    } else if reading.is_like_relief() {
        "it is more like a woodcut or wood engraving, of which no reading is made, than like a line engraving".into()
    } else if let Some(relief) = reading.relief.filter(|_| may_be_relief(reading.relief)) {
        format!(
            "{}), but a woodcut or wood engraving, of which no reading is made, is not excluded ({} if one such sheet in five is one)",
            with_chance(best),
            figures::per_cent(relief)
        )
    } else if let Some(tonal) = reading.tonal.filter(|_| may_be_tonal(reading.tonal)) {
        format!(
            "{}), but an aquatint, mezzotint, collotype or photogravure, of which no reading is made, is not excluded ({} if one such sheet in five is one)",
            with_chance(best),
            figures::per_cent(tonal)
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
    if best == Process::Halftone && reproduction >= SURE_ENOUGH {
        return format!(
            "{said}, but only by colours that lie out of register, as those of a chromolithograph do too"
        );
    }
    if best == Process::Halftone {
        return format!("{said}, not enough to say so");
    }
    let besides = if !reading.shows_screens {
        ", and a fine screen would not show at this scale"
    } else if may_be_relief(reading.relief) {
        ", and a woodcut or wood engraving is not excluded either"
    } else if may_be_tonal(reading.tonal) {
        ", and an aquatint, mezzotint, collotype or photogravure is not excluded either"
    } else {
        ""
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
mod tests {
    use super::*;
    use crate::measured::Measured;
    use crate::report::example;
    use std::sync::LazyLock;

    static STIPPLE: LazyLock<Examination> = LazyLock::new(example::stipple);

    /// What is said of an undetermined stipple engraving with these chances, in the order of [`Process::ALL`].
    fn said(chances: [f64; 5], screens: &[ScreenSeen], change: impl Fn(&mut Reading)) -> String {
        let mut reading = STIPPLE.reading.clone();
        reading.process = None;
        reading.posterior = Process::ALL.into_iter().zip(chances).collect();
        change(&mut reading);
        let said = words::sentence(&of_reading(&reading, screens.first().map(screen_seen)));
        let inner = said.trim_end_matches('.');
        assert!(inner.len() + 1 == said.len(), "{said}");
        assert!(!inner.contains(". ") && !inner.contains(';'), "{said}");
        said.replace('\u{a0}', " ")
    }

    fn screen(ruling_lpi: Option<f64>) -> [ScreenSeen; 1] {
        [ScreenSeen {
            ink: "black".into(),
            ruling_lpi,
            angle_deg: Some(128.3),
        }]
    }

    #[test]
    fn a_process_that_is_named_has_its_support_and_its_heaviest_finding() {
        assert_eq!(
            sentence(&STIPPLE, &[]),
            "Strong support for a stipple engraving, most of all by \u{201c}evenness of spacing of the marks\u{201d} (1.42; usual 1.25–1.60)."
        );
        let with_lines = sentence(&STIPPLE, &screen(Some(102.2)));
        assert!(
            with_lines.ends_with("though a printing screen of 102 lines per inch shows in black."),
            "{with_lines}"
        );
        let mut unsupported = STIPPLE.reading.clone();
        unsupported.strength = enfsi_words(0.0).into();
        let unsupported = of_reading(&unsupported, None);
        assert!(unsupported.contains("odds beforehand"), "{unsupported}");
    }

    #[test]
    fn colours_out_of_register_are_told_like_a_screen() {
        let mut examination = example::stipple();
        let apart = |px| Measured::with_interval(px, px - 0.05, px + 0.05, "px", 40);
        let mut with = |px| {
            examination.photos[0]
                .measurements
                .layering
                .out_of_register_px = apart(px);
            sentence(&examination, &[])
        };
        assert!(!with(0.05).contains("register"));
        assert!(
            with(1.4).ends_with(
                "though the colours of the marks lie beside one another, out of register."
            ),
            "{}",
            with(1.4)
        );
    }

    #[test]
    fn a_screen_is_told_with_the_chance_of_a_reproduction() {
        let lines = screen(Some(64.7));
        assert_eq!(
            said([0.0, 0.44, 0.0, 0.0, 0.56], &lines, |_| ()),
            "A printing screen of 65 lines per inch shows in black, which speaks for a reproduction (56 %), not enough to say so."
        );
        let slight = said([0.0, 0.984, 0.0, 0.0, 0.016], &screen(None), |_| ());
        assert!(
            slight.starts_with("A printing screen shows in black, but with all"),
            "{slight}"
        );
        assert!(slight.contains("1.6 %, too much to exclude"), "{slight}");
        let odd = said([0.0, 0.44, 0.0, 0.0, 0.56], &lines, |r| r.fit = Some(0.002));
        assert!(
            odd.ends_with("but the print resembles none of the five processes."),
            "{odd}"
        );
        let mut named = STIPPLE.reading.clone();
        named.process = Some(Process::Halftone);
        assert_eq!(
            of_reading(&named, lines.first().map(screen_seen)),
            "a printing screen of 65 lines per inch shows in black"
        );
    }

    #[test]
    fn a_considerable_chance_of_a_reproduction_comes_first() {
        assert_eq!(
            said([0.0, 0.54, 0.0, 0.0, 0.46], &[], |r| r.relief = Some(0.3)),
            "The chance of a reproduction is 46 %, beside 54 % for a line engraving, and a woodcut or wood engraving is not excluded either."
        );
        assert_eq!(
            said([0.0, 0.0, 0.17, 0.0, 0.83], &[], |_| ()),
            "The chance of a reproduction is 83 %, not enough to say so."
        );
        assert_eq!(
            said([0.0, 0.0, 0.07, 0.0, 0.93], &[], |_| ()),
            "The chance of a reproduction is 93 %, but only by colours that lie out of register, as those of a chromolithograph do too."
        );
        let coarse = said([0.0, 0.0, 0.8, 0.0, 0.2], &[], |r| r.shows_screens = false);
        assert!(
            coarse.starts_with("The chance of a reproduction is 20 %"),
            "{coarse}"
        );
        assert!(coarse.contains("would not show"), "{coarse}");
    }

    #[test]
    fn what_else_leaves_it_open_is_told_where_a_reproduction_is_improbable() {
        let lines = [0.12, 0.78, 0.06, 0.0, 0.04];
        assert_eq!(
            said(lines, &[], |_| ()),
            "A line engraving is likeliest (78 %, then a stipple engraving with 12 %), not enough to name it."
        );
        let relief = said(lines, &[], |r| r.relief = Some(0.15));
        assert!(relief.contains("is not excluded (15 %"), "{relief}");
        let stone = [0.0, 0.0, 0.96, 0.039, 0.001];
        let tonal = said(stone, &[], |r| r.tonal = Some(0.15));
        assert!(
            tonal.contains("collotype") && tonal.contains("(15 %"),
            "{tonal}"
        );
        let two = said(lines, &[], |r| {
            r.narrowed_to = vec![Process::LineEngraving, Process::StippleEngraving];
        });
        assert!(two.contains("leaves two of the five"), "{two}");
        let sure = said([0.95, 0.0, 0.0, 0.0, 0.05], &[], |_| ());
        assert!(
            sure.contains("but a reproduction is not excluded (5.0 %)"),
            "{sure}"
        );
        let unlike = said(lines, &[], |r| r.fit = Some(0.004));
        assert!(
            unlike.contains("resembles none of the five processes: only 0.4 %"),
            "{unlike}"
        );
    }

    #[test]
    fn photographs_that_carry_nothing_are_told_of_and_nothing_else() {
        let mut examination = example::stipple();
        examination.reading.process = None;
        examination.reading.findings.clear();
        let nothing = sentence(&examination, &screen(None));
        assert_eq!(nothing, "Nothing printed stands out enough to be measured.");
        examination.photos[0].photo.adequacy.verdict = Verdict::Unusable;
        let poor = sentence(&examination, &[]);
        assert_eq!(poor, "The photograph is too poor to be measured.");
    }
}
