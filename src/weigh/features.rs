//! One number per finding, taken from the measurements.

use crate::measure::Examined;
use crate::measure::lattice::{Lattice, ScreenKind};
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

    /// The figure, or 0 where there is nothing of its kind to measure: that is a finding too.
    fn or_none_there(measured: &Measured) -> Option<Self> {
        Self::of(measured).or_else(|| Self::bare(0.0))
    }

    /// 1 where there was enough of its kind to be measured, else 0.
    fn seen(measured: &Measured) -> Option<Self> {
        Self::bare(f64::from(u8::from(measured.figure().is_some())))
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
        key: "film.beneath_marks",
        title: "Film between marks against film in the open",
        unit: "1",
        meaning: "A tint lies under the drawing and beside it alike.",
        take: |e| Value::of(&e.measurements.film.beneath_marks),
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
        unit: "cells",
        meaning: "A tint stone's border is straight or follows a scraper.",
        take: |e| Value::of(&e.measurements.film.edge_waver_cells),
    },
    Feature {
        key: "film.edge_width",
        title: "Width of the film's edge",
        unit: "cells",
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
        unit: "levels",
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
        key: "film.valley",
        title: "Step between film and paper",
        unit: "1",
        meaning: "A tint ends in a clean step; a wash runs out.",
        take: |e| Value::or_none_there(&e.measurements.film.valley),
    },
    Feature {
        key: "fine.amplitude",
        title: "Strength of fine colour spots",
        unit: "D",
        meaning: "Process inks leave spots of strong colour.",
        take: |e| Value::bare(e.measurements.lattice.fine_colour.second_amplitude),
    },
    Feature {
        key: "fine.ratio",
        title: "Independence of the colours in fine structure",
        unit: "1",
        meaning: "Black marks move all colours together; process inks do not.",
        take: |e| Value::bare(e.measurements.lattice.fine_colour.ratio),
    },
    Feature {
        key: "fine.share_apart",
        title: "Places where the inks swing apart in fine spots",
        unit: "1",
        meaning: "Inkjet and stochastic screens lay each ink in spots of its own.",
        take: |e| Value::bare(e.measurements.lattice.fine_colour.share_apart),
    },
    Feature {
        key: "grain.correlation_length",
        title: "Length of the texture",
        unit: "µm",
        meaning: "Crayon grain is finer than most stipple and coarser than fine screens.",
        take: |e| Value::of(&e.measurements.grain.correlation_length_um),
    },
    Feature {
        key: "grain.dark_seen",
        title: "Dark broken texture in view",
        unit: "1 = yes",
        meaning: "Grain and screens reach dark tones in broken texture; lines and stipple seldom.",
        take: |e| Value::seen(&e.measurements.grain.holes_per_patch),
    },
    Feature {
        key: "grain.euler",
        title: "Patches less holes, per square of the texture's length",
        unit: "1",
        meaning: "Grain closes round holes in the darks; dots do not.",
        take: |e| Value::of(&e.measurements.grain.euler_per_correlation_area),
    },
    Feature {
        key: "grain.holes",
        title: "Holes of bare paper in dark texture",
        unit: "per patch",
        meaning: "Grain and screen shadows close round holes; lines and dots do not.",
        take: |e| Value::of(&e.measurements.grain.holes_per_patch),
    },
    Feature {
        key: "grain.ink_chord",
        title: "Run of ink along a line, in lengths of the texture",
        unit: "1",
        meaning: "Grain runs together in wormy patches; dots end soon.",
        take: |e| Value::of(&e.measurements.grain.ink_chord),
    },
    Feature {
        key: "grain.isotropy",
        title: "Sameness of the texture in all directions",
        unit: "1",
        meaning: "Stone grain looks alike every way; hatching and rows of stipple do not.",
        take: |e| Value::of(&e.measurements.grain.isotropy),
    },
    Feature {
        key: "grain.negative_lobe",
        title: "Distance kept between marks, from the texture",
        unit: "1",
        meaning: "Set dots keep apart and screens are regular; crayon grain clumps at random.",
        take: |e| Value::of(&e.measurements.grain.negative_lobe),
    },
    Feature {
        key: "grain.outline_dimension",
        title: "Larger grains more ragged",
        unit: "1",
        meaning: "Grains that run together grow ragged; larger dots stay round.",
        take: |e| Value::of(&e.measurements.grain.outline_dimension),
    },
    Feature {
        key: "grain.raggedness",
        title: "Raggedness of the grains",
        unit: "1",
        meaning: "Grain and joined marks are ragged; single dots are round.",
        take: |e| Value::of(&e.measurements.grain.raggedness),
    },
    Feature {
        key: "grain.size_tail",
        title: "Largest grains over the middle ones",
        unit: "1",
        meaning: "Grain comes in every size; dots set by hand or screen are more alike.",
        take: |e| Value::of(&e.measurements.grain.size_tail),
    },
    Feature {
        key: "grain.speck_share",
        title: "Share of tiny specks",
        unit: "1",
        meaning: "Crayon grain leaves many tiny specks beside larger ones.",
        take: |e| Value::of(&e.measurements.grain.speck_share),
    },
    Feature {
        key: "grain.spectral_peak",
        title: "Preferred spacing of the texture",
        unit: "1",
        meaning: "Random grain has none; dots and screens have one.",
        take: |e| Value::of(&e.measurements.grain.spectral_peak),
    },
    Feature {
        key: "grain.spectral_slope",
        title: "Smoothness of the texture's outlines",
        unit: "1",
        meaning: "Round dots fall off steeply, ragged grain slowly.",
        take: |e| Value::of(&e.measurements.grain.spectral_slope),
    },
    Feature {
        key: "grain.texture_seen",
        title: "Broken texture in view",
        unit: "1 = yes",
        meaning: "Stone, stipple and screens break the tone up; line work does not.",
        take: |e| Value::seen(&e.measurements.grain.isotropy),
    },
    Feature {
        key: "grain.textured_share",
        title: "Share of the field in broken texture",
        unit: "1",
        meaning: "Stone, stipple and screens break the tone up; line work does not.",
        take: |e| Value::of(&e.measurements.grain.textured_share),
    },
    Feature {
        key: "grain.tone_by_number",
        title: "Part of the tone made by number of grains",
        unit: "1",
        meaning: "Stipple and FM make tone by number; grain and screens by size.",
        take: |e| Value::of(&e.measurements.grain.tone_by_number),
    },
    Feature {
        key: "grain.tone_range_seen",
        title: "Broken texture over a range of tones",
        unit: "1 = yes",
        meaning: "Where tone is broken up in light and dark alike.",
        take: |e| Value::seen(&e.measurements.grain.tone_by_number),
    },
    Feature {
        key: "lattice.dot_screen",
        title: "Clearest screen of dots",
        unit: "log10 false alarm",
        meaning: "A screen's two directions keep step over the whole field; nothing made by hand does.",
        take: |e| Value::bare(clearest_screen(e, |directions| directions >= 2)?),
    },
    Feature {
        key: "lattice.line_screen",
        title: "Clearest screen of lines",
        unit: "log10 false alarm",
        meaning: "A line screen keeps step; so do ruled skies and the wires of laid paper.",
        take: |e| Value::bare(clearest_screen(e, |directions| directions == 1)?),
    },
    Feature {
        key: "lattice.screens",
        title: "Inks with a screen",
        unit: "inks",
        meaning: "A screen under any ink means a photomechanical or digital reproduction.",
        take: |e| Value::bare(screens(e)?),
    },
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
        meaning: "Above nought the colour varies in the ink, below in the ground.",
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
        key: "layering.wash_drift",
        title: "Unevenness of the coloured ground",
        unit: "1",
        meaning: "A brush leaves drifts and pools.",
        take: |e| Value::of(&e.measurements.layering.wash_drift),
    },
    Feature {
        key: "layering.wash_hue",
        title: "Strength of those colours",
        unit: "D",
        meaning: "Washes may be strong.",
        take: |e| Value::or_none_there(&e.measurements.layering.wash_hue),
    },
    Feature {
        key: "layering.wash_hues",
        title: "Number of hues in the ground",
        unit: "hues",
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
        unit: "1 = yes",
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
    Feature {
        key: "marks.circularity",
        title: "Middle roundness of the marks",
        unit: "1",
        meaning: "Dots are round; grain and lines are not.",
        take: |e| Value::of(&e.measurements.marks.circularity.p50),
    },
    Feature {
        key: "marks.circularity_low",
        title: "Roundness of the least round tenth",
        unit: "1",
        meaning: "Even the worst of a stippler's dots is a blob; crayon grain is ragged.",
        take: |e| Value::of(&e.measurements.marks.circularity.p10),
    },
    Feature {
        key: "marks.clark_evans",
        title: "Evenness of the marks' spacing (Clark–Evans)",
        unit: "1",
        meaning: "1 is random, above 1 kept apart as stipple is, below 1 clumped.",
        take: |e| Value::of(&e.measurements.marks.clark_evans),
    },
    Feature {
        key: "marks.density",
        title: "Marks per square millimetre of the marked area",
        unit: "mm⁻²",
        meaning: "Crayon grain and fine screens have many more marks than stipple.",
        take: |e| Value::of(&e.measurements.marks.marked_area_density_per_mm2),
    },
    Feature {
        key: "marks.diameter",
        title: "Middle diameter of the marks",
        unit: "µm",
        meaning: "Stipple dots are larger than crayon specks.",
        take: |e| Value::of(&e.measurements.marks.diameter_um.p50),
    },
    Feature {
        key: "marks.diameter_large",
        title: "Diameter of the largest tenth of the marks",
        unit: "µm",
        meaning: "Lines and solids make large marks.",
        take: |e| Value::of(&e.measurements.marks.diameter_um.p90),
    },
    Feature {
        key: "marks.diameter_over_blur",
        title: "Size of the marks over the blur",
        unit: "1",
        meaning: "Marks near the limit of the photograph are specks or screen spots.",
        take: |e| Value::of(&e.measurements.marks.diameter_over_blur),
    },
    Feature {
        key: "marks.dots_seen",
        title: "Dots enough to have statistics",
        unit: "1 = yes",
        meaning: "Stipple, grain and screens show many separate marks; line work few.",
        take: |e| Value::seen(&e.measurements.marks.flick_share),
    },
    Feature {
        key: "marks.elongation",
        title: "Middle elongation of the marks",
        unit: "1",
        meaning: "Flicks and lines are long, dots and grain short.",
        take: |e| Value::of(&e.measurements.marks.elongation.p50),
    },
    Feature {
        key: "marks.flick_share",
        title: "Share of flicks",
        unit: "1",
        meaning: "Short curved dashes are a stippler's.",
        take: |e| Value::of(&e.measurements.marks.flick_share),
    },
    Feature {
        key: "marks.ink_in_dots",
        title: "Ink that lies in dots",
        unit: "1",
        meaning: "Nearly all in stipple, little in line work and dark crayon.",
        take: |e| Value::of(&e.measurements.marks.ink_in_dots),
    },
    Feature {
        key: "marks.kept_distance",
        title: "Distance kept by marks",
        unit: "spacings",
        meaning: "Stipple keeps a distance; grain comes as it falls.",
        take: |e| Value::of(&e.measurements.marks.kept_distance_spacings),
    },
    Feature {
        key: "marks.local_evenness",
        title: "Evenness of spacing from mark to mark",
        unit: "1",
        meaning: "Dots set by hand or screen keep apart; grain does not.",
        take: |e| Value::of(&e.measurements.marks.local_evenness),
    },
    Feature {
        key: "marks.marked_area_coverage",
        title: "Cover within the marked area",
        unit: "1",
        meaning: "Screens and stones reach solid tone; stipple seldom does.",
        take: |e| Value::of(&e.measurements.marks.marked_area_coverage),
    },
    Feature {
        key: "marks.marked_share",
        title: "Share of the field that is marked",
        unit: "1",
        meaning: "A screen covers highlights too; a hand leaves paper bare.",
        take: |e| Value::of(&e.measurements.marks.marked_share),
    },
    Feature {
        key: "marks.neighbour_size_spread",
        title: "Difference in size between neighbours",
        unit: "ln",
        meaning: "Screen dots are like their neighbours; stipple and grain vary side by side.",
        take: |e| Value::of(&e.measurements.marks.neighbour_size_spread),
    },
    Feature {
        key: "marks.pair_peak",
        title: "Preferred distance between marks",
        unit: "1",
        meaning: "A lattice has one, stipple a soft one, grain none.",
        take: |e| Value::of(&e.measurements.marks.pair_peak),
    },
    Feature {
        key: "marks.row_order",
        title: "Marks in rows",
        unit: "1",
        meaning: "Stipple and roulette run in rows; grain does not.",
        take: |e| Value::of(&e.measurements.marks.row_order),
    },
    Feature {
        key: "marks.size_spread",
        title: "Spread of the marks' diameters",
        unit: "ln",
        meaning: "Dots are alike; grain is of every size.",
        take: |e| Value::of(&e.measurements.marks.size_spread),
    },
    Feature {
        key: "marks.touching",
        title: "Marks that touch",
        unit: "1",
        meaning: "Grain runs together; set dots seldom touch.",
        take: |e| Value::of(&e.measurements.marks.touching_ratio),
    },
];

/// Chroma of the lightest level of the ground as photographed, C*ab.
fn ground_chroma(e: &Examined) -> Option<f64> {
    let [_, a, b] = e.measurements.film.lightest_lab?;
    Some(a.hypot(b))
}

/// Least false-alarm probability told apart, log10: beyond it a screen is certain either way.
const LEAST_ALARM_LOG10: f64 = -30.0;

/// Whether the photograph could show a screen at all.
fn screens_looked_for(e: &Examined) -> Option<&Lattice> {
    Some(&e.measurements.lattice).filter(|l| l.kind != ScreenKind::NotMeasured)
}

/// log10 of the false-alarm probability of the clearest screen with so many directions; 0 where
/// none was found.
fn clearest_screen(e: &Examined, directions: fn(usize) -> bool) -> Option<f64> {
    let inks = &screens_looked_for(e)?.inks;
    Some(
        inks.iter()
            .filter(|i| directions(i.vectors_per_px.len()))
            .map(|i| i.false_alarm.log10().max(LEAST_ALARM_LOG10))
            .fold(0.0, f64::min),
    )
}

fn screens(e: &Examined) -> Option<f64> {
    Some(screens_looked_for(e)?.inks.len() as f64)
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
