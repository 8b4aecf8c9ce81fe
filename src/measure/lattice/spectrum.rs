//! The mean spectrum of many windows, whitened so that a screen's peaks stand out of the
//! picture's own structure.

use super::pyramid::Level;
use crate::plane::Plane;
use ndarray::Array2;
use rayon::prelude::*;
use rustfft::{FftPlanner, num_complex::Complex32};

/// Window side in samples.
pub const WINDOW: usize = 256;
/// Most windows looked at per level; enough to average noise down, few enough to be quick.
const MAX_WINDOWS_PER_AXIS: usize = 6;
/// Least share of a window that must be usable.
const MIN_USABLE: f64 = 0.5;
/// Width in bins of the rings over which the picture's own spectrum is levelled.
const RING_BINS: usize = 3;

/// Mean whitened power spectra of one level.
#[derive(Clone, Debug)]
pub struct Spectrum {
    /// Pixels of the photograph per sample.
    pub step_px: usize,
    /// Side of the transform in samples.
    pub side: usize,
    /// Per channel, power over the ring's median, `[[ky, kx]]` in transform order.
    pub power: Vec<Plane>,
}

/// Averages the spectra of windows spread over the usable field; `None` where no window fits.
#[must_use]
pub fn survey(level: &Level) -> Option<Spectrum> {
    let corners = window_corners(level);
    if corners.is_empty() {
        return None;
    }
    let fft = FftPlanner::new().plan_fft_forward(WINDOW);
    let rings = Rings::new();
    let zero = || vec![vec![0.0_f32; WINDOW * WINDOW]; level.channels.len()];
    // Fixed chunks summed in order, so that the sum does not depend on the number of threads.
    let partial: Vec<Vec<Vec<f32>>> = corners
        .par_iter()
        .map(|&(y, x)| window_power(level, y, x, fft.as_ref(), &rings))
        .collect();
    let mut sum = zero();
    for window in &partial {
        for (total, part) in sum.iter_mut().zip(window) {
            total.iter_mut().zip(part).for_each(|(t, p)| *t += p);
        }
    }
    let scale = 1.0 / corners.len() as f32;
    let power = sum
        .into_iter()
        .filter_map(|v| {
            let scaled = v.into_iter().map(|p| p * scale).collect();
            let turned = Array2::from_shape_vec((WINDOW, WINDOW), scaled).ok()?;
            Some(turned.t().as_standard_layout().into_owned())
        })
        .collect();
    Some(Spectrum {
        step_px: level.step_px,
        side: WINDOW,
        power,
    })
}

/// Where a peak lies between bins, [x, y] in bins: the top of logarithmic parabolas through the bin `[ky, kx]` and those
/// beside it, at most half a bin away.
#[must_use]
pub fn place_of_peak(at: &impl Fn(i64, i64) -> f32, ky: i64, kx: i64) -> [f64; 2] {
    let top = |a: f32, b: f32, c: f32| {
        let [a, b, c] = [a, b, c].map(|v| f64::from(v.max(1e-9)).ln());
        let bend = a - 2.0 * b + c;
        if bend < 0.0 {
            (0.5 * (a - c) / bend).clamp(-0.5, 0.5)
        } else {
            0.0
        }
    };
    let value = at(ky, kx);
    [
        kx as f64 + top(at(ky, kx - 1), value, at(ky, kx + 1)),
        ky as f64 + top(at(ky - 1, kx), value, at(ky + 1, kx)),
    ]
}

/// Upper left corners of windows; a frame smaller than a window gets one that hangs over.
fn window_corners(level: &Level) -> Vec<(usize, usize)> {
    let (height, width) = level.shape();
    let starts = |length: usize| -> Vec<usize> {
        let room = length.saturating_sub(WINDOW);
        let count = (2 * room / WINDOW + 1).clamp(1, MAX_WINDOWS_PER_AXIS);
        (0..count)
            .map(|i| {
                if count > 1 {
                    room * i / (count - 1)
                } else {
                    room / 2
                }
            })
            .collect()
    };
    let mut corners = Vec::new();
    for &y in &starts(height) {
        for &x in &starts(width) {
            if usable_share(level, y, x) >= MIN_USABLE {
                corners.push((y, x));
            }
        }
    }
    corners
}

fn usable_share(level: &Level, y: usize, x: usize) -> f64 {
    let (height, width) = level.shape();
    let (y1, x1) = ((y + WINDOW).min(height), (x + WINDOW).min(width));
    let used = level
        .usable
        .slice(ndarray::s![y..y1, x..x1])
        .iter()
        .filter(|&&u| u)
        .count();
    used as f64 / ((y1 - y) * (x1 - x)).max(1) as f64
}

/// Whitened power of the channels of one window, `[kx][ky]`: one turn at the end of the mean saves two a
/// window, and rings are the same either way.
fn window_power(
    level: &Level,
    y: usize,
    x: usize,
    fft: &dyn rustfft::Fft<f32>,
    rings: &Rings,
) -> Vec<Vec<f32>> {
    // Two real channels ride in one complex transform.
    let mut powers = Vec::with_capacity(level.channels.len());
    for pair in level.channels.chunks(2) {
        let mut data = load(level, pair, y, x);
        transform(&mut data, fft);
        powers.extend(unpack(&data, pair.len()));
    }
    for power in &mut powers {
        rings.whiten(power);
    }
    powers
}

fn load(level: &Level, pair: &[Plane], y: usize, x: usize) -> Vec<Complex32> {
    let (height, width) = level.shape();
    let (h, w) = (WINDOW.min(height - y), WINDOW.min(width - x));
    let taper = |i: usize, n: usize| {
        let t = (i as f32 + 0.5) / n as f32;
        0.5 - 0.5 * (std::f32::consts::TAU * t).cos()
    };
    let (taper_x, taper_y): (Vec<f32>, Vec<f32>) = (
        (0..w).map(|i| taper(i, w)).collect(),
        (0..h).map(|i| taper(i, h)).collect(),
    );
    let mut data = vec![Complex32::default(); WINDOW * WINDOW];
    let window = ndarray::s![y..y + h, x..x + w];
    let usable = level.usable.slice(window);
    for (k, channel) in pair.iter().enumerate() {
        let mean = usable_mean(level, channel, y, x);
        let rows = channel.slice(window);
        let rows = rows.outer_iter().zip(usable.outer_iter());
        for (((row, usable), line), down) in rows.zip(data.chunks_exact_mut(WINDOW)).zip(&taper_y) {
            let samples = row.iter().zip(&usable).zip(line).zip(&taper_x);
            for (((&sample, &usable), value), across) in samples {
                let seen = if usable {
                    (sample - mean) * (across * down)
                } else {
                    0.0
                };
                // The first channel is the real part, the second the imaginary one.
                if k == 0 {
                    value.re = seen;
                } else {
                    value.im = seen;
                }
            }
        }
    }
    data
}

fn usable_mean(level: &Level, channel: &Plane, y: usize, x: usize) -> f32 {
    let (height, width) = level.shape();
    let window = ndarray::s![y..(y + WINDOW).min(height), x..(x + WINDOW).min(width)];
    let (channel, usable) = (channel.slice(window), level.usable.slice(window));
    let (mut sum, mut count) = (0.0_f64, 0_u32);
    // A row of 256 densities keeps six digits in f32.
    for (row, usable) in channel.outer_iter().zip(usable.outer_iter()) {
        let mut part = 0.0_f32;
        for (&value, &usable) in row.iter().zip(&usable) {
            part += if usable { value } else { 0.0 };
            count += u32::from(usable);
        }
        sum += f64::from(part);
    }
    (sum / f64::from(count.max(1))) as f32
}

/// Along rows, then along columns; the result is `[kx][ky]`.
fn transform(data: &mut [Complex32], fft: &dyn rustfft::Fft<f32>) {
    fft.process(data);
    transpose(data);
    fft.process(data);
}

/// Block by block, so that rows and columns stay in the cache.
fn transpose(data: &mut [Complex32]) {
    const BLOCK: usize = 16;
    for top in (0..WINDOW).step_by(BLOCK) {
        for left in (top..WINDOW).step_by(BLOCK) {
            for y in top..top + BLOCK {
                for x in left.max(y + 1)..left + BLOCK {
                    data.swap(y * WINDOW + x, x * WINDOW + y);
                }
            }
        }
    }
}

fn unpack(data: &[Complex32], channels: usize) -> Vec<Vec<f32>> {
    let mut out = vec![vec![0.0; WINDOW * WINDOW]; channels];
    for (row, here) in data.chunks_exact(WINDOW).enumerate() {
        let there = &data[(WINDOW - row) % WINDOW * WINDOW..][..WINDOW];
        for (channel, out) in out.iter_mut().enumerate() {
            let sign = if channel == 0 { 1.0 } else { -1.0 };
            let out = &mut out[row * WINDOW..][..WINDOW];
            let part =
                |here: Complex32, there: Complex32| ((here + there.conj() * sign) * 0.5).norm_sqr();
            out[0] = part(here[0], there[0]);
            let mirrored = there[1..].iter().rev();
            for ((out, here), there) in out[1..].iter_mut().zip(&here[1..]).zip(mirrored) {
                *out = part(*here, *there);
            }
        }
    }
    out
}

/// Bins gathered by distance from zero frequency.
struct Rings {
    ring_of: Vec<u16>,
    members: Vec<Vec<u32>>,
}

impl Rings {
    fn new() -> Self {
        let signed = |k: usize| {
            if k > WINDOW / 2 {
                k as f32 - WINDOW as f32
            } else {
                k as f32
            }
        };
        let mut ring_of = vec![0_u16; WINDOW * WINDOW];
        let mut members: Vec<Vec<u32>> = Vec::new();
        for ky in 0..WINDOW {
            for kx in 0..WINDOW {
                let ring = (signed(kx).hypot(signed(ky)) as usize) / RING_BINS;
                if members.len() <= ring {
                    members.resize(ring + 1, Vec::new());
                }
                ring_of[ky * WINDOW + kx] = ring as u16;
                members[ring].push((ky * WINDOW + kx) as u32);
            }
        }
        Self { ring_of, members }
    }

    /// Divides power by the median of its ring.
    fn whiten(&self, power: &mut [f32]) {
        let mut medians = Vec::with_capacity(self.members.len());
        let mut scratch = Vec::new();
        for ring in &self.members {
            scratch.clear();
            scratch.extend(ring.iter().map(|&i| power[i as usize]));
            let middle = scratch.len() / 2;
            let (_, median, _) = scratch.select_nth_unstable_by(middle, f32::total_cmp);
            medians.push(median.max(1e-12));
        }
        for (value, &ring) in power.iter_mut().zip(&self.ring_of) {
            *value /= medians[ring as usize];
        }
    }
}
