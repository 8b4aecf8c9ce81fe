//! How evenly thick each colour of the ground lies, along its own hue.
//!
//! More or less of one transparent colour moves the ground's hue along one straight way from the paper's.
//! So all the ground on that way is one colour, thick or thin, and its spread along the way is the
//! spread of thickness, whichever levels it was cut into: a tint stone lays one thickness, a brush many.

use super::ground::GroundMap;
use super::layout::hue_part;
use super::levels::{self, Level};
use crate::rank::{median, quantile};
use ndarray::Array2;

/// Smallest share of the seen ground of a level whose colour is followed.
const MIN_SHARE: f64 = 0.03;
/// Least hue of a colour, in density over the paper: nearer, the paper's own scatter is most of it.
const MIN_STEP: f64 = 0.012;
/// Thinnest and thickest ground that counts as the same colour, in steps from paper to the level.
const SAME: std::ops::Range<f64> = 0.35..2.2;
/// How far beside the way it may lie: as a share of the way, or of the paper's own scatter.
const ASIDE: f64 = 0.25;
const ASIDE_SCATTERS: f64 = 2.5;
/// Cells taken off along its edges, where blur and pooled rims lie; one where two leave too little.
const EDGE_CELLS: usize = 2;
/// Fewest cells of a colour.
const MIN_CELLS: usize = 30;
/// Half the side, in cells, of the neighbourhood in which thickness is averaged: a 23rd of the frame, wide
/// enough to be free of noise and grain of the pigment, narrower than the pools and streaks of a brush.
const NEAR: usize = 3;
/// Share of a neighbourhood that must hold the colour.
const MIN_NEAR: f64 = 0.3;
/// Least scatter of paper, in density.
const STILL: f64 = 0.001;
/// Width between the quartiles of a normal distribution, in standard deviations.
const QUARTILES: f64 = 1.349;

/// Spread of one colour's thickness, each as a share of its middle thickness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thickness {
    /// From cell to cell, the scatter of bare paper taken off.
    pub scatter: f64,
    /// From neighbourhood to neighbourhood.
    pub swell: Option<f64>,
    /// Cells that it rests on.
    pub cells: usize,
}

/// Thickness of each colour that covers enough ground, the one over most ground first.
#[must_use]
pub fn of_colours(map: &GroundMap, found: &[Level], paper: &Level) -> Vec<Thickness> {
    let places = levels::positions(map);
    let white = hue_part(paper.density);
    let hues = map.cells.mapv(|cell| {
        cell.map(|c| {
            let hue = hue_part(c.density.map(f64::from));
            [hue[0] - white[0], hue[1] - white[1]]
        })
    });
    let scatter = scatter_of_paper(&hues, &places, paper);
    let mut colours: Vec<Thickness> = found
        .iter()
        .filter(|l| !std::ptr::eq(*l, paper) && l.share >= MIN_SHARE)
        .filter_map(|l| {
            let [u, v] = hue_part(l.density);
            of_hue(&hues, [u - white[0], v - white[1]], scatter)
        })
        .collect();
    colours.sort_by_key(|c| std::cmp::Reverse(c.cells));
    colours
}

/// Scatter of the paper's hue, one coordinate, density.
fn scatter_of_paper(hues: &Array2<Option<[f64; 2]>>, places: &[[usize; 2]], paper: &Level) -> f64 {
    let along = |k: usize| {
        let values: Vec<f64> = paper
            .members
            .iter()
            .filter_map(|&m| hues[places[m]].map(|h| h[k]))
            .collect();
        spread(&values).unwrap_or(0.0)
    };
    (along(0).hypot(along(1)) / std::f64::consts::SQRT_2).max(STILL)
}

fn of_hue(hues: &Array2<Option<[f64; 2]>>, step: [f64; 2], scatter: f64) -> Option<Thickness> {
    let length = step[0].hypot(step[1]);
    if length < MIN_STEP {
        return None;
    }
    let way = step.map(|s| s / length);
    let thickness = hues.mapv(|hue| {
        let [u, v] = hue?;
        let along = u * way[0] + v * way[1];
        let beside = (v * way[0] - u * way[1]).abs();
        let near = beside < (ASIDE * along).max(ASIDE_SCATTERS * scatter);
        (near && SAME.contains(&(along / length))).then_some(along / length)
    });
    let inside = (1..=EDGE_CELLS)
        .rev()
        .map(|cells| inside_of(&thickness, hues, cells))
        .find(|inside| inside.iter().flatten().count() >= MIN_CELLS)?;
    let values: Vec<f64> = inside.iter().filter_map(|t| *t).collect();
    let middle = median(values.iter().copied())?;
    let still = scatter / length;
    let own = spread(&values)?.powi(2) - still * still;
    let near = neighbourhoods(&inside);
    Some(Thickness {
        scatter: own.max(0.0).sqrt() / middle,
        swell: (near.len() >= MIN_CELLS)
            .then(|| spread(&near).map(|s| s / middle))
            .flatten(),
        cells: values.len(),
    })
}

/// The colour without what lies within so many cells of other seen ground.
fn inside_of(
    thickness: &Array2<Option<f64>>,
    hues: &Array2<Option<[f64; 2]>>,
    cells: usize,
) -> Array2<Option<f64>> {
    let other = |y: usize, x: usize| hues[[y, x]].is_some() && thickness[[y, x]].is_none();
    let (rows, columns) = thickness.dim();
    Array2::from_shape_fn((rows, columns), |(y, x)| {
        let clear =
            || around(y, cells, rows).all(|j| around(x, cells, columns).all(|i| !other(j, i)));
        thickness[[y, x]].filter(|_| clear())
    })
}

/// Mean thickness about each cell of the colour that has enough of it near.
fn neighbourhoods(inside: &Array2<Option<f64>>) -> Vec<f64> {
    let (rows, columns) = inside.dim();
    let enough = MIN_NEAR * ((2 * NEAR + 1) * (2 * NEAR + 1)) as f64;
    inside
        .indexed_iter()
        .filter(|(_, t)| t.is_some())
        .filter_map(|((y, x), _)| {
            let (mut sum, mut n) = (0.0, 0.0);
            for j in around(y, NEAR, rows) {
                for i in around(x, NEAR, columns) {
                    if let Some(t) = inside[[j, i]] {
                        sum += t;
                        n += 1.0;
                    }
                }
            }
            (n > enough).then(|| sum / n)
        })
        .collect()
}

/// Indices within `reach` of `at` and under `end`.
fn around(at: usize, reach: usize, end: usize) -> std::ops::Range<usize> {
    at.saturating_sub(reach)..(at + reach + 1).min(end)
}

/// Standard deviation from the quartiles.
fn spread(values: &[f64]) -> Option<f64> {
    let at = |share: f64| quantile(values.iter().copied(), share);
    Some((at(0.75)? - at(0.25)?) / QUARTILES)
}
