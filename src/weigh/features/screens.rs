//! Findings on screens and fine colour.

use super::{CHANCE_AS_LOG10, Feature, Value};
use crate::measure::Examined;
use crate::measure::lattice::{FineColour, InkScreen, Lattice, MIN_PERIOD_PX, ScreenKind};
use crate::photo::scale::MM_PER_INCH;

/// The finding that says how fine a screen would have shown.
pub const FINEST_EXCLUDED: &str = "lattice.finest_excluded";

pub(super) static FEATURES: &[Feature] = &[
    Feature {
        key: "fine.amplitude",
        title: "Strength of fine colour spots",
        unit: "D",
        meaning: "Process inks leave spots of strong colour.",
        take: |e| fine_colour(e, |fine| fine.second_amplitude),
    },
    Feature {
        key: "fine.ratio",
        title: "Independence of the colours in fine structure",
        unit: "1",
        meaning: "Black marks move all colours together; process inks do not.",
        take: |e| fine_colour(e, |fine| fine.ratio),
    },
    Feature {
        key: "fine.share_apart",
        title: "Places where the inks swing apart in fine spots",
        unit: "1",
        meaning: "Inkjet and stochastic screens lay each ink in spots of its own.",
        take: |e| fine_colour(e, |fine| fine.share_apart),
    },
    Feature {
        key: "lattice.amplitude",
        title: "Strength of the clearest screen",
        unit: "D",
        meaning: "A screen prints its dots in full ink; the mesh of paper only shades it.",
        take: |e| Value::bare(clearest(e)?.amplitude),
    },
    Feature {
        key: "lattice.coherence",
        title: "How well the clearest screen keeps step",
        unit: "1",
        meaning: "A machine's screen keeps step to a hundredth; lines cut by eye wander, and so do threads and meshes.",
        take: coherence,
    },
    Feature {
        key: "lattice.dot_screen",
        title: "Chance of a false alarm, clearest screen of dots",
        unit: CHANCE_AS_LOG10,
        meaning: "A screen's two directions keep step over the whole field; cloth and moulds of paper do too, hand work seldom.",
        take: |e| clearest_screen(e, |directions| directions >= 2),
    },
    Feature {
        key: FINEST_EXCLUDED,
        title: "Finest screen excluded (none where one was found)",
        unit: "lpi",
        meaning: "No screen found means little in a coarse photograph and much in a fine one; where one was found, none is excluded.",
        take: finest_excluded,
    },
    Feature {
        key: "lattice.line_screen",
        title: "Chance of a false alarm, clearest screen of lines",
        unit: CHANCE_AS_LOG10,
        meaning: "A line screen keeps step; so do ruled skies and the wires of laid paper.",
        take: |e| clearest_screen(e, |directions| directions == 1),
    },
    Feature {
        key: "lattice.ruling",
        title: "Ruling of the clearest screen",
        unit: "lpi",
        meaning: "Screens have 65 to 300 lines per inch; crossed hatching is mostly wider.",
        take: |e| Value::of(&clearest(e)?.ruling_lpi),
    },
    Feature {
        key: "lattice.screens",
        title: "Inks with a screen",
        unit: "inks",
        meaning: "Screens under the inks mean a reproduction; one alone may be regular ruling or the mesh of the paper.",
        take: |e| Value::bare(screens(e)?),
    },
    Feature {
        key: "lattice.skew",
        title: "How far the squarest screen of dots is from square",
        unit: "1",
        meaning: "A printing screen's two directions are alike and at a right angle; lines crossed by hand seldom are, nor are threads.",
        take: |e| Value::bare(squarest(e)?),
    },
    Feature {
        key: "raster.prominence",
        title: "How far a printing device's grid stands out in the edges",
        unit: "log10",
        meaning: "Printers and image-setters build every mark of equal square elements; hands do not.",
        take: |e| {
            let raster = &screens_looked_for(e)?.raster;
            Value::bare(raster.prominence.max(1.0).log10())
        },
    },
];

/// Blurs (standard deviation) in the period of the finest screen that still shows: at 2.5 its
/// fundamental keeps exp(−2π²/2.5²), 4 % of its swing.
const BLURS_PER_PERIOD: f64 = 2.5;

/// Ruling of the finest screen that the photograph would have shown, lpi; none where one was found.
fn finest_excluded(e: &Examined) -> Option<Value> {
    if !screens_looked_for(e)?.inks.is_empty() {
        return Some(Value::NONE_THERE);
    }
    let blur_px = e.photo.adequacy.blur_sigma_px.value()?;
    let period_px = MIN_PERIOD_PX.max(BLURS_PER_PERIOD * blur_px);
    Value::bare(e.inked.px_per_mm()? * MM_PER_INCH / period_px)
}

/// A figure of the fine colour; without enough places in tone to look at none is seen.
fn fine_colour(e: &Examined, figure: fn(&FineColour) -> f64) -> Option<Value> {
    match &e.measurements.lattice.fine_colour {
        fine if fine.tiles == 0 => Some(Value::NONE_THERE),
        fine => Value::bare(figure(fine)),
    }
}

/// Whether the photograph could show a screen at all.
fn screens_looked_for(e: &Examined) -> Option<&Lattice> {
    Some(&e.measurements.lattice).filter(|l| l.kind != ScreenKind::NotMeasured)
}

/// Coherence of the clearest screen; 0 where none was found.
fn coherence(e: &Examined) -> Option<Value> {
    screens_looked_for(e)?;
    clearest(e).map_or(Some(Value::NONE_THERE), |screen| {
        Value::bare(screen.coherence)
    })
}

/// log10 of the false-alarm probability of the clearest screen with so many directions; 0 where
/// none was found.
fn clearest_screen(e: &Examined, directions: fn(usize) -> bool) -> Option<Value> {
    let inks = &screens_looked_for(e)?.inks;
    inks.iter()
        .filter(|i| directions(i.vectors_per_px.len()))
        .map(|i| i.false_alarm.log10())
        .min_by(f64::total_cmp)
        .map_or(Some(Value::NONE_THERE), Value::bare)
}

/// The screen least likely to be a false alarm; of equals the stronger one.
fn clearest(e: &Examined) -> Option<&InkScreen> {
    let by_alarm_then_strength = |a: &&InkScreen, b: &&InkScreen| {
        let alarm = a.false_alarm.total_cmp(&b.false_alarm);
        alarm.then(b.amplitude.total_cmp(&a.amplitude))
    };
    screens_looked_for(e)?
        .inks
        .iter()
        .min_by(by_alarm_then_strength)
}

/// Skew of the squarest screen of dots.
fn squarest(e: &Examined) -> Option<f64> {
    let inks = &screens_looked_for(e)?.inks;
    inks.iter()
        .filter_map(InkScreen::skew)
        .min_by(f64::total_cmp)
}

fn screens(e: &Examined) -> Option<f64> {
    Some(screens_looked_for(e)?.inks.len() as f64)
}
