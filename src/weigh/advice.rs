//! What to photograph next.

use super::doubt::may_be_relief;
use super::reading::Process;
use super::reading::{FITS, REPRODUCTION_EXCLUDED};
use crate::ink::Ink;
use crate::measure::Examined;
use crate::photo::adequacy::Verdict;

/// Sampling under which fine screens and grain go unseen: four pixels across a 175 lpi screen's
/// period (0.145 mm), the working rule for measuring a dot's shape.
const PX_PER_MM_FOR_SCREENS: f64 = 28.0;

/// First word of an advice that is a warning: the photographs contradict each other.
pub const TO_CHECK: &str = "Check";

/// Next photographs, most useful first.
#[must_use]
pub fn next(
    photos: &[Examined],
    process: Option<Process>,
    posterior: &[f64],
    fit: Option<f64>,
    relief: Option<f64>,
) -> Vec<String> {
    let mut advice = Vec::new();
    let mut say = |text: &str| advice.push(text.to_owned());
    if photos
        .iter()
        .any(|p| p.photo.adequacy.verdict != Verdict::Good)
    {
        say(
            "The same spot again, sharper: rest the phone on the loupe, focus on the marks, and light it evenly from the side.",
        );
    }
    if photos.iter().all(|p| p.photo.scale.is_none()) {
        say(
            "A millimetre rule through the same loupe at the same setting, so that sizes can be given.",
        );
    }
    if let Some([least, most]) = screens_that_differ(photos) {
        say(&format!(
            "{TO_CHECK} that all photographs are of one sheet, each at its own scale: their black screens differ ({least:.0} to {most:.0} lpi)."
        ));
    }
    let px_per_mm = photos
        .iter()
        .filter_map(|p| p.inked.px_per_mm())
        .fold(0.0, f64::max);
    if px_per_mm > 0.0 && px_per_mm < PX_PER_MM_FOR_SCREENS {
        say(
            "A closer photograph (10× loupe or stronger): at this scale a fine screen would not show.",
        );
    }
    if process.is_none() {
        say(
            "A patch of middle tone in the subject itself, away from lettering, solid black and blank paper.",
        );
        if fit.is_some_and(|p| p < FITS) {
            say(
                "The edge of the printed image with bare paper beside it, and the plate mark if there is one.",
            );
        }
    }
    if process.is_none() && may_be_relief(relief) {
        say(
            "The back of the sheet and its margin in raking light: a block bites into the paper from the front, a plate leaves its mark round the image.",
        );
    }
    if process.is_none() && parts_only_by_a_tint(posterior) {
        say(
            "The edge of the image with bare paper beside it in one view: a tint stone shows there as a second, even colour that stops.",
        );
    }
    if process.is_none()
        && posterior
            .get(Process::Halftone as usize)
            .is_some_and(|p| *p > REPRODUCTION_EXCLUDED)
    {
        say(
            "A pale, evenly coloured area at the highest magnification, where a screen would show first.",
        );
    }
    match process {
        Some(Process::Lithograph | Process::TintedLithograph) => {
            say(
                "The margin beside the image: no plate mark should be seen there, and a tint ends or runs out.",
            );
        }
        Some(Process::StippleEngraving | Process::LineEngraving) => {
            say("The plate mark in raking light from one side, at a corner.");
        }
        Some(Process::Halftone) => {
            say("Lettering under the image: screened or smooth edges tell how it was reproduced.");
        }
        None => {}
    }
    advice
}

/// Finest screens of photographs of one sheet that differ by more are of different sheets, or their
/// scales are wrong: a scale from a rule or a loupe's field is good to 2 %.
const SAME_SCREEN: f64 = 1.05;

/// Least and greatest ruling of the black screen in the photographs, lpi, where they are not one.
fn screens_that_differ(photos: &[Examined]) -> Option<[f64; 2]> {
    let rulings = photos.iter().filter_map(|p| {
        let mut inks = p.measurements.lattice.inks.iter();
        inks.find(|s| s.ink == Ink::K)?.ruling_lpi.value()
    });
    let (least, most) = rulings.fold((f64::MAX, 0.0_f64), |(l, m), r| (l.min(r), m.max(r)));
    (most > SAME_SCREEN * least).then_some([least, most])
}

/// Whether a lithograph with and without a tint stone are the two likeliest, and likelier together
/// than all else.
fn parts_only_by_a_tint(posterior: &[f64]) -> bool {
    let of = |process: Process| posterior.get(process as usize).copied().unwrap_or(0.0);
    let (plain, tinted) = (of(Process::Lithograph), of(Process::TintedLithograph));
    plain + tinted > 0.5 && plain.min(tinted) > 0.05
}
