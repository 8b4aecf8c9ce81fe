//! The bands of a strip in which strokes of one spacing stand.

use super::straighten::{BAND_PX, Strip};
use std::f64::consts::TAU;

/// Bands belong to the row of ticks from this share of the strongest band's amplitude on.
const BAND_SHARE: f64 = 0.5;

/// The bands in which strokes of one spacing stand, with their phases.
pub(super) struct Bands {
    /// Band numbers, amplitude and phase of each, contiguous.
    pub(super) run: Vec<(usize, f64, f64)>,
}

impl Bands {
    pub fn at(strip: &Strip, spacing: f64) -> Option<Self> {
        let turns: Vec<(f64, f64)> = (0..strip.log_light.ncols())
            .map(|x| (TAU * x as f64 / spacing).sin_cos())
            .collect();
        let waves: Vec<(f64, f64)> = strip.bands.iter().map(|band| wave(band, &turns)).collect();
        let count = waves.len();
        let (best, (most, _)) = waves
            .iter()
            .copied()
            .enumerate()
            .max_by(|a, b| a.1.0.total_cmp(&b.1.0))?;
        if most <= 0.0 {
            return None;
        }
        let strong = |band: usize| waves[band].0 >= BAND_SHARE * most;
        let mut first = best;
        while first > 0 && strong(first - 1) {
            first -= 1;
        }
        let mut last = best;
        while last + 1 < count && strong(last + 1) {
            last += 1;
        }
        (last > first).then(|| Self {
            run: (first..=last)
                .map(|b| (b, waves[b].0, waves[b].1))
                .collect(),
        })
    }

    pub fn middle_row(&self) -> f64 {
        let first = self.run.first().map_or(0, |b| b.0);
        let last = self.run.last().map_or(0, |b| b.0);
        (first + last + 1) as f64 * BAND_PX as f64 / 2.0 - 0.5
    }

    /// Slant, px per row: the line through the bands' phases, strong bands weighing more.
    pub fn shear(&self, spacing: f64) -> f64 {
        let mut place = 0.0;
        let mut before = None;
        let (mut sw, mut sy, mut sx, mut syy, mut sxy) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for (band, amplitude, phase) in &self.run {
            let turn = before.map_or(0.0, |b: f64| (phase - b + 0.5).rem_euclid(1.0) - 0.5);
            place += turn * spacing;
            before = Some(*phase);
            let (weight, y) = (amplitude * amplitude, (band * BAND_PX) as f64);
            sw += weight;
            sy += weight * y;
            sx += weight * place;
            syy += weight * y * y;
            sxy += weight * y * place;
        }
        let spread = sw * syy - sy * sy;
        if spread > 0.0 {
            (sw * sxy - sy * sx) / spread
        } else {
            0.0
        }
    }

    /// Darkness along x, averaged over the bands with the slant taken out.
    pub fn profile(&self, strip: &Strip, shear: f64, sign: f32) -> Vec<f32> {
        let p = &strip.log_light;
        let middle = self.middle_row();
        let first = self.run.first().map_or(0, |b| b.0) * BAND_PX;
        let end = (self.run.last().map_or(0, |b| b.0) + 1) * BAND_PX;
        (0..p.ncols())
            .map(|x| {
                let mut sum = 0.0;
                for y in first..end {
                    let at = x as f64 + shear * (y as f64 - middle);
                    sum += along_row(strip, y, at);
                }
                -sign * sum / (end - first) as f32
            })
            .collect()
    }
}

/// Linear interpolation in a row; NaN outside.
pub(super) fn along_row(strip: &Strip, y: usize, x: f64) -> f32 {
    let p = &strip.log_light;
    if !(x >= 0.0 && x < p.ncols() as f64 - 1.0 && y < p.nrows()) {
        return f32::NAN;
    }
    let x0 = x as usize;
    let u = (x - x0 as f64) as f32;
    (1.0 - u) * p[[y, x0]] + u * p[[y, x0 + 1]]
}

/// Amplitude, and phase in turns, of a band's profile at the spacing of `turns`, sine and cosine
/// at each x.
fn wave(profile: &[f32], turns: &[(f64, f64)]) -> (f64, f64) {
    let (mut n, mut sum) = (0_usize, 0.0);
    for v in profile.iter().filter(|v| v.is_finite()) {
        n += 1;
        sum += f64::from(*v);
    }
    // A quarter of the strip, so that a corner of the picture does not pass for a row of ticks.
    if n * 4 < profile.len() {
        return (0.0, 0.0);
    }
    let n = n as f64;
    let mean = sum / n;
    let (mut re, mut im) = (0.0, 0.0);
    for (v, (sin, cos)) in profile.iter().zip(turns).filter(|(v, _)| v.is_finite()) {
        let v = f64::from(*v) - mean;
        re += v * cos;
        im += v * sin;
    }
    ((re / n).hypot(im / n), im.atan2(re) / TAU)
}
