//! A reading as the lot keeps it, with the one sentence why.

use crate::examine::Examination;
use crate::lot::record::{ScreenSeen, SheetReading};
use crate::lot::task::Task;
use crate::measure::lattice::InkScreen;
use crate::report::{figures, words};
use crate::weigh::doubt::DOTS_FOUND;
use crate::weigh::{Process, Reading};

/// The reading with its sentence.
pub(super) fn reading(examination: &Examination) -> SheetReading {
    let reading = &examination.reading;
    let screens = screens(examination);
    SheetReading {
        process: reading.process,
        posterior: reading.posterior.clone(),
        prior: reading.prior.clone(),
        log10_lr: reading.log10_lr.clone(),
        strength: reading.strength.clone(),
        fit: reading.fit,
        colouring: reading.colouring.clone(),
        findings: reading.findings.len(),
        why: why(reading, &screens),
        screens,
        undetermined_because: reading.undetermined_because.clone(),
        next_photographs: reading.next_photographs.clone(),
    }
}

/// Screens of the photograph that shows most of them; the first of equals.
fn screens(examination: &Examination) -> Vec<ScreenSeen> {
    let mut most: &[InkScreen] = &[];
    for examined in &examination.photos {
        let inks = &examined.measurements.lattice.inks;
        if inks.len() > most.len() {
            most = inks;
        }
    }
    most.iter()
        .map(|screen| ScreenSeen {
            ink: words::ink_name(&format!("{:?}", screen.ink)).to_owned(),
            ruling_lpi: screen.ruling_lpi.value(),
            angle_deg: screen.angle_deg.value(),
        })
        .collect()
}

/// One sentence: why it reads so.
fn why(reading: &Reading, screens: &[ScreenSeen]) -> String {
    let reason = match reading.process {
        None if reading.narrowed_to.len() == 2 && screens.is_empty() => {
            words::support_sentence(reading)
        }
        None => {
            let settled = "the evidence does not settle it";
            let mut because = reading.undetermined_because.iter().map(String::as_str);
            match screens.first() {
                Some(screen) => {
                    // That there is a screen is said once.
                    let other = because.find(|b| !b.starts_with(DOTS_FOUND));
                    format!("{}, but {}", screen_seen(screen), other.unwrap_or(settled))
                }
                None => because.next().unwrap_or(settled).to_owned(),
            }
        }
        Some(Process::Halftone) => match screens.first() {
            Some(screen) => screen_seen(screen),
            None => heaviest(reading, Process::Halftone),
        },
        Some(process) => heaviest(reading, process),
    };
    words::sentence(&reason)
}

fn screen_seen(screen: &ScreenSeen) -> String {
    let ruling = screen.ruling_lpi.map_or_else(String::new, |lpi| {
        format!(" of {} lines per inch", figures::number(lpi, 0))
    });
    let angle = screen.angle_deg.map_or_else(String::new, |deg| {
        format!(" at {}°", figures::number(deg, 1))
    });
    format!("a printing screen{ruling}{angle} shows in {}", screen.ink)
}

/// What speaks most for a process, and how much all of it does.
fn heaviest(reading: &Reading, process: Process) -> String {
    let weight = |f: &&crate::weigh::Finding| f.log10_lr.get(&process).copied().unwrap_or(0.0);
    let mut best = None;
    for finding in &reading.findings {
        if best.is_none_or(|b| weight(&finding) > weight(&b)) {
            best = Some(finding);
        }
    }
    best.map_or_else(
        || format!("{} for {}", reading.strength, process.name()),
        |finding| {
            let name = process.name();
            let named = format!("{} {name}", words::article(name));
            let usual = finding.reference.get(&process).map_or_else(String::new, |r| {
                let range = figures::range_with_unit(r[0], r[1], &finding.unit);
                format!(", usual for {named} {range}")
            });
            format!(
                "what speaks most for {named} is \u{201c}{}\u{201d} ({}{usual}): {}; all together {} for it",
                finding.title,
                figures::value_with_interval(finding.value, None, &finding.unit),
                finding.because.trim_end_matches('.'),
                reading.strength,
            )
        },
    )
}

/// What was asked for, for the report.
pub(super) fn parameters(task: &Task) -> Vec<(String, String)> {
    let mut parameters = vec![("Sheet".to_owned(), task.sheet.clone())];
    let mut add = |label: &str, value: Option<String>| {
        parameters.extend(value.map(|v| (label.to_owned(), v)));
    };
    add("Note", task.note.clone());
    let in_unit =
        |value: Option<f64>, unit: &str| value.map(|v| format!("{} {unit}", figures::plain(v)));
    add("Scale given for the lot", in_unit(task.px_per_mm, "px/mm"));
    add("Loupe field given", in_unit(task.loupe_field_mm, "mm"));
    if !words::priors_are_equal(&task.prior) {
        let shares = task.prior.iter();
        let shares: Vec<_> = shares
            .map(|(p, v)| format!("{} {}", p.name(), figures::per_cent(*v)))
            .collect();
        add("Priors given", Some(shares.join(", ")));
    }
    parameters
}
