//! One number per finding, taken from the measurements.

use crate::measure::Examined;
use crate::measured::Measured;

/// A finding that can be weighed.
pub struct Feature {
    /// Key, also the column in the table of specimens.
    pub key: &'static str,
    /// Name in plain words.
    pub title: &'static str,
    /// Unit of the value.
    pub unit: &'static str,
    /// What the finding tells apart, in plain trade language.
    pub meaning: &'static str,
    /// Takes the value from what was measured.
    pub take: fn(&Examined) -> Option<Value>,
}

/// A value with its 95 % interval where one was measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Value {
    /// The value.
    pub value: f64,
    /// Its 95 % interval.
    pub interval: Option<[f64; 2]>,
}

impl Value {
    fn bare(value: f64) -> Option<Self> {
        value.is_finite().then_some(Self {
            value,
            interval: None,
        })
    }

    fn of(measured: &Measured) -> Option<Self> {
        measured.figure().map(|f| Self {
            value: f.value,
            interval: Some([f.lo, f.hi]),
        })
    }
}

/// All findings, in the order of the reference.
pub static FEATURES: &[Feature] = &[
    Feature {
        key: "lines.ink_in_long_strokes",
        title: "Ink in long strokes",
        unit: "1",
        meaning: "An engraver's line runs for many times its own width; stipple, crayon grain and screen dots do not.",
        take: |e| Value::of(&e.measurements.lines.features.ink_in_long_strokes),
    },
    Feature {
        key: "lines.ink_in_patches",
        title: "Ink in broad patches",
        unit: "1",
        meaning: "Solid patches are common on stone and in screened shadows, rare in cut lines.",
        take: |e| Value::of(&e.measurements.lines.features.ink_in_patches),
    },
    Feature {
        key: "lines.stroke_length",
        title: "Middle length of a stroke in widths",
        unit: "widths",
        meaning: "Dots are about as long as wide, flicks a few widths, cut lines many.",
        take: |e| Value::of(&e.measurements.lines.features.stroke_length_widths.p50),
    },
    Feature {
        key: "lines.stroke_length_long",
        title: "Length of the longest tenth of strokes in widths",
        unit: "widths",
        meaning: "Dots are about as long as wide, flicks a few widths, cut lines many.",
        take: |e| Value::of(&e.measurements.lines.features.stroke_length_widths.p90),
    },
    Feature {
        key: "lines.orientation_coherence",
        title: "Agreement of neighbouring directions",
        unit: "1",
        meaning: "Hatching gives every place one direction; dots and grain give none.",
        take: |e| Value::of(&e.measurements.lines.features.orientation_coherence),
    },
    Feature {
        key: "lines.hatched_share",
        title: "Share of the inked field that is hatched",
        unit: "1",
        meaning: "Line engraving builds tone from systems of hatching.",
        take: |e| Value::of(&e.measurements.lines.features.hatched_share),
    },
    Feature {
        key: "lines.windows_with_hatch",
        title: "Share of places with a hatching wave",
        unit: "1",
        meaning: "Line engraving builds tone from evenly spaced lines.",
        take: |e| Value::of(&e.measurements.lines.features.windows_with_hatch),
    },
    Feature {
        key: "lines.peak_sharpness",
        title: "Sharpness of the hatching's spacing",
        unit: "1",
        meaning: "A ruled or screened spacing is sharper than one set by hand.",
        take: |e| Value::of(&e.measurements.lines.features.peak_sharpness),
    },
    Feature {
        key: "lines.phase_coherence",
        title: "Evenness of the hatching over distance",
        unit: "1",
        meaning: "A screen or ruling machine keeps step over the whole field; a hand does not.",
        take: |e| Value::of(&e.measurements.lines.features.phase_coherence),
    },
    Feature {
        key: "lines.wander",
        title: "Wandering of the hatching",
        unit: "1",
        meaning: "Hand-cut lines follow the form; a screen does not.",
        take: |e| Value::of(&e.measurements.lines.features.wander),
    },
    Feature {
        key: "lines.swelling",
        title: "Swelling of the lines",
        unit: "1",
        meaning: "A graver's line swells and tapers; drawn and screened lines keep their width.",
        take: |e| Value::of(&e.measurements.lines.features.swelling),
    },
    Feature {
        key: "lines.raggedness",
        title: "Roughness of the strokes' edges",
        unit: "1",
        meaning: "A graver cuts smoothly; crayon on stone breaks up; screen dots give saw-toothed edges.",
        take: |e| Value::of(&e.measurements.lines.features.raggedness),
    },
    Feature {
        key: "lines.pointed_ends",
        title: "Pointed ends of strokes",
        unit: "1",
        meaning: "Graver lines end in points; pen, etched and screened ones end blunt.",
        take: |e| Value::of(&e.measurements.lines.features.pointed_ends),
    },
    Feature {
        key: "film.ground_seen",
        title: "Ground seen between the marks",
        unit: "1",
        meaning: "How much paper or film shows between marks differs by process.",
        take: |e| Value::bare(e.measurements.film.ground_seen),
    },
    Feature {
        key: "film.levels",
        title: "Levels of the ground",
        unit: "levels",
        meaning: "Bare paper is one level, a printed tint adds one or two, washes add many.",
        take: |e| Value::bare(e.measurements.film.levels as f64),
    },
    Feature {
        key: "film.cover",
        title: "Share of the ground under a film",
        unit: "1",
        meaning: "A tint stone covers most of the subject evenly.",
        take: |e| Value::of(&e.measurements.film.cover),
    },
    Feature {
        key: "film.delta_e00",
        title: "Colour difference of the film from the lightest ground",
        unit: "ΔE00",
        meaning: "Tints are pale; washes may be strong.",
        take: |e| Value::of(&e.measurements.film.delta_e00),
    },
    Feature {
        key: "film.dominance",
        title: "One film among all coloured ground",
        unit: "1",
        meaning: "A tint stone prints one colour; washes come in several.",
        take: |e| Value::of(&e.measurements.film.dominance),
    },
    Feature {
        key: "film.open_ground",
        title: "Film where no mark stands",
        unit: "1",
        meaning: "A tint runs on through the open ground; a wash keeps to the drawing.",
        take: |e| Value::of(&e.measurements.film.open_ground),
    },
    Feature {
        key: "film.beneath_marks",
        title: "Film between marks against film in the open",
        unit: "1",
        meaning: "A tint lies under the drawing and beside it alike.",
        take: |e| Value::of(&e.measurements.film.beneath_marks),
    },
    Feature {
        key: "film.drift",
        title: "Unevenness of the film",
        unit: "1",
        meaning: "A printed tint is even; a wash fades and pools.",
        take: |e| Value::of(&e.measurements.film.drift),
    },
    Feature {
        key: "film.hue_scatter",
        title: "Scatter of the film's hue",
        unit: "1",
        meaning: "A printed tint has one hue.",
        take: |e| Value::of(&e.measurements.film.hue_scatter),
    },
    Feature {
        key: "film.valley",
        title: "Step between film and paper",
        unit: "1",
        meaning: "A tint ends in a clean step; a wash runs out.",
        take: |e| Value::of(&e.measurements.film.valley),
    },
    Feature {
        key: "film.mottle",
        title: "Mottle of the film",
        unit: "D",
        meaning: "Printed films are evener than brushed ones.",
        take: |e| Value::of(&e.measurements.film.mottle),
    },
    Feature {
        key: "film.graininess",
        title: "Graininess of the film",
        unit: "D",
        meaning: "A film made of screen dots is grainier than an even tint.",
        take: |e| Value::of(&e.measurements.film.graininess),
    },
    Feature {
        key: "film.edge_overshoot",
        title: "Pooling at the film's edge",
        unit: "1",
        meaning: "Watercolour pools at its edge; a printed tint does not.",
        take: |e| Value::of(&e.measurements.film.edge_overshoot),
    },
    Feature {
        key: "film.edge_width",
        title: "Width of the film's edge",
        unit: "cells",
        meaning: "A tint is cut hard; a wash may fade.",
        take: |e| Value::of(&e.measurements.film.edge_width_cells),
    },
    Feature {
        key: "film.edge_waver",
        title: "Wavering of the film's edge",
        unit: "cells",
        meaning: "A tint stone's border is straight or follows a scraper.",
        take: |e| Value::of(&e.measurements.film.edge_waver_cells),
    },
    Feature {
        key: "film.scraped_lights",
        title: "Lights scraped out of the film",
        unit: "places",
        meaning: "Lights are scraped or stopped out of a tint stone.",
        take: |e| Value::of(&e.measurements.film.scraped_lights),
    },
    Feature {
        key: "film.ground_chroma",
        title: "Colour of the commonest ground as photographed",
        unit: "C*ab",
        meaning: "A tint that covers the whole view shows only as a stronger colour of the ground.",
        take: |e| Value::bare(ground_chroma(e)?),
    },
    Feature {
        key: "film.ground_lightness",
        title: "Lightness of the lightest ground as photographed",
        unit: "L*",
        meaning: "A tint that covers the whole view shows only as a darker ground.",
        take: |e| Value::bare(e.measurements.film.lightest_lab?[0]),
    },
    Feature {
        key: "layering.ink_hue",
        title: "Colour in the ink",
        unit: "1",
        meaning: "A plate inked in colour gives coloured marks; black stays black under any wash.",
        take: |e| Value::of(&e.measurements.layering.ink_hue),
    },
    Feature {
        key: "layering.ink_hue_spread",
        title: "Change of the ink's hue over the print",
        unit: "1",
        meaning: "A plate inked in several colours drifts in hue from place to place.",
        take: |e| Value::of(&e.measurements.layering.ink_hue_spread),
    },
    Feature {
        key: "layering.ground_hue_spread",
        title: "Change of the ground's hue over the print",
        unit: "D",
        meaning: "Washes colour the ground between the marks.",
        take: |e| Value::of(&e.measurements.layering.ground_hue_spread),
    },
    Feature {
        key: "layering.ink_over_ground",
        title: "Colour changes in the ink against those in the ground",
        unit: "log10",
        meaning: "Above nought the colour varies in the ink, below in the ground.",
        take: |e| Value::of(&e.measurements.layering.ink_over_ground),
    },
    Feature {
        key: "layering.ink_ground_correlation",
        title: "Ink hue following ground hue",
        unit: "1",
        meaning: "Process inks colour mark and ground together.",
        take: |e| Value::of(&e.measurements.layering.ink_ground_correlation),
    },
    Feature {
        key: "layering.coloured_share",
        title: "Share of coloured ground",
        unit: "1",
        meaning: "Bare paper between the marks speaks against washes and tints.",
        take: |e| Value::of(&e.measurements.layering.coloured_share),
    },
    Feature {
        key: "layering.wash_share",
        title: "Share of ground in colours other than a film",
        unit: "1",
        meaning: "Washes come in several colours.",
        take: |e| Value::of(&e.measurements.layering.wash_share),
    },
    Feature {
        key: "layering.wash_hue",
        title: "Strength of those colours",
        unit: "D",
        meaning: "Washes may be strong.",
        take: |e| Value::of(&e.measurements.layering.wash_hue),
    },
    Feature {
        key: "layering.wash_hues",
        title: "Number of hues in the ground",
        unit: "hues",
        meaning: "A colourist uses several.",
        take: |e| Value::of(&e.measurements.layering.wash_hues),
    },
    Feature {
        key: "layering.wash_drift",
        title: "Unevenness of the coloured ground",
        unit: "1",
        meaning: "A brush leaves drifts and pools.",
        take: |e| Value::of(&e.measurements.layering.wash_drift),
    },
    Feature {
        key: "layering.pooled_rim",
        title: "Pooling at the rim of colour",
        unit: "1",
        meaning: "Watercolour pools at its rim.",
        take: |e| Value::of(&e.measurements.layering.pooled_rim),
    },
    Feature {
        key: "layering.border_off_marks",
        title: "Colour that misses the outlines",
        unit: "1",
        meaning: "A brush misses and overruns outlines.",
        take: |e| Value::of(&e.measurements.layering.border_off_marks),
    },
];

/// Chroma of the lightest level of the ground as photographed, C*ab.
fn ground_chroma(e: &Examined) -> Option<f64> {
    let [_, a, b] = e.measurements.film.lightest_lab?;
    Some(a.hypot(b))
}
