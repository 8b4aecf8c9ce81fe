//! How far the reading is supported, in one sentence that a dealer understands.

use super::article;
use super::reading::{chance, priors_are_equal};
use crate::report::figures;
use crate::weigh::reading::{FITS, enfsi_words};
use crate::weigh::{Process, Reading};

/// The reading in one sentence, with strength and number.
#[must_use]
pub fn support_sentence(reading: &Reading) -> String {
    let Some(best) = reading.best().filter(|_| !reading.findings.is_empty()) else {
        return "Nothing could be weighed, so no process can be named.".into();
    };
    if reading.process.is_some() {
        return of_a_process_named(reading, best);
    }
    left_between_two(reading)
        .or_else(|| most_like_outside(reading, best))
        .or_else(|| unsupported(reading, best))
        .or_else(|| like_none(reading, best))
        .or_else(|| outweighed(reading, best))
        .or_else(|| not_parted(reading, best))
        .unwrap_or_else(|| {
            format!(
                "What was measured leans towards {} ({}), but that is not enough to name the process.",
                with_article(best),
                strength(reading, best)
            )
        })
}

fn of_a_process_named(reading: &Reading, best: Process) -> String {
    let limit = if reading.is_at_limit() {
        ", the most that the number of reference specimens supports"
    } else {
        ""
    };
    format!(
        "What was measured gives {} for {1}: it is {2} as probable on {1} as on a print by one of the other four processes{limit}.",
        reading.strength,
        with_article(best),
        figures::times(log10_lr(reading, best))
    )
}

fn left_between_two(reading: &Reading) -> Option<String> {
    let [one, other] = reading.narrowed_to[..] else {
        return None;
    };
    Some(format!(
        "What was measured leaves two of the five: {}{} or {}.",
        with_the_odds_given(reading),
        with_chance(reading, one),
        with_chance(reading, other)
    ))
}

fn most_like_outside(reading: &Reading, best: Process) -> Option<String> {
    let outside = reading.likest_outside()?;
    Some(format!(
        "What was measured is more like {} than like {}, the nearest of the five processes; of what is outside the five the tool makes no reading.",
        outside.name(),
        with_article(best)
    ))
}

/// Where what was measured speaks for no process.
fn unsupported(reading: &Reading, best: Process) -> Option<String> {
    if enfsi_words(log10_lr(reading, most_supported(reading)?)) != enfsi_words(0.0) {
        return None;
    }
    let by_the_odds = if priors_are_equal(&reading.prior) {
        String::new()
    } else {
        format!(
            "; with the odds given {} is likeliest ({})",
            with_article(best),
            chance(reading, best)
        )
    };
    Some(format!(
        "What was measured supports none of the five processes over the others{by_the_odds}."
    ))
}

fn like_none(reading: &Reading, best: Process) -> Option<String> {
    reading.fit.filter(|fit| *fit < FITS)?;
    Some(format!(
        "What was measured is like none of the five processes; if it were one of them, {}{} would be likeliest.",
        with_the_odds_given(reading),
        with_article(best)
    ))
}

/// Where by the odds given another process is likeliest than the one that was measured to be.
fn outweighed(reading: &Reading, best: Process) -> Option<String> {
    let most = most_supported(reading)?;
    (most != best && !priors_are_equal(&reading.prior)).then(|| {
        format!(
            "What was measured speaks most for {} ({}), but the odds given outweigh that: with them {} is likeliest ({}).",
            with_article(most),
            strength(reading, most),
            with_article(best),
            chance(reading, best)
        )
    })
}

/// Where the second likeliest process is more than half as likely as the likeliest.
fn not_parted(reading: &Reading, best: Process) -> Option<String> {
    let of = |p: &Process| reading.posterior.get(p).copied().unwrap_or(0.0);
    let others = Process::ALL.into_iter().filter(|p| *p != best);
    let second = others.max_by(|a, b| of(a).total_cmp(&of(b)))?;
    (of(&second) > 0.5 * of(&best)).then(|| {
        format!(
            "What was measured does not{} part {} from {}.",
            if priors_are_equal(&reading.prior) {
                ""
            } else {
                ", with the odds given,"
            },
            with_chance(reading, best),
            with_chance(reading, second)
        )
    })
}

/// The process that what was measured speaks most for, whatever the odds beforehand.
fn most_supported(reading: &Reading) -> Option<Process> {
    let processes = reading.log10_lr.iter();
    // Of equals the first, as in weighing.
    processes
        .max_by(|a, b| a.1.total_cmp(b.1).then(b.0.cmp(a.0)))
        .map(|(process, _)| *process)
}

fn log10_lr(reading: &Reading, process: Process) -> f64 {
    reading.log10_lr.get(&process).copied().unwrap_or(0.0)
}

/// How strongly what was measured speaks for a process, in words and as a number.
fn strength(reading: &Reading, process: Process) -> String {
    let log10_lr = log10_lr(reading, process);
    format!(
        "{}: {} as probable on one as on a print by one of the other four processes",
        enfsi_words(log10_lr),
        figures::times(log10_lr)
    )
}

fn with_chance(reading: &Reading, process: Process) -> String {
    format!("{} ({})", with_article(process), chance(reading, process))
}

fn with_article(process: Process) -> String {
    format!("{} {}", article(process.name()), process.name())
}

/// Before chances that hold odds that were given.
fn with_the_odds_given(reading: &Reading) -> &'static str {
    if priors_are_equal(&reading.prior) {
        ""
    } else {
        "with the odds given "
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::example;
    use crate::report::words::headline;
    use crate::weigh::outside::Outside;

    #[test]
    fn a_reading_names_its_strength_and_number() {
        let examination = example::stipple();
        let text = support_sentence(&examination.reading);
        assert!(
            text.contains("strong support for a stipple engraving"),
            "{text}"
        );
        assert!(text.contains("about 3000 times as probable"), "{text}");
        assert_eq!(headline(&examination.reading), "Stipple engraving");
    }

    #[test]
    fn an_undetermined_reading_names_no_process_as_read() {
        let mut reading = example::stipple().reading;
        reading.process = None;
        assert_eq!(headline(&reading), "Undetermined");
        assert!(support_sentence(&reading).contains("not enough to name"));
        for weight in reading.log10_lr.values_mut() {
            *weight = 0.1;
        }
        assert!(support_sentence(&reading).contains("none of the five"));
        reading.posterior.clear();
        assert!(support_sentence(&reading).contains("no process can be named"));
    }

    #[test]
    fn two_that_are_left_are_named_as_undetermined() {
        let mut reading = example::stipple().reading;
        reading.process = None;
        reading.narrowed_to = vec![Process::TintedLithograph, Process::Lithograph];
        assert_eq!(
            headline(&reading),
            "Undetermined: tinted lithograph or lithograph"
        );
        assert!(support_sentence(&reading).contains("leaves two of the five"));
    }

    #[test]
    fn odds_that_outweigh_what_was_measured_do_not_deny_it() {
        let mut reading = example::stipple().reading;
        reading.process = None;
        reading.prior = Process::ALL.map(|p| (p, 0.0025)).into();
        reading.prior.insert(Process::Lithograph, 0.99);
        reading.posterior = Process::ALL.map(|p| (p, 0.01)).into();
        reading.posterior.insert(Process::StippleEngraving, 0.21);
        reading.posterior.insert(Process::Lithograph, 0.76);
        let said = support_sentence(&reading);
        for part in [
            "speaks most for a stipple engraving (strong support: about 3000 times",
            "the odds given outweigh that: with them a lithograph is likeliest (76\u{a0}%)",
        ] {
            assert!(said.contains(part), "{said}");
        }
        // Nor is it held against something outside the five as if it were like the one that only the odds make likely.
        reading.outside = [(Outside::Chromolithograph, 0.97)].into();
        assert_eq!(
            (support_sentence(&reading), headline(&reading)),
            (said, "Undetermined".into())
        );
        reading.outside.clear();
        // Nor do they stand for what was measured where chances hold them.
        reading.posterior.insert(Process::StippleEngraving, 0.8);
        reading.posterior.insert(Process::Lithograph, 0.5);
        let said = support_sentence(&reading);
        assert!(
            said.contains("does not, with the odds given, part"),
            "{said}"
        );
        reading.narrowed_to = vec![Process::StippleEngraving, Process::Lithograph];
        let said = support_sentence(&reading);
        assert!(
            said.contains("with the odds given a stipple engraving ("),
            "{said}"
        );
        reading.narrowed_to.clear();
        for weight in reading.log10_lr.values_mut() {
            *weight = 0.0;
        }
        let said = support_sentence(&reading);
        let by_the_odds = "over the others; with the odds given a stipple engraving is likeliest";
        assert!(said.contains(by_the_odds), "{said}");
    }
}
