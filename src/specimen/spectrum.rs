//! A plain, slow look at one spectral peak, to check drawn screens against their truth.

use crate::plane::Plane;
use std::f64::consts::TAU;

/// Frequency (cycles per px, y down) of the strongest Hann-windowed Fourier component within
/// `reach` (cycles per px) of a guess, to about a 10⁻⁵ of a cycle.
pub fn peak_near(plane: &Plane, guess: [f64; 2], reach: f64) -> [f64; 2] {
    const STEPS: i32 = 6;
    let mut best = guess;
    let mut reach = reach;
    while reach > 1e-5 {
        let at = |i: i32| reach * f64::from(i) / f64::from(STEPS);
        let candidates = (-STEPS..=STEPS)
            .flat_map(|j| (-STEPS..=STEPS).map(move |i| (i, j)))
            .map(|(i, j)| [best[0] + at(i), best[1] + at(j)]);
        let powers: Vec<([f64; 2], f64)> = candidates.map(|f| (f, power(plane, f))).collect();
        best = powers
            .iter()
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .map_or(best, |found| found.0);
        reach /= f64::from(STEPS) / 1.5;
    }
    best
}

/// Power of one Fourier component.
fn power(plane: &Plane, f: [f64; 2]) -> f64 {
    let (h, w) = plane.dim();
    let mean = f64::from(plane.mean().unwrap_or(0.0));
    let hann = |i: usize, n: usize| 1.0 - (TAU * (i as f64 + 0.5) / n as f64).cos();
    let columns: Vec<(f64, f64)> = (0..w)
        .map(|x| {
            let (sin, cos) = (TAU * f[0] * x as f64).sin_cos();
            (hann(x, w) * cos, hann(x, w) * sin)
        })
        .collect();
    let (mut re, mut im) = (0.0, 0.0);
    for (y, row) in plane.rows().into_iter().enumerate() {
        let (mut c, mut s) = (0.0, 0.0);
        for (&v, &(cos, sin)) in row.iter().zip(&columns) {
            let v = f64::from(v) - mean;
            c += v * cos;
            s += v * sin;
        }
        let (sin, cos) = (TAU * f[1] * y as f64).sin_cos();
        re += hann(y, h) * (c * cos - s * sin);
        im += hann(y, h) * (c * sin + s * cos);
    }
    re * re + im * im
}
