//! The picture reduced, and turned so that strokes of one direction stand upright.

use crate::plane::{Mask, Plane};
use ndarray::Array2;
use rayon::prelude::*;

/// Directions tried: a print beside the rule may have stronger strokes of its own.
const MOST_DIRECTIONS: usize = 4;
/// Least strength of a direction against the strongest.
const LEAST_STRENGTH: f64 = 0.15;
/// Directions closer than this are one, degrees.
const SAME_DIRECTION_DEG: usize = 6;
/// Light added before the logarithm, so that black noise does not dominate (linear, 0–1).
const LIGHT_FLOOR: f32 = 0.02;

/// The reduced picture: logarithm of light, NaN outside the field.
pub(super) struct View {
    pub log_light: Plane,
    /// Photo px to a pixel of the view.
    pub reduction: usize,
}

impl View {
    pub fn of(light: &Plane, field: &Mask, side_px: usize) -> Self {
        let (height, width) = light.dim();
        let k = height.max(width).div_ceil(side_px).max(1);
        let (rows, columns) = (height / k, width / k);
        let mut cells = vec![0.0_f32; rows * columns];
        cells
            .par_chunks_mut(columns.max(1))
            .enumerate()
            .for_each(|(row, out)| {
                for (column, cell) in out.iter_mut().enumerate() {
                    *cell = block(light, field, row * k, column * k, k);
                }
            });
        Self {
            log_light: Array2::from_shape_vec((rows, columns), cells)
                .unwrap_or_else(|_| Array2::zeros((0, 0))),
            reduction: k,
        }
    }
}

fn block(light: &Plane, field: &Mask, y0: usize, x0: usize, k: usize) -> f32 {
    let mut sum = 0.0;
    for y in y0..y0 + k {
        for x in x0..x0 + k {
            if !field[[y, x]] {
                return f32::NAN;
            }
            sum += light[[y, x]];
        }
    }
    (sum / (k * k) as f32 + LIGHT_FLOOR).ln()
}

/// Degrees by which a direction is also tried off its peak: the gradient of a stroke two pixels
/// wide, taken over three, leans towards the axes and diagonals by up to so much.
const NEARBY_DEG: [f64; 7] = [0.0, 1.5, -1.5, 3.0, -3.0, 5.0, -5.0];

/// Directions across the strongest strokes, radians in [0, π), y down, strongest first.
pub(super) fn directions(view: &View) -> Vec<f64> {
    let histogram = gradient_histogram(&view.log_light);
    let smooth: Vec<f64> = (0..180)
        .map(|i| (0..5).map(|d| histogram[(i + 178 + d) % 180]).sum::<f64>())
        .collect();
    let mut order: Vec<usize> = (0..180)
        .filter(|i| smooth[*i] >= smooth[(i + 179) % 180] && smooth[*i] > smooth[(i + 1) % 180])
        .collect();
    order.sort_by(|a, b| smooth[*b].total_cmp(&smooth[*a]));
    let strongest = order.first().map_or(0.0, |i| smooth[*i]);
    let mut kept: Vec<usize> = Vec::new();
    for peak in order {
        let apart = |other: &usize| {
            let d = peak.abs_diff(*other);
            d.min(180 - d) >= SAME_DIRECTION_DEG
        };
        if smooth[peak] >= LEAST_STRENGTH * strongest && kept.iter().all(apart) {
            kept.push(peak);
        }
    }
    kept.truncate(MOST_DIRECTIONS);
    let centres: Vec<f64> = kept
        .into_iter()
        .map(|peak| centre_of_peak(&histogram, peak))
        .collect();
    // Each as found first, then a little to either side of each.
    NEARBY_DEG
        .iter()
        .flat_map(|off| {
            centres
                .iter()
                .map(move |centre| (centre + off).rem_euclid(180.0).to_radians())
        })
        .collect()
}

/// Centre of gravity of the histogram within 3° of a peak, degrees.
fn centre_of_peak(histogram: &[f64], peak: usize) -> f64 {
    let (mut sum, mut moment) = (0.0, 0.0);
    for d in 0..7_usize {
        let weight = histogram[(peak + 177 + d) % 180];
        sum += weight;
        moment += weight * (d as f64 - 3.0);
    }
    // Bin i holds i ± half a degree.
    peak as f64 + if sum > 0.0 { moment / sum } else { 0.0 }
}

fn gradient_histogram(p: &Plane) -> Vec<f64> {
    let (rows, columns) = p.dim();
    if rows < 3 || columns < 3 {
        return vec![0.0; 180];
    }
    let lines: Vec<Vec<f64>> = (1..rows - 1)
        .into_par_iter()
        .map(|y| {
            let mut bins = vec![0.0; 180];
            for x in 1..columns - 1 {
                let gx = p[[y, x + 1]] - p[[y, x - 1]];
                let gy = p[[y + 1, x]] - p[[y - 1, x]];
                let strength = f64::from(gx * gx + gy * gy);
                if strength.is_finite() {
                    let angle = f64::from(gy.atan2(gx)).to_degrees().rem_euclid(180.0);
                    bins[(angle.round() as usize) % 180] += strength;
                }
            }
            bins
        })
        .collect();
    // Summed in row order, so that the result does not depend on the number of threads.
    let mut total = vec![0.0; 180];
    for line in lines {
        for (sum, v) in total.iter_mut().zip(line) {
            *sum += v;
        }
    }
    total
}

/// Height of a band, px of the strip: a tick is several bands long.
pub(super) const BAND_PX: usize = 8;

/// The view turned so that strokes stand upright; NaN outside.
pub(super) struct Strip {
    pub log_light: Plane,
    /// Mean along x of the rows of each whole band; NaN where any is missing. Asked for at every
    /// spacing that is tried, so made once.
    pub bands: Vec<Vec<f32>>,
}

impl Strip {
    pub fn along(view: &View, direction: f64) -> Self {
        let p = &view.log_light;
        let (rows, columns) = p.dim();
        let (sin, cos) = direction.sin_cos();
        let (w, h) = (columns as f64, rows as f64);
        let wide = (w * cos.abs() + h * sin.abs()).ceil().max(1.0) as usize;
        let tall = (w * sin.abs() + h * cos.abs()).ceil().max(1.0) as usize;
        let mut cells = vec![f32::NAN; wide * tall];
        cells
            .par_chunks_mut(wide)
            .enumerate()
            .for_each(|(v, line)| {
                let across = v as f64 - (tall as f64 - 1.0) / 2.0;
                for (u, cell) in line.iter_mut().enumerate() {
                    let along = u as f64 - (wide as f64 - 1.0) / 2.0;
                    let x = (w - 1.0) / 2.0 + along * cos - across * sin;
                    let y = (h - 1.0) / 2.0 + along * sin + across * cos;
                    *cell = bilinear(p, x, y);
                }
            });
        let bands = cells
            .par_chunks_exact(wide * BAND_PX)
            .map(|band| mean_of_rows(band, wide))
            .collect();
        Self {
            log_light: Array2::from_shape_vec((tall, wide), cells)
                .unwrap_or_else(|_| Array2::zeros((0, 0))),
            bands,
        }
    }
}

fn mean_of_rows(rows: &[f32], wide: usize) -> Vec<f32> {
    let mut mean = vec![0.0; wide];
    for row in rows.chunks_exact(wide) {
        for (sum, v) in mean.iter_mut().zip(row) {
            *sum += v;
        }
    }
    let n = (rows.len() / wide) as f32;
    mean.iter_mut().for_each(|m| *m /= n);
    mean
}

fn bilinear(p: &Plane, x: f64, y: f64) -> f32 {
    let (rows, columns) = p.dim();
    if !(x >= 0.0 && y >= 0.0 && x < columns as f64 - 1.0 && y < rows as f64 - 1.0) {
        return f32::NAN;
    }
    let (x0, y0) = (x as usize, y as usize);
    let (u, v) = ((x - x0 as f64) as f32, (y - y0 as f64) as f32);
    (1.0 - v) * ((1.0 - u) * p[[y0, x0]] + u * p[[y0, x0 + 1]])
        + v * ((1.0 - u) * p[[y0 + 1, x0]] + u * p[[y0 + 1, x0 + 1]])
}
