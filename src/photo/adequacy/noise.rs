//! Noise from fine differences in smooth bright places.

use super::windows::{Window, Windows};
use crate::measured::Measured;
use rayon::prelude::*;

/// Side of the blocks judged for smoothness, px.
const BLOCK_PX: usize = 16;
/// Blocks count as paper from this share of the bright level on.
const PAPER_SHARE: f32 = 0.8;
/// The quietest quarter of the paper's blocks carries noise and little texture.
const QUIET: f64 = 0.25;
/// Fewest blocks for a figure.
const FEWEST: usize = 8;

/// Noise at the paper's level, and that level.
pub(super) struct Noise {
    /// Standard deviation in linear light.
    pub deviation: Measured,
    /// The bright level: 90 % of the blocks are no brighter. 0 where there are no windows.
    pub bright: f32,
}

/// Measures noise on the evenly spread windows.
pub(super) fn measure(windows: &Windows) -> Noise {
    let blocks: Vec<(f32, f32)> = windows.even.par_iter().flat_map_iter(blocks_of).collect();
    let mut levels: Vec<f32> = blocks.iter().map(|b| b.0).collect();
    levels.sort_by(f32::total_cmp);
    let bright = levels
        .get((levels.len() as f64 * 0.9) as usize)
        .or(levels.last())
        .copied()
        .unwrap_or(0.0);
    let mut deviations: Vec<f32> = blocks
        .iter()
        .filter(|(level, _)| *level >= PAPER_SHARE * bright)
        .map(|b| b.1)
        .collect();
    deviations.sort_by(f32::total_cmp);
    Noise {
        deviation: quiet(&deviations),
        bright,
    }
}

fn quiet(sorted: &[f32]) -> Measured {
    let n = sorted.len();
    if n < FEWEST {
        return Measured::missing(format!(
            "only {n} smooth bright places in the usable field, {FEWEST} needed"
        ));
    }
    let value = f64::from(sorted[(n as f64 * QUIET) as usize]);
    let lo = f64::from(sorted[(n as f64 * QUIET * 0.5) as usize]);
    let hi = f64::from(sorted[n / 2]);
    Measured::with_interval(value, lo, hi, "1", n)
}

/// Mean level and noise of each fully usable block.
fn blocks_of(window: &Window) -> Vec<(f32, f32)> {
    let (rows, columns) = window.light.dim();
    let mut found = Vec::new();
    for y in (1..rows.saturating_sub(BLOCK_PX)).step_by(BLOCK_PX) {
        for x in (1..columns.saturating_sub(BLOCK_PX)).step_by(BLOCK_PX) {
            let all = (y..y + BLOCK_PX).all(|v| (x..x + BLOCK_PX).all(|u| window.usable[[v, u]]));
            if all {
                found.push(block(window, y, x));
            }
        }
    }
    found
}

/// Noise by the mask of Immerkær, "Fast noise variance estimation", Computer Vision and Image
/// Understanding 64 (1996) 300–302 (from memory): it answers to neither planes nor straight
/// edges along the axes. Its standard deviation is 6 times the noise's.
fn block(window: &Window, y0: usize, x0: usize) -> (f32, f32) {
    let p = &window.light;
    let (mut level, mut sum, mut n) = (0.0_f32, 0.0_f32, 0.0_f32);
    for y in y0..y0 + BLOCK_PX - 1 {
        for x in x0..x0 + BLOCK_PX - 1 {
            let corners =
                p[[y - 1, x - 1]] + p[[y - 1, x + 1]] + p[[y + 1, x - 1]] + p[[y + 1, x + 1]];
            let sides = p[[y - 1, x]] + p[[y + 1, x]] + p[[y, x - 1]] + p[[y, x + 1]];
            sum += (corners - 2.0 * sides + 4.0 * p[[y, x]]).abs();
            level += p[[y, x]];
            n += 1.0;
        }
    }
    // Mean absolute value to standard deviation of a normal distribution.
    let deviation = std::f32::consts::FRAC_PI_2.sqrt() * sum / n / 6.0;
    (level / n, deviation)
}
