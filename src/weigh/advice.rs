//! What to photograph next.

use super::doubt::contradict;
use super::outside::{self, Outside};
use super::reading::{FITS, Process, REPRODUCTION_EXCLUDED};
use crate::ink::Ink;
use crate::measure::Examined;
use crate::photo::adequacy::Verdict;
use crate::photo::scale::MM_PER_INCH;
use std::collections::BTreeMap;

/// Sampling under which screens in common use go unseen: four pixels across a 175 lpi screen's
/// period (0.145 mm), the working rule for measuring a dot's shape.
const PX_PER_MM_FOR_SCREENS: f64 = 28.0;
/// Pixels across the period of the finest screen that is sure to show, by the same rule.
const PX_ACROSS: f64 = 4.0;

/// First word of an advice that is a warning: the photographs contradict each other.
pub const TO_CHECK: &str = "Check";

/// What advice is given on.
pub struct Seen<'a> {
    /// The photographs.
    pub photos: &'a [Examined],
    /// Probabilities of the processes from each photograph alone at equal odds, those with the same bytes once.
    pub alone: &'a [Vec<f64>],
    /// The process read.
    pub process: Option<Process>,
    /// Probability of each process.
    pub posterior: &'a [f64],
    /// Share of its reference specimens that lie as far out.
    pub fit: Option<f64>,
    /// Chances of what outside the five the likeliest is told from.
    pub outside: &'a BTreeMap<Outside, f64>,
    /// Whether a kind of colouring may be there or not, on photographs that could tell.
    pub colour_open: bool,
}

/// Next photographs, most useful first.
#[must_use]
pub fn next(seen: &Seen) -> Vec<String> {
    let mut advice = better_photographs(seen.photos);
    advice.extend(what_contradicts(seen));
    advice.extend(closer(seen));
    match seen.process {
        Some(process) => advice.push(to_confirm(process).to_owned()),
        None => advice.extend(to_decide(seen).into_iter().map(str::to_owned)),
    }
    if seen.colour_open {
        advice.push(
            "The edge of a coloured area, with marks inside it and outside: a wash pools and overruns there, colour in the ink ends with the marks."
                .to_owned(),
        );
    }
    advice
}

/// What the photographs themselves lack.
fn better_photographs(photos: &[Examined]) -> Vec<String> {
    let mut advice = Vec::new();
    let mut say = |text: &str| advice.push(text.to_owned());
    // What is wrong with a photograph, and how to mend it, is said by its own notes.
    let first = photos
        .iter()
        .filter(|p| p.photo.adequacy.verdict != Verdict::Good)
        .find_map(|p| p.photo.adequacy.notes.first());
    if let Some(first) = first {
        say(&format!("The same spot again, better: {first}"));
    }
    if photos.iter().any(|p| p.inked.is_lit_in_two_colours()) {
        say(
            "The same spot in light of one colour, a window or a lamp but not both: where one side is lit warmer than the other, no colour of the print can be told.",
        );
    }
    if photos.iter().all(|p| p.inked.grey) {
        say(
            "The same spot in colour: without it no wash, tint or coloured ink can be seen, nor the inks of a colour reproduction.",
        );
    }
    if photos.iter().all(|p| p.photo.scale.is_none()) {
        say(
            "A millimetre rule through the same loupe at the same setting, so that sizes can be given.",
        );
    }
    advice
}

/// Photographs that cannot be of one sheet.
fn what_contradicts(seen: &Seen) -> Vec<String> {
    let mut advice = Vec::new();
    if let Some([least, most]) = screens_that_differ(seen.photos) {
        advice.push(format!(
            "{TO_CHECK} that all photographs are of one sheet, each at its own scale: their black screens differ ({least:.0} to {most:.0} lpi)."
        ));
    }
    if contradict(seen.alone) {
        advice.push(format!(
            "{TO_CHECK} that all photographs are of one sheet: some of them speak by themselves for a reproduction and others for a period print."
        ));
    }
    advice
}

/// Where a screen may be too fine for the photographs, or was found and may be cloth.
fn closer(seen: &Seen) -> Vec<String> {
    let mut advice = Vec::new();
    let photos = seen.photos.iter();
    let screens: Vec<usize> = photos
        .clone()
        .map(|p| p.measurements.lattice.inks.len())
        .collect();
    let px_per_mm = photos
        .filter_map(|p| p.inked.px_per_mm())
        .fold(0.0, f64::max);
    let coarse = px_per_mm > 0.0 && px_per_mm < PX_PER_MM_FOR_SCREENS;
    if coarse && screens.iter().all(|&n| n == 0) {
        advice.push(format!(
            "A closer photograph (10× loupe or stronger): at this scale screens finer than about {:.0} lines per inch may not show.",
            px_per_mm * MM_PER_INCH / PX_ACROSS
        ));
    }
    if seen.process == Some(Process::Halftone) && screens.iter().all(|&n| n == 1) {
        advice.push(
            "The dots of the screen at the highest magnification, to see that they are of ink: woven cloth, the mesh of wove paper and crossed ruling repeat as a screen does."
                .to_owned(),
        );
    }
    advice
}

/// What would settle an undetermined reading.
fn to_decide(seen: &Seen) -> Vec<&'static str> {
    let mut advice = Vec::new();
    if seen.fit.is_some_and(|p| p < FITS) {
        advice.push(
            "The edge of the printed image with bare paper beside it, and the plate mark if there is one.",
        );
    }
    if let Some((outside, _)) = outside::not_excluded(seen.outside) {
        advice.push(to_tell_from(outside));
    }
    if parts_only_by_a_tint(seen.posterior) {
        advice.push(
            "The edge of the image with bare paper beside it in one view: a tint stone shows there as a second, even colour that stops.",
        );
    }
    let reproduction = seen.posterior.get(Process::Halftone as usize);
    if reproduction.is_some_and(|p| *p > REPRODUCTION_EXCLUDED) {
        advice.push(
            "A pale, evenly coloured area at the highest magnification, where a screen would show first.",
        );
    }
    // What is asked for whatever the doubt comes after what would settle this one.
    advice.push(
        "A patch of middle tone in the subject itself, away from lettering, solid black and blank paper.",
    );
    advice
}

/// What would tell a print from something outside the five.
fn to_tell_from(outside: Outside) -> &'static str {
    match outside {
        Outside::Relief => {
            "The back of the sheet and its margin in raking light: a block bites into the paper from the front, a plate leaves its mark round the image."
        }
        Outside::Tonal => {
            "The lightest tones at the highest magnification: crayon on stone breaks there into single black grains, a screen into dots of one spacing, and the ground of a plate or a collotype does neither."
        }
        Outside::Chromolithograph => {
            "A place where two colours meet or overlap, at the highest magnification: a chromolithograph builds each colour up from stones of its own, with grain or dots in every one of them."
        }
        Outside::Cloth => {
            "The printed image alone, without cloth or binding in view, at the highest magnification: threads go over and under each other, ink does not."
        }
    }
}

/// What would bear a reading out.
fn to_confirm(process: Process) -> &'static str {
    match process {
        Process::Lithograph | Process::TintedLithograph => {
            "The margin beside the image: no plate mark should be seen there, and a tint ends or runs out."
        }
        Process::StippleEngraving | Process::LineEngraving => {
            "The plate mark in raking light from one side, at a corner."
        }
        Process::Halftone => {
            "Lettering under the image: screened or smooth edges tell how it was reproduced."
        }
    }
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
