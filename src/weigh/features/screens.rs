//! Findings on screens and fine colour.

use super::{Feature, Value};
use crate::measure::Examined;
use crate::measure::lattice::{Lattice, ScreenKind};

pub(super) static FEATURES: &[Feature] = &[
    Feature {
        key: "fine.amplitude",
        title: "Strength of fine colour spots",
        unit: "D",
        meaning: "Process inks leave spots of strong colour.",
        take: |e| Value::bare(e.measurements.lattice.fine_colour.second_amplitude),
    },
    Feature {
        key: "fine.ratio",
        title: "Independence of the colours in fine structure",
        unit: "1",
        meaning: "Black marks move all colours together; process inks do not.",
        take: |e| Value::bare(e.measurements.lattice.fine_colour.ratio),
    },
    Feature {
        key: "fine.share_apart",
        title: "Places where the inks swing apart in fine spots",
        unit: "1",
        meaning: "Inkjet and stochastic screens lay each ink in spots of its own.",
        take: |e| Value::bare(e.measurements.lattice.fine_colour.share_apart),
    },
    Feature {
        key: "lattice.dot_screen",
        title: "Clearest screen of dots",
        unit: "log10 false alarm",
        meaning: "A screen's two directions keep step over the whole field; nothing made by hand does.",
        take: |e| Value::bare(clearest_screen(e, |directions| directions >= 2)?),
    },
    Feature {
        key: "lattice.line_screen",
        title: "Clearest screen of lines",
        unit: "log10 false alarm",
        meaning: "A line screen keeps step; so do ruled skies and the wires of laid paper.",
        take: |e| Value::bare(clearest_screen(e, |directions| directions == 1)?),
    },
    Feature {
        key: "lattice.screens",
        title: "Inks with a screen",
        unit: "inks",
        meaning: "A screen under any ink means a photomechanical or digital reproduction.",
        take: |e| Value::bare(screens(e)?),
    },
    Feature {
        key: "raster.prominence",
        title: "Edges on the grid of a printing device",
        unit: "log10 times its surroundings",
        meaning: "Printers and image-setters build every mark of equal square elements; hands do not.",
        take: |e| {
            let raster = &screens_looked_for(e)?.raster;
            Value::bare(raster.prominence.max(1.0).log10())
        },
    },
];

/// Least false-alarm probability told apart, log10: beyond it a screen is certain either way.
const LEAST_ALARM_LOG10: f64 = -30.0;

/// Whether the photograph could show a screen at all.
fn screens_looked_for(e: &Examined) -> Option<&Lattice> {
    Some(&e.measurements.lattice).filter(|l| l.kind != ScreenKind::NotMeasured)
}

/// log10 of the false-alarm probability of the clearest screen with so many directions; 0 where
/// none was found.
fn clearest_screen(e: &Examined, directions: fn(usize) -> bool) -> Option<f64> {
    let inks = &screens_looked_for(e)?.inks;
    Some(
        inks.iter()
            .filter(|i| directions(i.vectors_per_px.len()))
            .map(|i| i.false_alarm.log10().max(LEAST_ALARM_LOG10))
            .fold(0.0, f64::min),
    )
}

fn screens(e: &Examined) -> Option<f64> {
    Some(screens_looked_for(e)?.inks.len() as f64)
}
