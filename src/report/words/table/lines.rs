//! Lines and systems of hatching.

use super::Named;

/// Their titles.
pub const TITLES: &[Named] = &[
    (
        "spacing_per_mm",
        "Lines per millimetre",
        "mean over the area covered",
    ),
    (
        "orientation_deg",
        "Direction of the lines",
        "counter-clockwise from the picture's horizontal",
    ),
    ("width_um", "Line width", "at half height"),
    ("width_px", "Line width in the photograph", ""),
    (
        "swelling",
        "Swelling along a line",
        "change of width over the middle width; 0 = even",
    ),
    (
        "pointed_ends",
        "Pointed ends",
        "share of free ends that taper",
    ),
    (
        "raggedness_um",
        "Roughness of line edges",
        "root mean square",
    ),
    ("raggedness", "Roughness of edges over size", ""),
    (
        "coherence_length_mm",
        "Length over which lines stay parallel",
        "",
    ),
    (
        "coherence_length_lines",
        "Length over which lines stay parallel, in line spacings",
        "",
    ),
    ("share_of_field", "Share of the field covered", ""),
    (
        "wander",
        "Wander of direction and spacing",
        "near 0 for a ruling machine or a screen, 0.1 and more for a hand",
    ),
    (
        "phase_coherence",
        "Evenness of ruling from place to place",
        "1 = as a machine rules",
    ),
    (
        "sharpness",
        "Clearness of the ruling",
        "share of the line pattern in one spacing and direction",
    ),
    (
        "hatched_share",
        "Share of the inked field that is hatched",
        "",
    ),
    (
        "windows_with_hatch",
        "Share of places with clear hatching",
        "",
    ),
    (
        "peak_sharpness",
        "Clearness of the hatching",
        "even ruling 0.5 and more, strewn dots under 0.3",
    ),
    (
        "orientation_coherence",
        "One direction over others",
        "0 = no direction, 1 = one only",
    ),
    (
        "ink_in_long_strokes",
        "Share of ink in long strokes",
        "ten widths and more; high for line work, low for dots",
    ),
    (
        "ink_in_patches",
        "Share of ink in broad patches",
        "too broad to be strokes",
    ),
    (
        "stroke_length_widths",
        "Length of strokes",
        "in their own widths; 1 = a round dot",
    ),
    (
        "lattice_like",
        "Two crossing systems as even as a machine's",
        "",
    ),
];
