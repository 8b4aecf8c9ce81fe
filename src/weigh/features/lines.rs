//! Findings on lines and hatching.

use super::{Feature, Value, YES_OR_NO};

pub(super) static FEATURES: &[Feature] = &[
    Feature {
        key: "lines.hatched_share",
        title: "Share of the inked field that is hatched",
        unit: "1",
        meaning: "Line engraving builds tone from systems of hatching.",
        take: |e| Value::of(&e.measurements.lines.features.hatched_share),
    },
    Feature {
        key: "lines.hatching_seen",
        title: "Hatching in view",
        unit: YES_OR_NO,
        meaning: "Line engraving builds tone from hatching.",
        take: |e| Value::seen(&e.measurements.lines.features.wander),
    },
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
        key: "lines.orientation_coherence",
        title: "Agreement of neighbouring directions",
        unit: "1",
        meaning: "Hatching gives every place one direction; dots and grain give none.",
        take: |e| Value::of(&e.measurements.lines.features.orientation_coherence),
    },
    Feature {
        key: "lines.peak_sharpness",
        title: "Sharpness of the hatching's spacing",
        unit: "1",
        meaning: "A ruled or screened spacing is sharper than one set by hand.",
        take: |e| Value::or_none_there(&e.measurements.lines.features.peak_sharpness),
    },
    Feature {
        key: "lines.phase_coherence",
        title: "Evenness of the hatching over distance",
        unit: "1",
        meaning: "A screen or ruling machine keeps step over the whole field; a hand does not.",
        take: |e| Value::or_none_there(&e.measurements.lines.features.phase_coherence),
    },
    Feature {
        key: "lines.pointed_ends",
        title: "Pointed ends of strokes",
        unit: "1",
        meaning: "Graver lines end in points; pen, etched and screened ones end blunt.",
        take: |e| Value::of(&e.measurements.lines.features.pointed_ends),
    },
    Feature {
        key: "lines.raggedness",
        title: "Roughness of the strokes' edges",
        unit: "1",
        meaning: "A graver cuts smoothly; crayon on stone breaks up; screen dots give saw-toothed edges.",
        take: |e| Value::of(&e.measurements.lines.features.raggedness),
    },
    Feature {
        key: "lines.stroke_length",
        title: "Middle length of a stroke",
        unit: "widths",
        meaning: "Dots are about as long as wide, flicks a few widths, cut lines many.",
        take: |e| Value::of(&e.measurements.lines.features.stroke_length_widths.p50),
    },
    Feature {
        key: "lines.stroke_length_long",
        title: "Length of the longest tenth of strokes",
        unit: "widths",
        meaning: "Dots are about as long as wide, flicks a few widths, cut lines many.",
        take: |e| Value::of(&e.measurements.lines.features.stroke_length_widths.p90),
    },
    Feature {
        key: "lines.swelling",
        title: "Swelling of the lines",
        unit: "1",
        meaning: "A graver's line swells and tapers; drawn and screened lines keep their width.",
        take: |e| Value::of(&e.measurements.lines.features.swelling),
    },
    Feature {
        key: "lines.wander",
        title: "Wandering of the hatching",
        unit: "1",
        meaning: "Hand-cut lines follow the form; a screen does not.",
        take: |e| Value::of(&e.measurements.lines.features.wander),
    },
    Feature {
        key: "lines.windows_with_hatch",
        title: "Share of places with a hatching wave",
        unit: "1",
        meaning: "Line engraving builds tone from evenly spaced lines.",
        take: |e| Value::of(&e.measurements.lines.features.windows_with_hatch),
    },
];
