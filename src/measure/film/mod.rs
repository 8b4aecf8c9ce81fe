//! An even printed tint under the marks.
//!
//! - [`ground`]: what lies between the marks, in cells.
//! - [`levels`]: the colours round which those cells gather.
//! - [`layout`]: which cell is paper, film, or something else.
//! - [`light`]: the step from paper to film, free of uneven light.
//! - [`evenness`]: drift, mottle, and how clearly film and paper part.
//! - [`thickness`]: how evenly thick each colour lies, along its own hue.
//! - [`edge`]: how the film ends, and lights scraped out of it.
//! - [`border`]: the straight border of a colour, whatever lies beneath it.

pub mod border;
pub mod edge;
pub mod evenness;
pub mod ground;
pub mod layout;
pub mod levels;
pub mod light;
pub mod thickness;

#[cfg(test)]
pub(crate) mod drawn;
#[cfg(test)]
mod tests;

use crate::ink::{Inked, cielab};
use crate::measured::{Measured, NotMeasured};
use ground::GroundMap;
use layout::{Layout, gap};
use levels::{Level, place};
use schemars::JsonSchema;
use serde::Serialize;
use thickness::Thickness;

/// Seen cells below which nothing is said of the ground: a hundred give a share to about ±10 %.
const MIN_CELLS: usize = 100;
/// Cells of each kind below which a film's share under or beside marks is not given.
const MIN_COMPARED: usize = 20;

/// An even printed tint under the marks, if any: every figure is of the fullest level of the
/// ground that is not the lightest one. A brushed wash can be that level too; its unevenness,
/// its fading and its absence from the open ground then tell.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Film {
    /// Share of the usable field whose ground is seen between marks, 0–1.
    pub ground_seen: f64,
    /// Number of levels of the ground that hold 2 % of it or more; 1 = bare paper, or one film over all.
    pub levels: usize,
    /// CIELAB (D65) of the lightest level as photographed, mean over where it lies: bare paper
    /// where any is in view, else the film itself.
    pub lightest_lab: Option<[f64; 3]>,
    /// CIELAB (D65) of the film as photographed, mean over where it lies.
    pub lab: Option<[f64; 3]>,
    /// CIELAB (D65) of the film with the lightest level divided out (as if on pure white paper);
    /// free of exposure and white balance.
    pub lab_on_white: Option<[f64; 3]>,
    /// Share of the ground in the film's or the lightest level that is film, 0–1.
    pub cover: Measured,
    /// CIEDE2000 difference between film and lightest level, both in the film's light.
    pub delta_e00: Measured,
    /// Share of all seen ground apart from the lightest level that is in the film's level, 0–1.
    pub dominance: Measured,
    /// Share of film in the open ground, where no mark stands, 0–1.
    pub open_ground: Measured,
    /// Share of film between marks less the share in the open, −1 to 1; about 0 for a film that
    /// runs beneath the marks, above 0 for colour that keeps to them.
    pub beneath_marks: Measured,
    /// Median change of hue over a fortieth of the frame, as a share of the step from paper to film; 0 = even.
    pub drift: Measured,
    /// Drift of hue inside the steadiest level of colour over that inside the lightest level:
    /// 1 = as steady as bare paper. Of all levels, so that washes beside a tint do not hide it.
    pub steadiest: Measured,
    /// Scatter of thickness of the colour that covers most ground, cell by cell, as a share of its middle
    /// thickness, with the paper's own scatter taken off: 0 = one thickness throughout.
    pub thickness_scatter: Measured,
    /// The same from neighbourhood to neighbourhood (a 23rd of the frame): pools, streaks and fading of a
    /// brush, free of noise and grain.
    pub thickness_swell: Measured,
    /// The least such swell of all colours, so that washes beside a tint do not hide it.
    pub evenest_swell: Measured,
    /// Scatter of the film's hue as a share of the same step.
    pub hue_scatter: Measured,
    /// 1 = film and paper are two separate levels, 0 = one runs into the other.
    pub valley: Measured,
    /// Standard deviation of density between tiles of 1.27 mm (coarser than 0.4 cycle/mm).
    /// Source: ISO 13660 (from memory).
    pub mottle: Measured,
    /// Root mean square scatter of density inside such tiles, at the resolution of the ground's cells.
    pub graininess: Measured,
    /// Hue just inside the edge beyond the film's, as a share of the step: > 0 pooled, < 0 fading, 0 cut.
    pub edge_overshoot: Measured,
    /// Width of the edge in cells of the ground (a 160th of the frame); 1 = within one cell.
    pub edge_width_cells: Measured,
    /// Rms distance of the edge from straight lines, in the same cells.
    pub edge_waver_cells: Measured,
    /// Small bare patches ringed by film: lights scraped or stopped out.
    pub scraped_lights: Measured,
    /// Length of the straightest long border between two colours, whatever lies beneath it, as a share of the
    /// frame's longer side, 0–1.42 (a diagonal of a square).
    pub border_length: Measured,
    /// Scatter of the colour step along that border, as a share of the step: 0 = one film along all of it.
    pub border_unevenness: Measured,
    /// Rms distance of that border from its straight line, in cells of the ground (a 160th of the frame).
    pub border_waver_cells: Measured,
    /// How far the colour changes along that border alike on both sides, in steps across it: above 0 where it runs
    /// on over drawing or washes, 0 where one colour lies along it on either side.
    pub border_crossed: Measured,
    /// Ends of that border, px (x, y).
    pub border_ends_px: Option<[[f64; 2]; 2]>,
}

/// Measures it on the ground between any dark ink; the marks themselves are not needed.
#[must_use]
pub fn on_ground(inked: &Inked, map: &GroundMap) -> Film {
    let levels = levels::find(map);
    let (paper, film) = paper_and_film(&levels);
    let seen = map.seen().count();
    let mut found = nothing(map, &levels, paper);
    if inked.grey {
        let reason = "the photograph holds no colour; photograph the print in colour";
        found.withhold(reason);
        found.withhold_border(reason);
        return found;
    }
    found.border(border::straight(map));
    if seen < MIN_CELLS {
        found.withhold("too little ground is seen between the marks; photograph a lighter passage");
    } else if let (Some(paper), Some(film)) = (paper, film) {
        found.describe(inked, map, paper, film);
        found.steadiest = relative(
            evenness::steadiest(map, &levels, paper),
            film.members.len(),
            "no colour or no paper covers enough ground to tell how steady it is",
        );
        found.thickness(&thickness::of_colours(map, &levels, paper));
    } else {
        found.withhold(
            "the open ground is one even level: bare paper, or a film over the whole frame; colour as dark as the ink is taken for ink. Include the margin of the sheet",
        );
    }
    found
}

/// The lightest level, and the fullest of the others.
#[must_use]
pub fn paper_and_film(levels: &[Level]) -> (Option<&Level>, Option<&Level>) {
    let paper = levels::lightest(levels);
    let film = levels
        .iter()
        .find(|l| paper.is_none_or(|p| !std::ptr::eq(*l, p)));
    (paper, film)
}

/// A film of which nothing is yet measured.
fn nothing(map: &GroundMap, levels: &[Level], paper: Option<&Level>) -> Film {
    let none = || Measured::missing("not reached");
    Film {
        ground_seen: map.seen_share(),
        levels: levels.len(),
        lightest_lab: paper.map(|p| cielab::from_linear(p.linear)),
        lab: None,
        lab_on_white: None,
        cover: none(),
        delta_e00: none(),
        dominance: none(),
        open_ground: none(),
        beneath_marks: none(),
        drift: none(),
        steadiest: none(),
        thickness_scatter: none(),
        thickness_swell: none(),
        evenest_swell: none(),
        hue_scatter: none(),
        valley: none(),
        mottle: none(),
        graininess: none(),
        edge_overshoot: none(),
        edge_width_cells: none(),
        edge_waver_cells: none(),
        scraped_lights: none(),
        border_length: none(),
        border_unevenness: none(),
        border_waver_cells: none(),
        border_crossed: none(),
        border_ends_px: None,
    }
}

impl Film {
    fn figures(&mut self) -> [&mut Measured; 18] {
        [
            &mut self.cover,
            &mut self.delta_e00,
            &mut self.dominance,
            &mut self.open_ground,
            &mut self.beneath_marks,
            &mut self.drift,
            &mut self.steadiest,
            &mut self.thickness_scatter,
            &mut self.thickness_swell,
            &mut self.evenest_swell,
            &mut self.hue_scatter,
            &mut self.valley,
            &mut self.mottle,
            &mut self.graininess,
            &mut self.edge_overshoot,
            &mut self.edge_width_cells,
            &mut self.edge_waver_cells,
            &mut self.scraped_lights,
        ]
    }

    /// The border does not wait for levels of the ground: dense crayon and washes may hide those.
    fn border(&mut self, found: Option<border::Border>) {
        let Some(border) = found else {
            return self.withhold_border(
                "no straight border of a colour is in view; photograph where the colour ends",
            );
        };
        let cells = border.cells;
        // Each end is found to about a cell.
        let se = border.length / cells as f64;
        self.border_length =
            Measured::with_standard_error(border.length, se, "of the longer side", cells);
        self.border_unevenness = relative(Some(border.unevenness), cells, "");
        self.border_waver_cells = relative(Some(border.waver_cells), cells, "").in_unit(CELLS);
        self.border_crossed =
            relative(Some(border.crossed), cells, "").in_unit("steps of the border");
        self.border_ends_px = Some(border.ends_px);
    }

    fn withhold_border(&mut self, reason: &str) {
        for figure in [
            &mut self.border_length,
            &mut self.border_unevenness,
            &mut self.border_waver_cells,
            &mut self.border_crossed,
        ] {
            *figure = Measured::missing(reason);
        }
    }

    fn withhold(&mut self, reason: &str) {
        for figure in self.figures() {
            *figure = Measured::missing(reason);
        }
    }

    fn describe(&mut self, inked: &Inked, map: &GroundMap, paper: &Level, film: &Level) {
        let layout = Layout::new(map, Some(paper), Some(film));
        self.colour(map, paper, film);
        self.extent(&layout, paper, film);
        self.evenness(inked, map, &layout, paper, film);
        self.edges(&layout, paper, film);
    }

    fn colour(&mut self, map: &GroundMap, paper: &Level, film: &Level) {
        let lab = cielab::from_linear(film.linear);
        let uneven = light::grey_step(map, paper, film) - (film.grey() - paper.grey());
        let through = [0, 1, 2].map(|c| 10f64.powf(paper.density[c] - film.density[c] - uneven));
        let bare = cielab::from_linear([0, 1, 2].map(|c| film.linear[c] / through[c]));
        self.lab = Some(lab);
        self.lab_on_white = Some(cielab::from_linear(through));
        // The centres of levels move by about half a unit between halves of a field.
        let delta = cielab::delta_e_2000(lab, bare);
        self.delta_e00 = Measured::with_standard_error(delta, 0.5, "ΔE00", film.members.len());
    }

    fn extent(&mut self, layout: &Layout, paper: &Level, film: &Level) {
        let (cover, n) = layout.film_share(|_| true);
        self.cover = share(cover, n);
        let coloured = film.share / (1.0 - paper.share).max(film.share);
        self.dominance = share(coloured, n);
        let (open, n_open) = layout.film_share(|i| layout.open(i));
        let (between, n_between) = layout.film_share(|i| layout.between_marks(i));
        let few = || {
            NotMeasured::too_few(
                "cells of ground of one kind",
                n_open.min(n_between),
                MIN_COMPARED,
            )
            .into()
        };
        self.open_ground = if n_open < MIN_COMPARED {
            few()
        } else {
            share(open, n_open)
        };
        self.beneath_marks = if n_open.min(n_between) < MIN_COMPARED {
            few()
        } else {
            let se = spread_of_share(between, n_between).hypot(spread_of_share(open, n_open));
            Measured::with_standard_error(between - open, se, "1", n_between)
        };
    }

    fn evenness(
        &mut self,
        inked: &Inked,
        map: &GroundMap,
        layout: &Layout,
        paper: &Level,
        film: &Level,
    ) {
        let step = gap(place(paper.density), place(film.density));
        let n = film.members.len();
        let of_step =
            |value: Option<f64>| relative(value, n, "the film is too small to compare its parts");
        self.drift = of_step(evenness::drift(layout, step));
        self.hue_scatter = of_step(evenness::hue_scatter(layout, step));
        self.valley = of_step(evenness::valley(
            layout,
            place(paper.density),
            place(film.density),
        ))
        .at_most(1.0);
        let scale = inked.px_per_mm().map(|s| s / map.cell_px as f64);
        let missing = || match scale {
            None => NotMeasured::no_scale().into(),
            Some(scale) if !evenness::holds_a_tile(scale) => {
                Measured::missing("the scale is too coarse for tiles of 1.27 mm; photograph closer")
            }
            Some(_) => Measured::missing("the film covers less than two tiles of 1.27 mm"),
        };
        let tiles = scale.and_then(|s| evenness::mottle_and_graininess(layout, s));
        let figure = |value: f64, n: usize| relative(Some(value), n, "").in_unit("D");
        self.mottle = tiles.map_or_else(missing, |(mottle, _, n)| figure(mottle, n));
        self.graininess = tiles.map_or_else(missing, |(_, grain, n)| figure(grain, n));
    }

    fn thickness(&mut self, colours: &[Thickness]) {
        let few = "no colour covers enough ground to tell how evenly thick it lies";
        let fullest = colours.first();
        let cells = fullest.map_or(0, |c| c.cells);
        self.thickness_scatter = relative(fullest.map(|c| c.scatter), cells, few);
        self.thickness_swell = relative(fullest.and_then(|c| c.swell), cells, few);
        let evenest = colours
            .iter()
            .filter_map(|c| Some((c.swell?, c.cells)))
            .min_by(|a, b| a.0.total_cmp(&b.0));
        self.evenest_swell = relative(evenest.map(|e| e.0), evenest.map_or(0, |e| e.1), few);
    }

    fn edges(&mut self, layout: &Layout, paper: &Level, film: &Level) {
        let crossings = edge::crossings(layout);
        let n = crossings.len();
        let few = "the film has no edge in view; photograph where it ends";
        let overshoot = edge::overshoot(
            layout,
            &crossings,
            place(film.density),
            place(paper.density),
        );
        self.edge_overshoot = overshoot.map_or_else(
            || Measured::missing(few),
            |(value, se)| Measured::with_standard_error(value, se, "1", n),
        );
        self.edge_width_cells = relative(edge::width_cells(&crossings), n, few).in_unit(CELLS);
        self.edge_waver_cells = relative(edge::waver_cells(&crossings), n, few).in_unit(CELLS);
        self.scraped_lights = Measured::with_count(edge::scraped_lights(layout), "places");
    }
}

/// Unit of lengths on the map of the ground.
pub const CELLS: &str = "cells (160 to the frame)";

/// Cells of one patch that vary together, so that only every so many are independent samples.
pub(super) const CELLS_TOGETHER: f64 = 16.0;

fn spread_of_share(value: f64, n: usize) -> f64 {
    let independent = (n as f64 / CELLS_TOGETHER).max(1.0);
    (value * (1.0 - value) / independent).max(0.0).sqrt()
}

/// A share of n cells.
pub(crate) fn share(value: f64, n: usize) -> Measured {
    Measured::with_share(value, n as f64 / CELLS_TOGETHER, n)
}

/// A positive figure of scatter or ratio: its standard error is about `value` / √(2·samples).
pub(super) fn relative(value: Option<f64>, n: usize, reason: &str) -> Measured {
    let independent = (n as f64 / CELLS_TOGETHER).max(1.0);
    match value {
        Some(v) => Measured::with_standard_error(v, v / (2.0 * independent).sqrt(), "1", n),
        None => Measured::missing(reason),
    }
}
