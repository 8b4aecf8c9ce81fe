//! The plane in which the marks stand out: light absorbed, in the channels that show the ink best.

use super::tiles::{Tiles, tiles_over};
use crate::ink::Inked;
use crate::plane::{Plane, Rgb};
use crate::rank::quantile;
use ndarray::Array2;
use rayon::prelude::*;

/// Side of the tiles over which the channels are weighed, px: wider than most marks, narrower
/// than the patches in which one ink is used.
const WEIGHT_TILE_PX: usize = 32;
/// Every how many pixels a tile is sampled in each direction: 256 samples a tile.
const SAMPLE_STEP_PX: usize = 2;
/// Quantiles of a tile's density that stand for its ground and its ink. A tile a quarter of which
/// is bare, or a fiftieth inked, still shows both; other tiles lean on their neighbours.
const LIGHT_SHARE: f64 = 0.25;
const DARK_SHARE: f64 = 0.98;
/// How far around a tile the channels are weighed together, tiles (160 px in all).
const NEAR_TILES: usize = 2;
/// Weight of the whole picture against the neighbourhood, for tiles with no marks near by.
const FAR_SHARE: f32 = 0.02;
/// Rise in absorbed light by noise alone, below which the channels count alike.
const BLANK_RISE: f32 = 0.02;

/// Share of the paper's light that is absorbed, 1 − R / R_paper, in the channels in which
/// ink near by stands out most from its ground: black ink uses all three, red ink green and blue.
/// May be slightly negative on bare paper.
#[must_use]
pub fn absorbed(inked: &Inked) -> Plane {
    if inked.grey {
        return absorbed_of(&[&inked.grey_density], &[]);
    }
    let weights = channel_weights(&inked.density);
    let [r, g, b] = &inked.density;
    absorbed_of(&[r, g, b], &weights)
}

fn absorbed_of(density: &[&Plane], weights: &[Tiles]) -> Plane {
    let (height, width) = density[0].dim();
    let mut out = Plane::zeros((height, width));
    if width == 0 {
        return out;
    }
    let planes: Vec<_> = density.iter().map(|p| p.as_standard_layout()).collect();
    let slices: Vec<&[f32]> = planes.iter().filter_map(|p| p.as_slice()).collect();
    let Some(pixels) = out.as_slice_mut() else {
        return out;
    };
    pixels.par_chunks_mut(width).enumerate().for_each_init(
        || vec![0.0_f32; width],
        |weight, (y, row)| {
            for (channel, plane) in slices.iter().enumerate() {
                match weights.get(channel) {
                    Some(tiles) => tiles.fill_row(y, weight),
                    None => weight.fill(1.0),
                }
                let line = &plane[y * width..(y + 1) * width];
                for ((sum, w), d) in row.iter_mut().zip(&*weight).zip(line) {
                    *sum += w * d;
                }
            }
            row.iter_mut().for_each(|d| *d = 1.0 - ten_to_minus(*d));
        },
    );
    out
}

/// 10^−d to 1e-4 for |d| ≤ 4, in plain arithmetic so that whole rows go through vector registers.
fn ten_to_minus(d: f32) -> f32 {
    /// 1.5·2²³: adding it leaves the nearest whole number in the low mantissa bits.
    const ROUNDER: f32 = 12_582_912.0;
    let exponent = d.clamp(-4.0, 4.0) * -std::f32::consts::LOG2_10;
    let rounded = exponent + ROUNDER;
    let whole = rounded - ROUNDER;
    let x = (exponent - whole) * std::f32::consts::LN_2;
    let fraction = 1.0 + x * (1.0 + x * (0.5 + x * (1.0 / 6.0 + x * (1.0 / 24.0))));
    let bits = rounded.to_bits().wrapping_sub(ROUNDER.to_bits());
    fraction * f32::from_bits(bits.wrapping_add(127) << 23)
}

/// Per channel: share with which it counts, by the square of how far the ink stands out near by.
/// The three add to 1.
fn channel_weights(density: &Rgb) -> Vec<Tiles> {
    let grid = tiles_over(density[0].dim(), WEIGHT_TILE_PX);
    let squares = density
        .each_ref()
        .map(|plane| ink_over_ground(plane, grid).mapv(|rise| rise * rise));
    let gathered = squares.map(|plane| {
        let everywhere = plane.mean().unwrap_or(0.0);
        smoothed(&plane) + FAR_SHARE * everywhere + BLANK_RISE * BLANK_RISE
    });
    let total = &gathered[0] + &gathered[1] + &gathered[2];
    gathered
        .map(|part| Tiles {
            tile_px: WEIGHT_TILE_PX,
            values: part / &total,
        })
        .to_vec()
}

/// How much more light the darkest samples of a tile absorb than its lighter part.
fn ink_over_ground(plane: &Plane, grid: (usize, usize)) -> Array2<f32> {
    let (height, width) = plane.dim();
    let cells: Vec<f32> = (0..grid.0 * grid.1)
        .into_par_iter()
        .map_init(Vec::new, |samples: &mut Vec<f32>, i| {
            let (top, left) = (i / grid.1 * WEIGHT_TILE_PX, i % grid.1 * WEIGHT_TILE_PX);
            samples.clear();
            for y in (top..(top + WEIGHT_TILE_PX).min(height)).step_by(SAMPLE_STEP_PX) {
                for x in (left..(left + WEIGHT_TILE_PX).min(width)).step_by(SAMPLE_STEP_PX) {
                    samples.push(plane[[y, x]]);
                }
            }
            rise_within(samples)
        })
        .collect();
    Array2::from_shape_vec(grid, cells).unwrap_or_else(|_| Array2::zeros(grid))
}

fn rise_within(samples: &[f32]) -> f32 {
    let at = |share: f64| quantile(samples.iter().copied(), share);
    match (at(LIGHT_SHARE), at(DARK_SHARE)) {
        (Some(light), Some(dark)) => ten_to_minus(light) - ten_to_minus(dark),
        _ => 0.0,
    }
}

/// Mean over each tile and its neighbours.
fn smoothed(grid: &Array2<f32>) -> Array2<f32> {
    let (rows, columns) = grid.dim();
    Array2::from_shape_fn((rows, columns), |(y, x)| {
        let near = grid.slice(ndarray::s![
            y.saturating_sub(NEAR_TILES)..(y + NEAR_TILES + 1).min(rows),
            x.saturating_sub(NEAR_TILES)..(x + NEAR_TILES + 1).min(columns)
        ]);
        near.mean().unwrap_or(0.0)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn powers_of_ten_are_good_to_a_ten_thousandth() {
        for i in -100..=300 {
            let d = i as f32 / 100.0;
            let exact = 10.0_f32.powf(-d);
            assert!(
                (ten_to_minus(d) - exact).abs() < 1e-4 * exact.max(1.0),
                "{d}"
            );
        }
    }
}
