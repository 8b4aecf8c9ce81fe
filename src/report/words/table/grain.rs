//! Grain of a stone or ground, and fine structure that comes instead of it.

use super::Named;

/// Their titles.
pub const TITLES: &[Named] = &[
    (
        "textured_share",
        "Share of the field that is broken texture",
        "",
    ),
    (
        "correlation_length_um",
        "Size of the texture",
        "distance over which the cover stays alike",
    ),
    (
        "correlation_length_px",
        "Size of the texture in the photograph",
        "",
    ),
    (
        "ink_chord",
        "Length of ink along a straight line",
        "in sizes of the texture",
    ),
    (
        "isotropy",
        "Alike in all directions",
        "1 = the same every way",
    ),
    (
        "negative_lobe",
        "Distance kept between grains",
        "0 = random grain; dots kept apart or on a lattice have more",
    ),
    (
        "fine_rise",
        "Rise of the spectrum towards fine detail",
        "1 = it only falls, as in drawing and grain",
    ),
    (
        "fine_rise_of_windows",
        "Spectrum of tone rising again, place by place",
        "1 = it only falls",
    ),
    (
        "spectral_peak",
        "How much one spacing prevails",
        "1 = none does, as in random grain",
    ),
    (
        "spectral_slope",
        "Fall of the spectrum",
        "steeper than −3 for round smooth grains",
    ),
    (
        "euler_per_correlation_area",
        "Patches less holes",
        "per square of the texture's size",
    ),
    (
        "holes_per_patch",
        "Holes in dark texture",
        "bare ground inside, per patch",
    ),
    (
        "outline_dimension",
        "Growth of outlines with size",
        "1 = large grains are as smooth as small ones, above 1 more ragged",
    ),
    (
        "size_tail",
        "Largest grains against the usual",
        "1 = all alike",
    ),
    (
        "share_apart",
        "Places where inks swing apart in fine spots",
        "share; process inks reach one half and more",
    ),
    (
        "ratio",
        "Independence of the colours in fine structure",
        "0 = one ink, 1 = independent inks",
    ),
    (
        "second_amplitude",
        "Strength of the fine colours",
        "in optical density",
    ),
    (
        "scale_px",
        "Width of the coloured spots in the photograph",
        "pixels",
    ),
    ("tiles", "Places looked at for coloured spots", ""),
    (
        "speck_share",
        "Share of specks",
        "marks under a tenth of the usual area",
    ),
    (
        "tone_by_number",
        "Tone by number of marks",
        "1 = more marks make it darker, 0 = larger marks do",
    ),
];
