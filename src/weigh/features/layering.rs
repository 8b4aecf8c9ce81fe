//! Findings on where the colour lies.

use super::{Feature, Value};

pub(super) static FEATURES: &[Feature] = &[
    Feature {
        key: "layering.border_off_marks",
        title: "Colour that misses the outlines",
        unit: "1",
        meaning: "A brush misses and overruns outlines.",
        take: |e| Value::or_none_there(&e.measurements.layering.border_off_marks),
    },
    Feature {
        key: "layering.coloured_share",
        title: "Share of coloured ground",
        unit: "1",
        meaning: "Bare paper between the marks speaks against washes and tints.",
        take: |e| Value::of(&e.measurements.layering.coloured_share),
    },
    Feature {
        key: "layering.ground_hue_spread",
        title: "Change of the ground's hue over the print",
        unit: "D",
        meaning: "Washes colour the ground between the marks.",
        take: |e| Value::of(&e.measurements.layering.ground_hue_spread),
    },
    Feature {
        key: "layering.ink_ground_correlation",
        title: "Ink hue following ground hue",
        unit: "1",
        meaning: "Process inks colour mark and ground together.",
        take: |e| Value::of(&e.measurements.layering.ink_ground_correlation),
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
        key: "layering.ink_over_ground",
        title: "Colour changes in the ink against those in the ground",
        unit: "log10",
        meaning: "Above ×1 the colour varies in the ink, below in the ground.",
        take: |e| Value::of(&e.measurements.layering.ink_over_ground),
    },
    Feature {
        key: "layering.pooled_rim",
        title: "Pooling at the rim of colour",
        unit: "1",
        meaning: "Watercolour pools at its rim.",
        take: |e| Value::or_none_there(&e.measurements.layering.pooled_rim),
    },
    Feature {
        key: "layering.speck_breadth",
        title: "Specks of three or more colours side by side",
        unit: "1",
        meaning: "Spots of cyan, magenta and yellow lie beside one another; a wash or an ink is one colour at a time.",
        take: |e| Value::of(&e.measurements.layering.speck_breadth),
    },
    Feature {
        key: "layering.speck_scatter",
        title: "Colour that changes between neighbouring specks",
        unit: "1",
        meaning: "Process inks break a colour into specks; a brush, a tint stone or one ink lays it whole.",
        take: |e| Value::of(&e.measurements.layering.speck_scatter),
    },
    Feature {
        key: "layering.wash_drift",
        title: "Unevenness of the coloured ground",
        unit: "1",
        meaning: "A brush leaves drifts and pools.",
        take: |e| Value::of(&e.measurements.layering.wash_drift),
    },
    Feature {
        key: "layering.wash_hue",
        title: "Strength of the colours of the ground",
        unit: "D",
        meaning: "Washes may be strong.",
        take: |e| Value::or_none_there(&e.measurements.layering.wash_hue),
    },
    Feature {
        key: "layering.wash_hues",
        title: "Number of hues in the ground",
        unit: "1",
        meaning: "A colourist uses several.",
        take: |e| Value::of(&e.measurements.layering.wash_hues),
    },
    Feature {
        key: "layering.wash_share",
        title: "Share of ground in colours other than a film",
        unit: "1",
        meaning: "Washes come in several colours.",
        take: |e| Value::of(&e.measurements.layering.wash_share),
    },
];
