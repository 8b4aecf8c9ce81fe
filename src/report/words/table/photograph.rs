//! The photograph itself.

use super::Named;

/// Their titles.
pub const TITLES: &[Named] = &[
    (
        "sharpness_lp_per_mm",
        "Finest detail kept",
        "line pairs per millimetre that keep 10 % of their contrast",
    ),
    (
        "sharpness_cycles_per_px",
        "Finest detail kept, in the picture",
        "cycles per pixel that keep 10 % of their contrast; 0.5 is the limit of any picture",
    ),
    (
        "blur_sigma_px",
        "Blur of edges",
        "standard deviation in pixels",
    ),
    (
        "noise",
        "Noise",
        "standard deviation on bare paper, as a share of full scale",
    ),
    (
        "clipped_share",
        "Share clipped",
        "pixels burnt out or blocked up",
    ),
    (
        "motion_ratio",
        "Motion",
        "blur in the worst direction over the best; 1 = none",
    ),
    (
        "blocking",
        "Compression blocks",
        "strength of the 8-pixel JPEG grid; 1 = none seen",
    ),
    ("note", "Note", ""),
];
