//! Printing screens and the grid of a printing device.

use super::Named;

/// Their titles.
pub const TITLES: &[Named] = &[
    (
        "ruling_lpi",
        "Ruling",
        "lines per inch, mean over the measured field",
    ),
    (
        "ruling_per_cm",
        "Ruling, metric",
        "lines per centimetre, as Continental printers give it",
    ),
    (
        "period_px",
        "Spacing in the photograph",
        "distance of neighbouring rows",
    ),
    (
        "angle_deg",
        "Angle",
        "counter-clockwise from the picture's horizontal",
    ),
    (
        "angles_between",
        "Angle between screens",
        "process inks stand 30 and 15 degrees apart, in the pattern called a rosette",
    ),
    (
        "false_alarm",
        "Chance of a false alarm",
        "probability that random structure would look this regular; even hatching, cloth and moulds of paper are not random",
    ),
    (
        "false_alarm_log10",
        "Chance of a false alarm",
        "how many such systems chance alone would make here",
    ),
    (
        "coherence",
        "In step with the screen",
        "share of the pattern that keeps step over the field, or inside its pieces, 0 to 1",
    ),
    (
        "pieces",
        "Pieces in step",
        "parts of the photograph that were read each for itself, where the pattern keeps step in no more than these, as in mechanical tints; 0 where it does over the whole field",
    ),
    ("amplitude", "Strength of the pattern", "in optical density"),
    (
        "prominence",
        "Edges on a fine square grid",
        "how far the grid stands out of its surroundings, times; printing devices reach 40 and more",
    ),
    (
        "elements_per_inch",
        "Picture elements of a printing device",
        "per inch, where the edges of the marks lie on such a grid",
    ),
    ("pitch_px", "Spacing of that grid in the photograph", ""),
    (
        "grid_angle_deg",
        "Angle of that grid",
        "counter-clockwise from the picture's horizontal",
    ),
];
