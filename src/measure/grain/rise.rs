//! Whether the spectrum of tone rises again towards fine detail.
//!
//! Drawing, grain and paper hold less and less power the finer they are looked at. Tone made of small
//! spots that keep apart, by a stochastic screen or error diffusion, holds little at the scale of several
//! spots and much at that of one: its spectrum falls, then rises. Source: R. Ulichney, Digital
//! Halftoning (1987), "blue noise", from memory.

use super::spectrum::radial;
use super::windows::SIDE_PX;
use super::{MIN_WINDOWS, middle};
use crate::ink::Inked;
use crate::measured::{Measured, NotMeasured};
use ndarray::{Array2, s};
use rayon::prelude::*;

/// Most windows that are looked at, evenly over the field.
const MAX_WINDOWS: usize = 64;
/// Share of a window that must be usable.
const MIN_USABLE: f64 = 0.98;
/// Lowest frequency compared, cycles a window: below lies what the Hann window leaves of the mean and
/// of slow tone.
const FROM: usize = 3;
/// Highest frequency compared: above it little is left of a photograph's detail.
const TO: usize = 60;

/// Least power of a window with any detail: rounding leaves less, the noise of any camera a thousand times more.
const LEAST_POWER: f64 = 1e-5;

/// Rise of the spectrum, log10 of power over the least power at any lower frequency; 0 = it only falls.
#[derive(Clone, Debug, PartialEq)]
pub struct Rise {
    /// Of the mean spectrum of all windows, each at equal weight.
    pub overall: Measured,
    /// Middle over windows of each one's own rise.
    pub of_windows: Measured,
}

/// Measures it on grey density.
#[must_use]
pub fn measure(inked: &Inked) -> Rise {
    let spectra: Vec<Vec<f64>> = windows(inked)
        .into_par_iter()
        .filter_map(|at| spectrum(inked, at))
        .collect();
    if spectra.len() < MIN_WINDOWS {
        let few = NotMeasured::too_few("whole windows", spectra.len(), MIN_WINDOWS);
        return Rise {
            overall: few.clone().into(),
            of_windows: few.into(),
        };
    }
    let mut each: Vec<f64> = spectra.iter().map(|s| highest_rise(s)).collect();
    // Left out one window at a time (jackknife), as one window of lettering can carry the mean.
    let n = spectra.len() as f64;
    let sum = (0..spectra[0].len())
        .map(|k| spectra.iter().map(|s| s[k]).sum::<f64>())
        .collect::<Vec<_>>();
    let less: Vec<f64> = spectra
        .iter()
        .map(|s| highest_rise(&sum.iter().zip(s).map(|(a, b)| a - b).collect::<Vec<_>>()))
        .collect();
    let mean = less.iter().sum::<f64>() / n;
    let variance = (n - 1.0) / n * less.iter().map(|l| (l - mean).powi(2)).sum::<f64>();
    Rise {
        overall: Measured::with_standard_error(
            highest_rise(&sum),
            variance.sqrt(),
            "log10",
            spectra.len(),
        ),
        of_windows: middle(&mut each, "log10", "whole windows"),
    }
}

/// Upper left corners of the windows that are looked at.
fn windows(inked: &Inked) -> Vec<[usize; 2]> {
    let (height, width) = inked.usable.dim();
    let all: Vec<[usize; 2]> = (0..height / SIDE_PX)
        .flat_map(|row| (0..width / SIDE_PX).map(move |column| [row * SIDE_PX, column * SIDE_PX]))
        .filter(|at| usable_share(inked, *at) >= MIN_USABLE)
        .collect();
    let step = all.len().div_ceil(MAX_WINDOWS).max(1);
    all.into_iter().step_by(step).collect()
}

fn usable_share(inked: &Inked, [y, x]: [usize; 2]) -> f64 {
    let usable = inked.usable.slice(s![y..y + SIDE_PX, x..x + SIDE_PX]);
    usable.iter().filter(|&&u| u).count() as f64 / usable.len() as f64
}

/// Smoothed spectrum from [`FROM`] to [`TO`], scaled to sum 1; none of a window without any detail.
fn spectrum(inked: &Inked, [y, x]: [usize; 2]) -> Option<Vec<f64>> {
    let power = radial(&window(inked, y, x));
    // `power[0]` is frequency 1.
    let smooth: Vec<f64> = power
        .windows(3)
        .map(|w| 0.25 * w[0] + 0.5 * w[1] + 0.25 * w[2])
        .skip(FROM - 2)
        .take(TO + 1 - FROM)
        .collect();
    let total: f64 = smooth.iter().sum();
    (total > LEAST_POWER).then(|| smooth.iter().map(|p| p / total).collect())
}

/// Density of a window, with the usable mean where a pixel is unusable.
fn window(inked: &Inked, y: usize, x: usize) -> Array2<f32> {
    let area = s![y..y + SIDE_PX, x..x + SIDE_PX];
    let (density, usable) = (inked.grey_density.slice(area), inked.usable.slice(area));
    let (sum, n) = density
        .iter()
        .zip(usable)
        .filter(|(_, u)| **u)
        .fold((0.0_f64, 0_usize), |(sum, n), (d, _)| {
            (sum + f64::from(*d), n + 1)
        });
    let mean = (sum / n.max(1) as f64) as f32;
    Array2::from_shape_fn((SIDE_PX, SIDE_PX), |i| {
        if usable[i] { density[i] } else { mean }
    })
}

/// log10 of the most that a power exceeds the least at any lower frequency.
fn highest_rise(power: &[f64]) -> f64 {
    let mut least = f64::INFINITY;
    let mut highest = 1.0_f64;
    for &p in power {
        least = least.min(p);
        if least > 0.0 {
            highest = highest.max(p / least);
        }
    }
    highest.log10()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::segment::tests::inked_from;
    use crate::plane::Plane;

    fn value(figure: &Measured) -> f64 {
        figure.value().unwrap_or_else(|| panic!("{figure:?}"))
    }

    /// Rise of a picture of reflectances, the same in all channels, seen through a blur of 2 px.
    fn rise(of: impl Fn((usize, usize)) -> f32) -> Rise {
        let sharp = image::ImageBuffer::<image::Luma<f32>, _>::from_fn(512, 384, |x, y| {
            image::Luma([of((y as usize, x as usize))])
        });
        // Four times over: the kernel is cut off, and its side lobes would rise, too.
        let soft = (0..4).fold(sharp, |picture, _| {
            imageproc::filter::gaussian_blur_f32(&picture, 1.0)
        });
        let plane =
            Plane::from_shape_fn((384, 512), |(y, x)| soft.get_pixel(x as u32, y as u32).0[0]);
        measure(&inked_from([plane.clone(), plane.clone(), plane], None))
    }

    #[test]
    fn error_diffusion_rises_and_random_patches_only_fall() {
        // Floyd–Steinberg (from memory) of a flat 30 % tint in spots of 4 px.
        const SPOT: usize = 4;
        let (rows, columns) = (384 / SPOT, 512 / SPOT);
        let mut tone = Array2::from_elem((rows, columns), 0.3_f32);
        let mut spots = Array2::from_elem((rows, columns), false);
        for y in 0..rows {
            for x in 0..columns {
                let old = tone[[y, x]];
                spots[[y, x]] = old > 0.5;
                let left = old - f32::from(u8::from(old > 0.5));
                for (dy, dx, share) in [(0, 1, 7.0), (1, -1, 3.0), (1, 0, 5.0), (1, 1, 1.0)] {
                    let next = (y + dy, x.wrapping_add_signed(dx));
                    if let Some(t) = tone.get_mut(next) {
                        *t += left * share / 16.0;
                    }
                }
            }
        }
        let ink = |inked: bool| if inked { 0.1 } else { 0.8 };
        let diffused = rise(|(y, x)| ink(spots[[y / SPOT, x / SPOT]]));
        assert!(value(&diffused.overall) > 0.5, "{diffused:?}");
        assert!(value(&diffused.of_windows) > 0.5, "{diffused:?}");

        // The same spots at random places: white noise through a square, whose spectrum only falls.
        let mut seed = 9_u64;
        let random = Array2::from_shape_simple_fn((rows, columns), || {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            (seed >> 33) as f64 / f64::from(1_u32 << 31) < 0.3
        });
        let scattered = rise(|(y, x)| ink(random[[y / SPOT, x / SPOT]]));
        assert!(value(&scattered.overall) < 0.1, "{scattered:?}");
    }

    #[test]
    fn a_small_or_empty_picture_has_none() {
        let plane = Plane::ones((100, 100));
        let small = measure(&inked_from([plane.clone(), plane.clone(), plane], None));
        assert!(small.overall.value().is_none());
        assert!(rise(|_| 0.7).overall.value().is_none());
    }
}
