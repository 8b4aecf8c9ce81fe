//! Seeded random functions of position: smooth value noise, and Gaussian surfaces with one scale.

use crate::plane::Plane;
use ndarray::Axis;
use ndarray::parallel::prelude::*;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

/// A random function of the plane that is the same however often and in whatever order it is
/// asked, so that rows can be drawn in parallel.
#[derive(Clone, Copy, Debug)]
pub struct Noise {
    seed: u32,
    /// The lattice of the noise is turned, so that its axes never line up with the pixels.
    turn: [f32; 2],
}

impl Noise {
    /// A new function.
    pub fn new(rng: &mut ChaCha8Rng) -> Self {
        let angle: f32 = rng.random_range(0.2..1.3);
        Self {
            seed: rng.random(),
            turn: [angle.cos(), angle.sin()],
        }
    }

    /// An independent uniform number in [0, 1) for a pair of whole numbers.
    #[must_use]
    pub fn draw(&self, i: i32, j: i32) -> f32 {
        let mut h = self.seed
            ^ (i as u32).wrapping_mul(0x8da6_b343)
            ^ (j as u32).wrapping_mul(0xd816_3841).rotate_left(13);
        // Finaliser of MurmurHash3 (public domain): spreads every input bit over the word.
        h ^= h >> 16;
        h = h.wrapping_mul(0x85eb_ca6b);
        h ^= h >> 13;
        h = h.wrapping_mul(0xc2b2_ae35);
        h ^= h >> 16;
        (h >> 8) as f32 / 16_777_216.0
    }

    /// Smooth noise of unit scale, −1 … 1 (root mean square about 0.45).
    #[must_use]
    pub fn at(&self, x: f32, y: f32) -> f32 {
        let (u, v) = (
            self.turn[0] * x - self.turn[1] * y,
            self.turn[1] * x + self.turn[0] * y,
        );
        let (i, j) = (u.floor(), v.floor());
        let (s, t) = (ease(u - i), ease(v - j));
        let (i, j) = (i as i32, j as i32);
        let top = mix(self.draw(i, j), self.draw(i + 1, j), s);
        let foot = mix(self.draw(i, j + 1), self.draw(i + 1, j + 1), s);
        2.0 * mix(top, foot, t) - 1.0
    }

    /// Three octaves of [`Noise::at`], −1 … 1.
    #[must_use]
    pub fn rough(&self, x: f32, y: f32) -> f32 {
        (self.at(x, y)
            + 0.5 * self.at(2.1 * x + 7.3, 2.1 * y)
            + 0.25 * self.at(4.3 * x, 4.3 * y + 3.1))
            / 1.75
    }

    /// Smooth noise along one line, −1 … 1; `row` chooses the line.
    #[must_use]
    pub fn along(&self, row: i32, s: f32) -> f32 {
        let i = s.floor();
        let t = ease(s - i);
        let i = i as i32;
        2.0 * mix(self.draw(i, row), self.draw(i + 1, row), t) - 1.0
    }
}

/// Linear mixture: `a` at 0, `b` at 1.
#[must_use]
pub fn mix(a: f32, b: f32, t: f32) -> f32 {
    a + (b - a) * t
}

/// Smooth step from 0 at `lo` to 1 at `hi`.
#[must_use]
pub fn step(lo: f32, hi: f32, x: f32) -> f32 {
    ease(((x - lo) / (hi - lo).max(1e-9)).clamp(0.0, 1.0))
}

fn ease(t: f32) -> f32 {
    t * t * (3.0 - 2.0 * t)
}

/// A Gaussian random surface of unit variance and zero mean, its scale set by `sigma_px` (standard
/// deviation of the smoothing kernel); it wraps round at the borders.
#[must_use]
pub fn gaussian_surface(shape: (usize, usize), sigma_px: f64, rng: &mut ChaCha8Rng) -> Plane {
    let white = Plane::from_shape_simple_fn(shape, || StandardNormal.sample(rng));
    standardised(smoothed(&white, sigma_px))
}

/// As [`gaussian_surface`], without the slow undulations: the difference of two smoothings.
#[must_use]
pub fn banded_surface(shape: (usize, usize), sigma_px: f64, rng: &mut ChaCha8Rng) -> Plane {
    /// Width of the subtracted smoothing: narrow enough a band that grains come about evenly
    /// spaced, wide enough that they still differ.
    const RATIO: f64 = 1.6;
    let white = Plane::from_shape_simple_fn(shape, || StandardNormal.sample(rng));
    let fine = smoothed(&white, sigma_px);
    let coarse = smoothed(&fine, sigma_px * (RATIO * RATIO - 1.0).sqrt());
    standardised(fine - coarse)
}

/// Shifts and scales to zero mean and unit variance; an even plane becomes 0.
fn standardised(mut plane: Plane) -> Plane {
    let n = plane.len().max(1) as f64;
    let mean = plane.iter().map(|&v| f64::from(v)).sum::<f64>() / n;
    let variance = plane
        .iter()
        .map(|&v| (f64::from(v) - mean).powi(2))
        .sum::<f64>()
        / n;
    let scale = if variance > 0.0 {
        1.0 / variance.sqrt()
    } else {
        0.0
    };
    plane.par_mapv_inplace(|v| ((f64::from(v) - mean) * scale) as f32);
    plane
}

/// Gaussian smoothing that wraps round at the borders; `sigma_px` under 0.2 changes nothing.
#[must_use]
pub fn smoothed(plane: &Plane, sigma_px: f64) -> Plane {
    if sigma_px < 0.2 || plane.is_empty() {
        return plane.clone();
    }
    let kernel = gaussian_kernel(sigma_px);
    let across = along_rows(plane, &kernel);
    down_columns(&across, &kernel)
}

/// One half of the kernel, centre first, so that the whole sums to 1.
fn gaussian_kernel(sigma_px: f64) -> Vec<f32> {
    let reach = (3.0 * sigma_px).ceil() as usize;
    let half: Vec<f64> = (0..=reach)
        .map(|i| (-0.5 * (i as f64 / sigma_px).powi(2)).exp())
        .collect();
    let sum = 2.0 * half.iter().sum::<f64>() - half[0];
    half.iter().map(|v| (v / sum) as f32).collect()
}

fn along_rows(plane: &Plane, kernel: &[f32]) -> Plane {
    let width = plane.ncols();
    let reach = kernel.len() - 1;
    let mut out = Plane::zeros(plane.raw_dim());
    out.axis_iter_mut(Axis(0))
        .into_par_iter()
        .zip(plane.axis_iter(Axis(0)))
        .for_each(|(mut to, from)| {
            let padded: Vec<f32> = (0..width + 2 * reach)
                .map(|i| from[(i + width * reach - reach) % width])
                .collect();
            for (x, to) in to.iter_mut().enumerate() {
                let window = &padded[x..=x + 2 * reach];
                let mut sum = kernel[0] * window[reach];
                for (i, k) in kernel.iter().enumerate().skip(1) {
                    sum += k * (window[reach - i] + window[reach + i]);
                }
                *to = sum;
            }
        });
    out
}

fn down_columns(plane: &Plane, kernel: &[f32]) -> Plane {
    let height = plane.nrows();
    let reach = kernel.len() - 1;
    let mut out = Plane::zeros(plane.raw_dim());
    out.axis_iter_mut(Axis(0))
        .into_par_iter()
        .enumerate()
        .for_each(|(y, mut to)| {
            to.scaled_add(kernel[0], &plane.row(y));
            for (i, &k) in kernel.iter().enumerate().skip(1) {
                to.scaled_add(k, &plane.row((y + i) % height));
                to.scaled_add(k, &plane.row((y + height * reach - i) % height));
            }
        });
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng;

    #[test]
    fn smoothing_keeps_the_mean_and_has_the_asked_width() {
        let mut spike = Plane::zeros((41, 63));
        spike[[3, 60]] = 1.0;
        let soft = smoothed(&spike, 2.5);
        assert!((soft.sum() - 1.0).abs() < 1e-4);
        // The peak of a two-dimensional Gaussian is 1 / (2πσ²).
        let peak = 1.0 / (std::f32::consts::TAU * 2.5 * 2.5);
        assert!((soft[[3, 60]] - peak).abs() < 0.02 * peak);
        // Wrapped round the right border.
        assert!((soft[[3, 0]] - soft[[3, 57]]).abs() < 1e-6);
    }

    #[test]
    fn a_surface_is_standardised_and_its_seed_decides_it() {
        let surface = |seed| banded_surface((50, 70), 1.5, &mut ChaCha8Rng::seed_from_u64(seed));
        let a = surface(1);
        assert!(a.mean().unwrap_or(1.0).abs() < 1e-3);
        assert!((a.mapv(|v| v * v).mean().unwrap_or(0.0) - 1.0).abs() < 1e-3);
        assert_eq!(a, surface(1));
        assert_ne!(a, surface(2));
    }

    #[test]
    fn noise_stays_within_its_range_and_is_continuous() {
        let noise = Noise::new(&mut ChaCha8Rng::seed_from_u64(5));
        for i in 0..2000 {
            let (x, y) = (i as f32 * 0.037 - 20.0, i as f32 * 0.011);
            let v = noise.at(x, y);
            assert!((-1.0..=1.0).contains(&v));
            assert!((noise.at(x + 1e-3, y) - v).abs() < 0.01);
        }
    }
}
