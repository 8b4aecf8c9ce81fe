//! Where the colour lies: in the ink, or washed over black.
//!
//! - [`patches`]: the colour of the ink itself, free of blur and ground.
//! - [`hue`]: how the ink's hue varies over the field, and whether the ground's does.
//! - [`wash`]: pooled rims, overruns and fading of colour that is neither paper nor film.
//! - [`specks`]: small specks of several colours beside the marks.
//! - [`register`]: whether the colours of the marks lie on one another.

pub mod hue;
pub mod patches;
pub mod register;
pub mod specks;
pub mod wash;

#[cfg(test)]
mod tests;

use super::film::layout::{Layout, hue_part};
use super::film::{ground, levels, paper_and_film};
use crate::ink::Inked;
use crate::measured::{Measured, NotMeasured};
use patches::Patch;
use schemars::JsonSchema;
use serde::Serialize;

/// Patches of ink needed before its hue is told.
const MIN_PATCHES: usize = 12;
/// Most points kept for the report's chart.
const MAX_POINTS: usize = 400;

/// One patch for a chart: how coloured the ground is against how coloured the ink is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Middle of the patch, px.
    pub at_px: [f64; 2],
    /// Hue part of the ground's density over the lightest level, ≥ 0; 0 = bare paper.
    pub ground: f64,
    /// Hue of the ink, ≥ 0; 0 = neutral, about 1 = a pure primary.
    pub ink: f64,
}

/// Where the colour lies. Ink hue is the departure from equal missing light in red, green and
/// blue, 0 = neutral, about 1 = a pure primary; ground hue is a difference of densities.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Layering {
    /// Hue of the ink, median over patches.
    pub ink_hue: Measured,
    /// Scatter of the ink's hue over the field (80 % width along its longest axis), after what
    /// follows the ground's hue is taken out. Black, or any one ink: small. Inked in colours: large.
    pub ink_hue_spread: Measured,
    /// Scatter of the ground's hue over the same patches, in density.
    pub ground_hue_spread: Measured,
    /// log10 of ink spread over ground spread: > 0 the colour varies in the ink, < 0 in the ground.
    pub ink_over_ground: Measured,
    /// Correlation of ink hue with ground hue over the patches, along their own axes, −1 to 1.
    pub ink_ground_correlation: Measured,
    /// Share of the seen ground whose hue is not that of the lightest level, film included, 0–1.
    pub coloured_share: Measured,
    /// Share of the seen ground whose hue is neither that of the lightest level nor of the film, 0–1.
    pub wash_share: Measured,
    /// Median hue part of the density of that ground, over the lightest level.
    pub wash_hue: Measured,
    /// Number of hues 30° or more apart in that ground.
    pub wash_hues: Measured,
    /// Median change of hue over a fortieth of the frame inside it, as a share of its hue.
    pub wash_drift: Measured,
    /// Hue at its rim over that inside, less 1: above 0 where the colour pooled at its rim.
    pub pooled_rim: Measured,
    /// Share of its border that runs where no mark stands: missed outlines and overruns.
    pub border_off_marks: Measured,
    /// Scatter of hue within 24 px that does not follow the marks, as a share of the light there, 0 and up:
    /// specks of several inks. Median over the printed blocks.
    pub speck_scatter: Measured,
    /// The same along the way on which it scatters least, ≥ 0.
    pub speck_breadth: Measured,
    /// Shift between the colours of the marks that all parts of the field share, beyond what a lens explains,
    /// px, ≥ 0; 0 = in register.
    pub out_of_register_px: Measured,
    /// For a chart, at most 400.
    #[serde(skip)]
    #[schemars(skip)]
    pub points: Vec<Point>,
}

/// Measures it on the ground between the marks. The marks themselves are not needed: ink is summed patch by patch, so
/// that long or joined lines are cut into pieces too.
#[must_use]
pub fn on_ground(inked: &Inked, map: &ground::GroundMap) -> Layering {
    if inked.grey {
        return withheld("the photograph holds no colour; photograph the print in colour");
    }
    let found = levels::find(map);
    let (paper, film) = paper_and_film(&found);
    let layout = Layout::new(map, paper, film);
    let base = paper.map_or([0.0; 3], |p| p.density);
    let inks = hue::fit(patches::measure(inked, map), map.solid);
    let mut layering = withheld("no ground is seen between the marks");
    layering.ink(&inks, base);
    layering.wash(&layout, base, film.map(|f| f.density));
    layering.specks(specks::measure(inked));
    layering.register(register::measure(inked));
    layering
}

fn withheld(reason: &str) -> Layering {
    let none = || Measured::missing(reason);
    Layering {
        ink_hue: none(),
        ink_hue_spread: none(),
        ground_hue_spread: none(),
        ink_over_ground: none(),
        ink_ground_correlation: none(),
        coloured_share: none(),
        wash_share: none(),
        wash_hue: none(),
        wash_hues: none(),
        wash_drift: none(),
        pooled_rim: none(),
        border_off_marks: none(),
        speck_scatter: none(),
        speck_breadth: none(),
        out_of_register_px: none(),
        points: Vec::new(),
    }
}

impl Layering {
    fn ink(&mut self, inks: &[Patch], base: [f64; 3]) {
        let n = inks.len();
        if n < MIN_PATCHES {
            let few =
                || NotMeasured::too_few("patches of ink on even ground", n, MIN_PATCHES).into();
            self.ink_hue = few();
            self.ink_hue_spread = few();
            self.ground_hue_spread = few();
            self.ink_over_ground = few();
            self.ink_ground_correlation = few();
            return;
        }
        let spread = hue::spread(inks);
        self.ink_hue = figure(Some(spread.ink_hue), n);
        self.ink_hue_spread = figure(Some(spread.ink), n);
        self.ground_hue_spread = figure(Some(spread.ground), n).in_unit("D");
        let ratio = (spread.ink / spread.ground).log10();
        self.ink_over_ground =
            Measured::with_standard_error(ratio, 1.0 / (n as f64).sqrt(), "log10", n);
        let se = (1.0 - spread.correlation.powi(2)) / (n as f64).sqrt();
        self.ink_ground_correlation = Measured::with_standard_error(spread.correlation, se, "1", n);
        let every = n.div_ceil(MAX_POINTS);
        self.points = inks.iter().step_by(every).map(|p| point(p, base)).collect();
    }

    /// Nothing is said of a wash where no ground is seen.
    fn wash(&mut self, layout: &Layout, base: [f64; 3], film: Option<[f64; 3]>) {
        let wash = wash::find(layout, base, film);
        self.coloured_share = super::film::share(wash.coloured, wash.seen);
        self.wash_share = super::film::share(wash.share, wash.seen);
        let n = wash.cells;
        if wash.seen == 0 {
            return;
        }
        let scattered = |value| super::film::relative(value, n, TOO_LITTLE_GROUND);
        self.wash_hue = scattered(wash.hue).in_unit("D");
        // Counted, not estimated.
        let hues = wash.hues as f64;
        self.wash_hues = Measured::with_interval(hues, hues, hues, "1", n);
        self.wash_drift = scattered(wash.drift);
        let too_little = || Measured::missing(TOO_LITTLE_GROUND);
        self.pooled_rim = wash.pooled_rim.map_or_else(too_little, |rim| {
            Measured::with_standard_error(rim.over_inside, rim.standard_error, "1", n)
        });
        self.border_off_marks = wash
            .border_off_marks
            .map_or_else(too_little, |(share, cells)| {
                let apart = (cells as f64 / CELLS_ALONG).max(1.0);
                Measured::with_share(share, apart, cells)
            });
    }

    fn specks(&mut self, found: Option<specks::Specks>) {
        let blocks = found.map_or(0, |f| f.blocks);
        let or_few = |value: Option<f64>| {
            value.map_or_else(
                || {
                    Measured::missing(
                        "too few squares of evenly printed tone to look for specks of several inks",
                    )
                },
                |v| figure(Some(v), blocks),
            )
        };
        self.speck_scatter = or_few(found.map(|f| f.scatter));
        self.speck_breadth = or_few(found.map(|f| f.breadth));
    }

    fn register(&mut self, found: Option<register::Register>) {
        self.out_of_register_px = found.map_or_else(
            || Measured::missing("too few parts of the field hold marks to compare their colours"),
            |f| {
                // The least shift that is sure is already two standard errors under the likeliest.
                let most = f.beyond_lens_px + 2.0 * register::SURE * f.standard_error_px;
                Measured::with_interval(f.beyond_lens_px, f.beyond_lens_px, most, "px", f.patches)
            },
        );
    }
}

fn point(patch: &Patch, base: [f64; 3]) -> Point {
    let [u, v] = hue_part([0, 1, 2].map(|c| patch.ground[c] - base[c]));
    let [p, q] = hue::of_ink(patch);
    Point {
        at_px: patch.at_px,
        ground: u.hypot(v),
        ink: p.hypot(q),
    }
}

const TOO_LITTLE_GROUND: &str = "too little coloured ground to compare its parts";
/// Neighbouring cells along a border that repeat one another: those that go together on an area, along its side.
const CELLS_ALONG: f64 = 4.0;

/// A figure of scatter with a standard error of value / √(2n).
fn figure(value: Option<f64>, n: usize) -> Measured {
    match value {
        Some(v) => {
            Measured::with_standard_error(v, v.abs() / (2.0 * n.max(1) as f64).sqrt(), "1", n)
        }
        None => Measured::missing(TOO_LITTLE_GROUND),
    }
}
