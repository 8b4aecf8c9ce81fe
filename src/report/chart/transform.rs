//! Averaged power spectrum for the eye; nothing is measured from it.

use crate::ink::Inked;
use crate::plane::Plane;
use crate::rank::median;
use ndarray::s;
use rayon::prelude::*;
use rustfft::{FftPlanner, num_complex::Complex};

/// Side of the windows, px; a power of two for speed, long enough to part screens 1/50 apart.
pub const SIDE: usize = 256;
/// Windows averaged at most: twelve bring the speckle of a spectrum down to a third.
const MOST_WINDOWS: usize = 16;
/// Share of a window that must be usable; the rest is filled with the window's mean.
const LEAST_USABLE: f64 = 0.9;

/// What stands out of an averaged spectrum.
#[derive(Clone, Debug)]
pub struct StandingOut {
    /// How far each spacing and direction stands out from others of the same spacing, as the
    /// natural logarithm of power over the median power on its ring; `[[row, col]]` with zero
    /// frequency at `[SIDE/2, SIDE/2]`, x to the right, y down, `1/SIDE` cycles per px a step.
    pub over_ring: Plane,
    /// Windows averaged: the fewer, the farther speckle stands out by chance.
    pub windows: usize,
}

/// Finds it; `None` where no window is usable.
#[must_use]
pub fn standing_out(inked: &Inked) -> Option<StandingOut> {
    let windows = windows(inked);
    if windows.is_empty() {
        return None;
    }
    let spectra: Vec<_> = windows
        .par_iter()
        .map(|&(top, left)| power(inked, top, left))
        .collect();
    let mut mean = vec![0.0f64; SIDE * SIDE];
    for spectrum in &spectra {
        for (total, value) in mean.iter_mut().zip(spectrum) {
            *total += value / spectra.len() as f64;
        }
    }
    Some(StandingOut {
        over_ring: over_ring_median(&mean),
        windows: windows.len(),
    })
}

/// Top left corners of the windows with the most contrast.
fn windows(inked: &Inked) -> Vec<(usize, usize)> {
    let (height, width) = inked.usable.dim();
    let starts = |length: usize| {
        (0..)
            .map(|i| i * SIDE / 2)
            .take_while(move |start| start + SIDE <= length)
    };
    let mut rated: Vec<_> = starts(height)
        .flat_map(|top| starts(width).map(move |left| (top, left)))
        .filter_map(|(top, left)| Some((contrast(inked, top, left)?, top, left)))
        .collect();
    rated.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
    rated.truncate(MOST_WINDOWS);
    rated
        .into_iter()
        .map(|(_, top, left)| (top, left))
        .collect()
}

/// Variance of darkness in a window; `None` where too little of it is usable.
fn contrast(inked: &Inked, top: usize, left: usize) -> Option<f64> {
    let part = s![top..top + SIDE, left..left + SIDE];
    let usable = inked.usable.slice(part).iter().filter(|u| **u).count();
    if (usable as f64) < LEAST_USABLE * (SIDE * SIDE) as f64 {
        return None;
    }
    Some(f64::from(inked.grey_density.slice(part).var(0.0)))
}

fn power(inked: &Inked, top: usize, left: usize) -> Vec<f64> {
    let mut field = windowed(inked, top, left);
    let fft = FftPlanner::new().plan_fft_forward(SIDE);
    fft.process(&mut field);
    let mut turned: Vec<_> = (0..SIDE * SIDE)
        .map(|i| field[(i % SIDE) * SIDE + i / SIDE])
        .collect();
    fft.process(&mut turned);
    // `turned` is column by column; turn it back and put zero frequency in the middle.
    let middle = |i: usize| (i + SIDE / 2) % SIDE;
    (0..SIDE * SIDE)
        .map(|i| turned[middle(i % SIDE) * SIDE + middle(i / SIDE)].norm_sqr())
        .map(f64::from)
        .collect()
}

/// Darkness without its mean, faded out towards the edges (Hann window).
fn windowed(inked: &Inked, top: usize, left: usize) -> Vec<Complex<f32>> {
    let part = s![top..top + SIDE, left..left + SIDE];
    let (density, usable) = (inked.grey_density.slice(part), inked.usable.slice(part));
    let (mut sum, mut count) = (0.0, 0);
    for (value, _) in density.iter().zip(&usable).filter(|(_, u)| **u) {
        sum += value;
        count += 1;
    }
    let mean = sum / (count.max(1)) as f32;
    let fade = |i: usize| {
        let turn = std::f32::consts::TAU * i as f32 / SIDE as f32;
        0.5 - 0.5 * turn.cos()
    };
    (0..SIDE * SIDE)
        .map(|i| {
            let (y, x) = (i / SIDE, i % SIDE);
            let value = if usable[[y, x]] {
                density[[y, x]] - mean
            } else {
                0.0
            };
            Complex::new(value * fade(x) * fade(y), 0.0)
        })
        .collect()
}

fn over_ring_median(power: &[f64]) -> Plane {
    let ring = |i: usize| {
        let middle = SIDE as f64 / 2.0;
        let (dy, dx) = ((i / SIDE) as f64 - middle, (i % SIDE) as f64 - middle);
        dx.hypot(dy).round() as usize
    };
    let mut rings: Vec<Vec<f64>> = vec![Vec::new(); SIDE];
    for (i, value) in power.iter().enumerate() {
        rings[ring(i)].push(*value);
    }
    let medians: Vec<f64> = rings
        .into_iter()
        .map(|values| median(values).unwrap_or(0.0))
        .collect();
    Plane::from_shape_fn((SIDE, SIDE), |(y, x)| {
        let i = y * SIDE + x;
        let median = medians[ring(i)];
        if median > 0.0 {
            (power[i] / median).max(f64::MIN_POSITIVE).ln() as f32
        } else {
            0.0
        }
    })
}
