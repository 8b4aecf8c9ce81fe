//! Where the picture's contrast falls into its noise floor.

use super::windows::{SIDE_PX, Window, Windows};
use rayon::prelude::*;
use rustfft::{Fft, FftPlanner, num_complex::Complex};
use std::sync::Arc;

/// Radial bins up to half a cycle per px.
const BINS: usize = SIDE_PX / 2;
/// Power over the floor that still counts as contrast; a bin's mean of hundreds of values
/// scatters by far less.
const OVER_FLOOR: f64 = 4.0;
/// Windows transformed.
const MOST: usize = 12;

/// Highest frequency, cycles per px, whose power stands above the noise floor; `None` when no
/// whole window lies in the field or nothing stands above it. `noise` is the deviation of
/// fine differences in linear light.
pub(super) fn floor_frequency(windows: &Windows, noise: f64) -> Option<(f64, usize)> {
    let whole: Vec<&Window> = windows
        .busy
        .iter()
        .filter(|w| w.is_whole())
        .take(MOST)
        .collect();
    if whole.is_empty() {
        return None;
    }
    let fft = FftPlanner::new().plan_fft_forward(SIDE_PX);
    let taper = hann();
    let spectra: Vec<Vec<f64>> = whole
        .par_iter()
        .map(|window| radial_power(window, &fft, &taper))
        .collect();
    let mean: Vec<f64> = (0..BINS)
        .map(|bin| spectra.iter().map(|s| s[bin]).sum::<f64>() / spectra.len() as f64)
        .collect();
    let energy: f64 = taper.iter().map(|w| w * w).sum::<f64>().powi(2);
    let lowest = mean[2..].iter().copied().fold(f64::INFINITY, f64::min);
    let floor = lowest.max(noise * noise * energy);
    let last = (2..BINS)
        .rev()
        .find(|bin| mean[*bin] > OVER_FLOOR * floor)?;
    Some(((last as f64 + 0.5) / SIDE_PX as f64, whole.len()))
}

fn hann() -> Vec<f64> {
    (0..SIDE_PX)
        .map(|i| {
            let turn = std::f64::consts::TAU * (i as f64 + 0.5) / SIDE_PX as f64;
            0.5 - 0.5 * turn.cos()
        })
        .collect()
}

/// Mean power by distance from frequency 0, in bins of 1/256 cycle per px.
fn radial_power(window: &Window, fft: &Arc<dyn Fft<f32>>, taper: &[f64]) -> Vec<f64> {
    let mean = f64::from(window.light.mean().unwrap_or(0.0));
    let mut field: Vec<Complex<f32>> = window
        .light
        .indexed_iter()
        .map(|((y, x), v)| {
            let tapered = (f64::from(*v) - mean) * taper[y] * taper[x];
            Complex::new(tapered as f32, 0.0)
        })
        .collect();
    fft.process(&mut field);
    let mut turned = vec![Complex::new(0.0, 0.0); field.len()];
    for y in 0..SIDE_PX {
        for x in 0..SIDE_PX {
            turned[x * SIDE_PX + y] = field[y * SIDE_PX + x];
        }
    }
    fft.process(&mut turned);
    let radius = |x: f64, y: f64| (x * x + y * y).sqrt();
    let signed = |i: usize| {
        if i < SIDE_PX / 2 {
            i as f64
        } else {
            i as f64 - SIDE_PX as f64
        }
    };
    let mut sums = vec![0.0; BINS];
    let mut counts = vec![0.0_f64; BINS];
    for (i, value) in turned.iter().enumerate() {
        let bin = radius(signed(i / SIDE_PX), signed(i % SIDE_PX)).round() as usize;
        if bin < BINS {
            sums[bin] += f64::from(value.norm_sqr());
            counts[bin] += 1.0;
        }
    }
    sums.iter()
        .zip(&counts)
        .map(|(s, n)| s / n.max(1.0))
        .collect()
}
