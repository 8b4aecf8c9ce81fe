//! An even film of colour, and the ground that it lies on.

use super::Named;

/// Their titles.
pub const TITLES: &[Named] = &[
    (
        "ground_seen",
        "Share of the field whose ground is seen",
        "between the marks",
    ),
    (
        "levels",
        "Levels of the ground",
        "1 = bare paper, or one film over all",
    ),
    (
        "lightest_lab",
        "Colour of the lightest ground",
        "CIELAB as photographed",
    ),
    ("lab", "Colour of the film", "CIELAB as photographed"),
    (
        "lab_on_white",
        "Colour of the film on white paper",
        "CIELAB, free of exposure and white balance",
    ),
    ("cover", "Share of the ground under film", ""),
    (
        "delta_e00",
        "Colour difference of film and paper",
        "CIEDE2000; 1 is just seen",
    ),
    ("dominance", "Share of the coloured ground that is film", ""),
    (
        "open_ground",
        "Film in the open ground",
        "share, where no mark stands",
    ),
    (
        "beneath_marks",
        "Film between marks against the open",
        "about 0 where the film runs beneath the marks",
    ),
    ("drift", "Unevenness of the film", "0 = even"),
    (
        "steadiest",
        "Unevenness of the evenest colour",
        "times that of the lightest ground; 1 = as even as bare paper",
    ),
    (
        "thickness_scatter",
        "Thickness of the main colour, place by place",
        "spread over its middle thickness; 0 = one thickness",
    ),
    (
        "thickness_swell",
        "Slow change of that thickness",
        "pools and streaks of a brush; 0 = one thickness",
    ),
    (
        "evenest_swell",
        "Slow change in the evenest colour",
        "0 = one thickness, as a tint stone lays it",
    ),
    ("hue_scatter", "Unevenness of the film's hue", "0 = even"),
    (
        "valley",
        "Film and paper apart",
        "1 = two separate levels, 0 = one runs into the other",
    ),
    (
        "mottle",
        "Coarse mottle",
        "optical density, between tiles of 1.27 mm",
    ),
    (
        "graininess",
        "Fine mottle",
        "optical density, inside such tiles",
    ),
    (
        "edge_overshoot",
        "Edge of the film",
        "above 0 = pooled, below 0 = fading, 0 = cut",
    ),
    (
        "edge_width_cells",
        "Width of the film's edge",
        "0.6 % is the least that shows",
    ),
    (
        "edge_waver_cells",
        "Waver of the film's edge",
        "0.6 % is the least that shows",
    ),
    (
        "scraped_lights",
        "Lights scraped or stopped out",
        "small bare patches ringed by film",
    ),
    (
        "border_length",
        "Straight border of a colour",
        "its length; 1 = from side to side",
    ),
    (
        "border_unevenness",
        "Unevenness of the colour along it",
        "0 = one step of colour all along",
    ),
    (
        "border_waver_cells",
        "Waver of that border",
        "0.6 % is the least that shows",
    ),
    (
        "border_crossed",
        "What that border runs across",
        "change of colour alike on both sides, in steps of the border; 0 = one colour along it",
    ),
    (
        "border_ends_px",
        "Ends of that border",
        "pixels from the left and the top",
    ),
];
