//! Where the colour lies.

use super::Named;

/// Their titles.
pub const TITLES: &[Named] = &[
    (
        "ink_hue",
        "Colour of the ink",
        "0 = neutral, about 1 = a pure primary",
    ),
    (
        "ink_hue_spread",
        "How far the ink's colour varies",
        "one ink: little; inked in colours: much",
    ),
    (
        "ground_hue_spread",
        "How far the ground's colour varies",
        "optical density",
    ),
    (
        "ink_over_ground",
        "Colour varies in the ink or the ground",
        "above 1 in the ink, below 1 in the ground",
    ),
    (
        "ink_ground_correlation",
        "Ink and ground change colour together",
        "−1 to 1",
    ),
    (
        "coloured_share",
        "Share of coloured ground",
        "film included",
    ),
    (
        "wash_share",
        "Share of ground under other colour",
        "neither paper nor film",
    ),
    ("wash_hue", "Strength of that colour", "optical density"),
    ("wash_hues", "Number of such colours", ""),
    ("wash_drift", "Unevenness of that colour", "0 = even"),
    (
        "pooled_rim",
        "Pooled rims",
        "above 0 where colour pooled at its edge, as a brush leaves it",
    ),
    (
        "border_off_marks",
        "Colour that misses the outlines",
        "share of its border where no mark stands",
    ),
    (
        "speck_scatter",
        "Colour changing from speck to speck",
        "share of the light there; one ink or wash: near 0",
    ),
    (
        "speck_breadth",
        "Colour changing from speck to speck, across several colours",
        "specks of three or more inks: well above 0",
    ),
    (
        "out_of_register_px",
        "Colours of the marks out of register",
        "pixels, beyond what a lens explains; one ink, or a wash over it: 0",
    ),
];
