//! The ground between the marks, at reduced resolution: what lies on the paper besides marks.

use crate::ink::Inked;
use crate::rank::quantile;
use ndarray::Array2;
use rayon::prelude::*;

/// Cells along the longer side of the frame: fine enough to follow the rim of a wash, coarse
/// enough that a cell of a phone photograph spans the gaps between marks.
const CELLS_ALONG: usize = 160;
/// Smallest cell in px: 36 samples bear a 10 % quantile.
const MIN_CELL_PX: usize = 6;
/// Pixels sampled along each side of a cell; more add nothing to a median of ground.
const SAMPLES: usize = 10;
/// Share of a cell's samples that must be usable.
const MIN_USABLE: f64 = 0.6;
/// Lightest share of a cell that names its ground: low, so that it lies between marks at high cover.
const GROUND_QUANTILE: f64 = 0.10;
/// Densities within this of the ground's quantile count as clear ground: about twice the scatter
/// of fibre and sensor noise in a loupe photograph, far less than a mark.
const CLEAR_BAND: f32 = 0.06;
/// Darkest share of a cell, left out of its contrast as specks and noise.
const DARK_QUANTILE: f64 = 0.95;
/// Share of a cell that must be clear ground before its colour is believed: with less, the blurred
/// skirts of marks darken it.
const MIN_CLEAR: f64 = 0.3;
/// Darkest share of the samples that names the solid ink.
const SOLID_QUANTILE: f64 = 0.98;
/// Ground darker than this share of the solid's density is itself a solid mark.
const SOLID_SHARE: f32 = 0.65;
/// Ground lighter than this is never taken for a solid mark: a strong film or wash reaches it.
const LIGHTEST_SOLID: f32 = 0.6;

/// The ground in one cell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cell {
    /// Density per channel over [`Inked::paper`], mean of the clear ground.
    pub density: [f32; 3],
    /// ln of the linear light that came from it as photographed, R, G, B.
    pub ln_linear: [f32; 3],
    /// Share of the cell's usable samples that are clear ground, 0–1.
    pub clear: f32,
    /// Grey density of the darkest samples (95 % quantile) over the ground; large where a mark stands.
    pub contrast: f32,
}

impl Cell {
    /// Mean density of the three channels.
    #[must_use]
    pub fn grey(&self) -> f32 {
        self.density.iter().sum::<f32>() / 3.0
    }
}

/// The ground in square cells; `None` where it cannot be seen between the marks.
#[derive(Clone, Debug)]
pub struct GroundMap {
    /// Side of a cell, px.
    pub cell_px: usize,
    /// The cells, `[[row, column]]`, from the frame's upper left; a rest narrower than a cell is left out.
    pub cells: Array2<Option<Cell>>,
    /// Cells inside the usable field, whether or not their ground is seen.
    pub usable: Array2<bool>,
    /// Mean light of the usable cells, marks and all, per channel over [`Inked::paper`].
    pub light: Array2<Option<[f32; 3]>>,
    /// Grey density of the darkest ink (98 % quantile of the field).
    pub solid: f32,
}

impl GroundMap {
    /// Share of the usable cells whose ground is seen, 0–1.
    #[must_use]
    pub fn seen_share(&self) -> f64 {
        let usable = self.usable.iter().filter(|&&u| u).count();
        self.seen().count() as f64 / usable.max(1) as f64
    }

    /// The cells whose ground is seen, with row and column, in reading order.
    pub fn seen(&self) -> impl Iterator<Item = ([usize; 2], &Cell)> {
        self.cells
            .indexed_iter()
            .filter_map(|((y, x), cell)| cell.as_ref().map(|c| ([y, x], c)))
    }
}

/// Samples of one cell, sorted into what the map needs.
struct Sampled {
    cell: Option<Cell>,
    light: Option<[f32; 3]>,
    greys: Vec<f32>,
}

/// Maps the ground. A frame smaller than one cell gives an empty map.
#[must_use]
pub fn map(inked: &Inked) -> GroundMap {
    let (height, width) = inked.usable.dim();
    let cell_px = (height.max(width) / CELLS_ALONG).max(MIN_CELL_PX);
    let (rows, columns) = (height / cell_px, width / cell_px);
    let sampled: Vec<Sampled> = (0..rows * columns)
        .into_par_iter()
        .map(|i| sample(inked, i / columns, i % columns, cell_px))
        .collect();
    let solid = solid_density(&sampled);
    let limit = (SOLID_SHARE * solid).max(LIGHTEST_SOLID);
    let at = |(y, x): (usize, usize)| &sampled[y * columns + x];
    GroundMap {
        cell_px,
        cells: Array2::from_shape_fn((rows, columns), |i| {
            at(i).cell.filter(|cell| cell.grey() < limit)
        }),
        usable: Array2::from_shape_fn((rows, columns), |i| at(i).light.is_some()),
        light: Array2::from_shape_fn((rows, columns), |i| at(i).light),
        solid,
    }
}

/// Grey density of the darkest ink in the field.
fn solid_density(sampled: &[Sampled]) -> f32 {
    let greys = sampled
        .iter()
        .flat_map(|s| s.greys.iter().step_by(4).copied());
    quantile(greys, SOLID_QUANTILE).unwrap_or(0.0)
}

fn sample(inked: &Inked, row: usize, column: usize, cell_px: usize) -> Sampled {
    let stride = (cell_px / SAMPLES).max(1);
    let along = |start: usize| (start * cell_px..(start + 1) * cell_px).step_by(stride);
    let mut at = Vec::with_capacity(SAMPLES * SAMPLES * 2);
    let mut seen = 0usize;
    for y in along(row) {
        for x in along(column) {
            seen += 1;
            if inked.usable[[y, x]] {
                at.push((y, x));
            }
        }
    }
    let usable = at.len() as f64 >= MIN_USABLE * seen as f64 && !at.is_empty();
    if !usable {
        return Sampled {
            cell: None,
            light: None,
            greys: Vec::new(),
        };
    }
    let greys: Vec<f32> = at.iter().map(|&i| inked.grey_density[i]).collect();
    Sampled {
        cell: clear_ground(inked, &at, &greys),
        light: Some(mean_light(inked, &at)),
        greys,
    }
}

/// Mean light of some pixels, per channel, over that of the paper.
fn mean_light(inked: &Inked, at: &[(usize, usize)]) -> [f32; 3] {
    inked.density.each_ref().map(|plane| {
        let light = |&i| (-std::f32::consts::LN_10 * plane[i]).exp();
        at.iter().map(light).sum::<f32>() / at.len() as f32
    })
}

/// Mean of the samples near the lightest ones, where they are many enough to be ground.
fn clear_ground(inked: &Inked, at: &[(usize, usize)], greys: &[f32]) -> Option<Cell> {
    let lightest = quantile(greys.iter().copied(), GROUND_QUANTILE)?;
    let darkest = quantile(greys.iter().copied(), DARK_QUANTILE)?;
    let mut sum = [0.0f64; 3];
    let mut n = 0usize;
    for (&i, _) in at
        .iter()
        .zip(greys)
        .filter(|(_, g)| **g < lightest + CLEAR_BAND)
    {
        for (total, plane) in sum.iter_mut().zip(&inked.density) {
            *total += f64::from(plane[i]);
        }
        n += 1;
    }
    let clear = n as f64 / greys.len() as f64;
    let density = sum.map(|s| (s / n as f64) as f32);
    let (y, x) = at[at.len() / 2];
    let paper = inked.ln_paper_at(x as f64, y as f64);
    let ln_linear = [0, 1, 2].map(|c| paper[c] as f32 - density[c] * std::f32::consts::LN_10);
    (clear >= MIN_CLEAR).then_some(Cell {
        density,
        ln_linear,
        clear: clear as f32,
        contrast: darkest - lightest,
    })
}
