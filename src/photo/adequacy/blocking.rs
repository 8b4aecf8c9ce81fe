//! Compression blocks: differences across the 8-px grid against those elsewhere.

use super::windows::Windows;
use crate::measured::Measured;
use crate::plane::Plane;
use rayon::prelude::*;

/// Side of JPEG's blocks, px (ITU-T T.81).
const GRID_PX: usize = 8;
/// Differences are capped at this many times their typical size, so that ink edges, which
/// may fall on the grid by chance, do not decide.
const CAP: f32 = 4.0;
/// One code of an 8-bit picture in linear light at a middle tone.
const ONE_CODE: f32 = 0.004;
/// Share of neighbours that may differ by a code before steps between blocks stand out against them.
const SELDOM: f32 = 0.05;
/// Fewest windows for a spread.
const FEWEST: usize = 3;

/// Ratio of the mean difference at the strongest grid position to the typical position, both
/// ways, over the evenly spread windows. The position is found, not assumed: cropping and
/// turning move it.
pub(super) fn measure(windows: &Windows) -> Measured {
    let ratios: Vec<f64> = windows
        .even
        .par_iter()
        .filter_map(|window| {
            let along_x = phases(&window.light, window.x0);
            let turned = window.transposed();
            let along_y = phases(&turned.light, turned.x0);
            Some(f64::midpoint(excess(&along_x?), excess(&along_y?)))
        })
        .collect();
    if ratios.len() < FEWEST {
        return Measured::missing(format!(
            "only {} windows in the usable field, {FEWEST} needed",
            ratios.len()
        ));
    }
    let n = ratios.len() as f64;
    let mean = ratios.iter().sum::<f64>() / n;
    let variance = ratios.iter().map(|r| (r - mean).powi(2)).sum::<f64>() / (n - 1.0);
    Measured::with_standard_error(mean, (variance / n).sqrt(), "1", ratios.len())
}

/// Mean capped difference between columns, by the position of the left column on the grid.
fn phases(light: &Plane, x0: usize) -> Option<[f32; GRID_PX]> {
    let all: Vec<f32> = light
        .rows()
        .into_iter()
        .step_by(4)
        .flat_map(|row| {
            row.iter()
                .zip(row.iter().skip(1))
                .map(|(a, b)| (b - a).abs())
                .collect::<Vec<_>>()
        })
        .collect();
    if all.len() < 64 * GRID_PX {
        return None;
    }
    // Where compression has left most neighbours equal, steps between blocks must count all the same.
    let cap = (CAP * crate::photo::field::quantile(all.iter().copied(), 0.5)).max(ONE_CODE);
    let mut sums = [0.0_f32; GRID_PX];
    let mut counts = [0.0_f32; GRID_PX];
    for row in light.rows() {
        let mut phase = x0 % GRID_PX;
        for (a, b) in row.iter().zip(row.iter().skip(1)) {
            sums[phase] += (b - a).abs().min(cap);
            counts[phase] += 1.0;
            phase = (phase + 1) % GRID_PX;
        }
    }
    Some(std::array::from_fn(|i| sums[i] / counts[i].max(1.0)))
}

/// Strongest position over the median one, but for steps too small to be stored; 1 where there is no difference at all.
fn excess(phases: &[f32; GRID_PX]) -> f64 {
    let mut sorted = *phases;
    sorted.sort_by(f32::total_cmp);
    let typical = f32::midpoint(sorted[GRID_PX / 2 - 1], sorted[GRID_PX / 2]);
    let typical = typical.max(SELDOM * ONE_CODE);
    f64::from((sorted[GRID_PX - 1] / typical).max(1.0))
}
