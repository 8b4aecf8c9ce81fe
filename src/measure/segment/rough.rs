//! How rough the ground is between the marks: noise, fibres, brush marks in a wash.

use super::tiles::{Tiles, tiles_over};
use crate::plane::{Mask, Plane};
use crate::rank::{median, quantile};
use ndarray::Array2;
use rayon::prelude::*;

/// Side of the blocks over which the roughness is taken, px.
const BLOCK_PX: usize = 64;
/// Every how many pixels a block is sampled in each direction: 256 samples a block.
const STEP_PX: usize = 4;
/// Fewest samples of ground for a block's own figure.
const MIN_SAMPLES: usize = 40;
/// Ink cover below which a pixel is ground, blurred edges apart.
const GROUND_COVER: f32 = 0.3;

/// What ink cover the ground itself shows.
#[derive(Clone, Debug)]
pub struct Roughness {
    /// Typical cover of the ground; above 0 because the ground level is taken at light spots.
    pub middle: Tiles,
    /// Standard deviation about it.
    pub sigma: Tiles,
}

impl Roughness {
    /// Shifts the cover so that the ground's middle becomes 0 and full ink stays 1.
    pub fn zero(&self, cover: &mut Plane, usable: &Mask) {
        let width = cover.ncols();
        let (Some(pixels), Some(used)) = (cover.as_slice_mut(), usable.as_slice()) else {
            return;
        };
        if width == 0 {
            return;
        }
        pixels
            .par_chunks_mut(width)
            .zip(used.par_chunks(width))
            .enumerate()
            .for_each_init(
                || vec![0.0_f32; width],
                |middle, (y, (row, used))| {
                    self.middle.fill_row(y, middle);
                    for ((c, m), u) in row.iter_mut().zip(&*middle).zip(used) {
                        *c = if *u { (*c - m) / (1.0 - m) } else { 0.0 };
                    }
                },
            );
    }
}

/// Roughness of `plane` over the pixels where `cover` shows ground.
#[must_use]
pub fn of_ground(plane: &Plane, cover: &Plane, usable: &Mask) -> Roughness {
    let grid = tiles_over(plane.dim(), BLOCK_PX);
    let blocks: Vec<Option<(f32, f32)>> = (0..grid.0 * grid.1)
        .into_par_iter()
        .map_init(Vec::new, |samples, i| {
            let corner = (i / grid.1 * BLOCK_PX, i % grid.1 * BLOCK_PX);
            collect(plane, cover, usable, corner, samples);
            (samples.len() >= MIN_SAMPLES).then(|| spread(samples))
        })
        .collect();
    let typical = median_block(&blocks);
    let tiles = |pick: fn((f32, f32)) -> f32| Tiles {
        tile_px: BLOCK_PX,
        values: Array2::from_shape_fn(grid, |(y, x)| {
            pick(blocks[y * grid.1 + x].unwrap_or(typical))
        }),
    };
    Roughness {
        middle: tiles(|b| b.0),
        sigma: tiles(|b| b.1),
    }
}

fn collect(
    plane: &Plane,
    cover: &Plane,
    usable: &Mask,
    (top, left): (usize, usize),
    samples: &mut Vec<f32>,
) {
    let (height, width) = plane.dim();
    samples.clear();
    for y in (top..(top + BLOCK_PX).min(height)).step_by(STEP_PX) {
        for x in (left..(left + BLOCK_PX).min(width)).step_by(STEP_PX) {
            if usable[[y, x]] && cover[[y, x]] < GROUND_COVER {
                samples.push(plane[[y, x]]);
            }
        }
    }
}

/// Middle and standard deviation of the bare ground among samples that hold blurred skirts of
/// marks as well: from the light half, which the skirts do not reach. A normal distribution has
/// its 5 % quantile 1.645 σ and its 25 % quantile 0.674 σ below the middle.
fn spread(samples: &[f32]) -> (f32, f32) {
    let at = |share: f64| quantile(samples.iter().copied(), share).unwrap_or(0.0);
    let (quarter, low) = (at(0.25), at(0.05));
    let sigma = (quarter - low) / (1.645 - 0.674);
    (quarter + 0.674 * sigma, sigma)
}

/// Middle of the blocks' middles and of their scatters, each by itself.
fn median_block(blocks: &[Option<(f32, f32)>]) -> (f32, f32) {
    let of = |pick: fn(&(f32, f32)) -> f32| median(blocks.iter().flatten().map(pick));
    (of(|b| b.0).unwrap_or(0.0), of(|b| b.1).unwrap_or(0.0))
}
