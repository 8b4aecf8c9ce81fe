//! A reading as the lot keeps it, with the one sentence why.

mod why;

use crate::examine::Examination;
use crate::lot::record::{ScreenSeen, SheetReading};
use crate::lot::task::Task;
use crate::measure::lattice::InkScreen;
use crate::report::{figures, words};

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
        why: why::sentence(examination, &screens),
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
