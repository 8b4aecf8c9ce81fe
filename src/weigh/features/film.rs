//! Findings on the ground and the film on it.

use super::{Feature, Value};
use crate::measure::Examined;
use crate::measure::film::CELLS;

pub(super) static FEATURES: &[Feature] = &[
    Feature {
        key: "film.beneath_marks",
        title: "Film between marks against film in the open",
        unit: "1",
        meaning: "A tint lies under the drawing and beside it alike.",
        take: |e| Value::of(&e.measurements.film.beneath_marks),
    },
    Feature {
        key: "film.border_crossed",
        title: "What the border runs across",
        unit: "steps of the border",
        meaning: "A printed tint ends along one line over paper, drawing and washes alike; the edge of a wash has one colour along it on either side.",
        take: |e| Value::of(&e.measurements.film.border_crossed),
    },
    Feature {
        key: "film.border_length",
        title: "Straight border of a colour",
        unit: "of the longer side",
        meaning: "A tint stone is often ended along a rule, across drawing and washes alike; a brush follows the drawing. The edge of the sheet and the fold of a book look the same, so keep them out of the frame; no border in view says nothing.",
        take: |e| Value::or_none_there(&e.measurements.film.border_length),
    },
    Feature {
        key: "film.border_unevenness",
        title: "Unevenness of the colour along its straight border",
        unit: "1",
        meaning: "A tint stone lays one thickness along all of its border; a brush does not.",
        take: |e| Value::of(&e.measurements.film.border_unevenness),
    },
    Feature {
        key: "film.border_waver",
        title: "Waver of the colour's straightest border",
        unit: CELLS,
        meaning: "A ruled border is straight, a brushed or drawn one only nearly.",
        take: |e| Value::of(&e.measurements.film.border_waver_cells),
    },
    Feature {
        key: "film.cover",
        title: "Share of the ground under a film",
        unit: "1",
        meaning: "A tint stone covers most of the subject evenly.",
        take: |e| Value::or_none_there(&e.measurements.film.cover),
    },
    Feature {
        key: "film.delta_e00",
        title: "Colour difference of the film from the lightest ground",
        unit: "ΔE00",
        meaning: "Tints are pale; washes may be strong.",
        take: |e| Value::or_none_there(&e.measurements.film.delta_e00),
    },
    Feature {
        key: "film.dominance",
        title: "One film among all coloured ground",
        unit: "1",
        meaning: "A tint stone prints one colour; washes come in several.",
        take: |e| Value::or_none_there(&e.measurements.film.dominance),
    },
    Feature {
        key: "film.drift",
        title: "Unevenness of the film",
        unit: "1",
        meaning: "A printed tint is even; a wash fades and pools.",
        take: |e| Value::of(&e.measurements.film.drift),
    },
    Feature {
        key: "film.edge_overshoot",
        title: "Pooling at the film's edge",
        unit: "1",
        meaning: "Watercolour pools at its edge; a printed tint does not.",
        take: |e| Value::of(&e.measurements.film.edge_overshoot),
    },
    Feature {
        key: "film.edge_waver",
        title: "Wavering of the film's edge",
        unit: CELLS,
        meaning: "A tint stone's border is straight or follows a scraper.",
        take: |e| Value::of(&e.measurements.film.edge_waver_cells),
    },
    Feature {
        key: "film.edge_width",
        title: "Width of the film's edge",
        unit: CELLS,
        meaning: "A tint is cut hard; a wash may fade.",
        take: |e| Value::of(&e.measurements.film.edge_width_cells),
    },
    Feature {
        key: "film.even_colour_cover",
        title: "Share of the ground under a coloured film, for its unevenness",
        unit: "1",
        meaning: "A tint covers much ground evenly; washes are uneven, crayon has no colour.",
        take: |e| Value::bare(even_colour_cover(e)),
    },
    Feature {
        key: "film.graininess",
        title: "Graininess of the film",
        unit: "D",
        meaning: "A film made of screen dots is grainier than an even tint.",
        take: |e| Value::of(&e.measurements.film.graininess),
    },
    Feature {
        key: "film.ground_chroma",
        title: "Colour of the lightest ground as photographed",
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
        key: "film.ground_seen",
        title: "Ground seen between the marks",
        unit: "1",
        meaning: "How much paper or film shows between marks differs by process.",
        take: |e| Value::bare(e.measurements.film.ground_seen),
    },
    Feature {
        key: "film.hue_scatter",
        title: "Scatter of the film's hue",
        unit: "1",
        meaning: "A printed tint has one hue.",
        take: |e| Value::of(&e.measurements.film.hue_scatter),
    },
    Feature {
        key: "film.hue_step",
        title: "Colour step from the lightest ground to the film",
        unit: "C*ab",
        meaning: "A tint or wash changes the ground's colour; shadow and crayon only darken it.",
        take: |e| Value::bare(film_step(e).map_or(0.0, |s| s[1].hypot(s[2]))),
    },
    Feature {
        key: "film.levels",
        title: "Levels of the ground",
        unit: "1",
        meaning: "Bare paper is one level, a printed tint adds one or two, washes add many.",
        take: |e| Value::bare(e.measurements.film.levels as f64),
    },
    Feature {
        key: "film.light_step",
        title: "Darkness step from the lightest ground to the film",
        unit: "L*",
        meaning: "A tint is pale.",
        take: |e| Value::bare(film_step(e).map_or(0.0, |s| s[0])),
    },
    Feature {
        key: "film.mottle",
        title: "Mottle of the film",
        unit: "D",
        meaning: "Printed films are evener than brushed ones.",
        take: |e| Value::of(&e.measurements.film.mottle),
    },
    Feature {
        key: "film.open_ground",
        title: "Film where no mark stands",
        unit: "1",
        meaning: "A tint runs on through the open ground; a wash keeps to the drawing.",
        take: |e| Value::or_none_there(&e.measurements.film.open_ground),
    },
    Feature {
        key: "film.scraped_lights",
        title: "Lights scraped out of the film",
        unit: "places",
        meaning: "Lights are scraped or stopped out of a tint stone.",
        take: |e| Value::or_none_there(&e.measurements.film.scraped_lights),
    },
    Feature {
        key: "film.steadiest",
        title: "Unevenness of the evenest colour, against bare paper",
        unit: "times",
        meaning: "Beside washes, a printed tint is still as even as the paper.",
        take: |e| Value::of(&e.measurements.film.steadiest),
    },
    Feature {
        key: "film.thickness_evenest",
        title: "Slow change of thickness in the evenest colour",
        unit: "1",
        meaning: "A tint stone lays one thickness, even where washes lie beside it; a brush lays many.",
        take: |e| Value::of(&e.measurements.film.evenest_swell),
    },
    Feature {
        key: "film.thickness_scatter",
        title: "Spread of thickness of the main colour",
        unit: "1",
        meaning: "A tint stone lays one thickness, a brush many; stains fade out all round.",
        take: |e| Value::of(&e.measurements.film.thickness_scatter),
    },
    Feature {
        key: "film.thickness_swell",
        title: "Slow change of thickness of the main colour",
        unit: "1",
        meaning: "Washes pool, streak and fade; a printed tint does not.",
        take: |e| Value::of(&e.measurements.film.thickness_swell),
    },
    Feature {
        key: "film.valley",
        title: "Step between film and paper",
        unit: "1",
        meaning: "A tint ends in a clean step; a wash runs out.",
        take: |e| Value::or_none_there(&e.measurements.film.valley),
    },
];

/// Chroma of the lightest level of the ground as photographed, C*ab.
fn ground_chroma(e: &Examined) -> Option<f64> {
    let [_, a, b] = e.measurements.film.lightest_lab?;
    Some(a.hypot(b))
}

/// Step in CIELAB from the lightest ground to the film, L* counted downwards; none without a film.
fn film_step(e: &Examined) -> Option<[f64; 3]> {
    let film = &e.measurements.film;
    let (paper, film) = (film.lightest_lab?, film.lab?);
    Some([paper[0] - film[0], film[1] - paper[1], film[2] - paper[2]])
}

/// Colour difference at which a film counts as half coloured, C*ab: about the least that a
/// practised eye calls a tint on old paper (common practice).
const COLOURED_CHROMA: f64 = 6.0;

/// Cover of the film, weighed down where it differs from the paper in darkness alone and where it
/// is uneven, 0–1.
fn even_colour_cover(e: &Examined) -> f64 {
    let film = &e.measurements.film;
    let (Some(step), Some(cover)) = (film_step(e), film.cover.value()) else {
        return 0.0;
    };
    let chroma = step[1].hypot(step[2]);
    let coloured = chroma * chroma / (chroma * chroma + COLOURED_CHROMA * COLOURED_CHROMA);
    cover * coloured / (1.0 + 5.0 * film.drift.value().unwrap_or(1.0))
}
