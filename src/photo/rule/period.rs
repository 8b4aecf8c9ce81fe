//! Spacings at which upright strokes may repeat, from the spectra of bands.

use super::straighten::Strip;
use crate::rank;
use rayon::prelude::*;
use rustfft::{Fft, FftPlanner, num_complex::Complex32};
use std::collections::BTreeMap;
use std::ops::RangeInclusive;
use std::sync::Arc;

/// Shortest spacing that can be told, px.
const SHORTEST_PX: f64 = 4.5;
/// Fewest periods in the strip.
const FEWEST_PERIODS: f64 = 8.0;
/// Peak power over the band's median power.
const OVER_MEDIAN: f64 = 25.0;
/// Peaks kept from one band.
const PEAKS: usize = 3;
/// Spacings within this share are one.
const SAME: f64 = 0.02;
/// Fewest bands that share a spacing.
const FEWEST_BANDS: usize = 2;
/// A spacing may be that of the long graduations only: its parts are tried as well.
const PARTS: [f64; 4] = [1.0, 2.0, 5.0, 10.0];
/// Spacings tried.
const MOST: usize = 16;

/// Candidate spacings, px of the strip, shortest first.
pub(super) fn candidates(strip: &Strip) -> Vec<f64> {
    let plans = Plans::of(&strip.bands);
    let peaks: Vec<Vec<f64>> = strip
        .bands
        .par_iter()
        .map(|band| peaks(band, &plans))
        .collect();
    let mut clusters: Vec<(f64, usize)> = Vec::new();
    for spacing in peaks.into_iter().flatten() {
        match clusters
            .iter_mut()
            .find(|(s, _)| (spacing / *s - 1.0).abs() < SAME)
        {
            Some((mean, n)) => {
                *n += 1;
                *mean += (spacing - *mean) / *n as f64;
            }
            None => clusters.push((spacing, 1)),
        }
    }
    clusters.retain(|(_, n)| *n >= FEWEST_BANDS);
    clusters.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.total_cmp(&b.0)));
    clusters.truncate(MOST / PARTS.len());
    let mut spacings: Vec<f64> = clusters
        .iter()
        .flat_map(|(s, _)| PARTS.map(|part| s / part))
        .filter(|s| *s >= SHORTEST_PX)
        .collect();
    spacings.sort_by(f64::total_cmp);
    spacings.dedup_by(|a, b| (*a / *b - 1.0).abs() < SAME);
    spacings
}

/// Transforms by their size: a plan costs more than its use on one band.
struct Plans(BTreeMap<usize, Arc<dyn Fft<f32>>>);

impl Plans {
    fn of(bands: &[Vec<f32>]) -> Self {
        let mut planner = FftPlanner::new();
        let sizes = bands.iter().filter_map(|band| seen(band)).map(size);
        Self(
            sizes
                .map(|size| (size, planner.plan_fft_forward(size)))
                .collect(),
        )
    }
}

/// The part of a band that lies in the field, where it is long enough.
fn seen(profile: &[f32]) -> Option<RangeInclusive<usize>> {
    let first = profile.iter().position(|v| v.is_finite())?;
    let last = profile.iter().rposition(|v| v.is_finite())?;
    let length = last + 1 - first;
    (length as f64 >= FEWEST_PERIODS * SHORTEST_PX).then_some(first..=last)
}

/// Size of the transform of a part: twice its length, so that peaks are sampled finely enough.
fn size(part: RangeInclusive<usize>) -> usize {
    (2 * (part.end() + 1 - part.start())).next_power_of_two()
}

fn peaks(profile: &[f32], plans: &Plans) -> Vec<f64> {
    let Some(part) = seen(profile) else {
        return Vec::new();
    };
    let (first, last) = (*part.start(), *part.end());
    let (length, size) = (last + 1 - first, size(part));
    let Some(plan) = plans.0.get(&size) else {
        return Vec::new();
    };
    let mut spectrum = vec![Complex32::default(); size];
    let finite: Vec<f64> = profile[first..=last]
        .iter()
        .map(|v| f64::from(*v))
        .filter(|v| v.is_finite())
        .collect();
    let mean = finite.iter().sum::<f64>() / finite.len() as f64;
    for (i, v) in profile[first..=last].iter().enumerate() {
        let turn = std::f64::consts::TAU * (i as f64 + 0.5) / length as f64;
        if v.is_finite() {
            spectrum[i].re = ((f64::from(*v) - mean) * (0.5 - 0.5 * turn.cos())) as f32;
        }
    }
    plan.process(&mut spectrum);
    let power: Vec<f64> = spectrum[..=size / 2]
        .iter()
        .map(|value| f64::from(value.norm_sqr()))
        .collect();
    let lowest = (FEWEST_PERIODS * size as f64 / length as f64) as usize;
    let highest = ((size as f64 / SHORTEST_PX) as usize).min(power.len() - 1);
    strongest(&power, lowest.max(1), highest, size)
}

fn strongest(power: &[f64], lowest: usize, highest: usize, size: usize) -> Vec<f64> {
    if highest <= lowest + 2 {
        return Vec::new();
    }
    let median = rank::median(power[lowest..highest].iter().copied()).unwrap_or(0.0);
    let mut found: Vec<usize> = (lowest..highest)
        .filter(|i| {
            power[*i] > power[i - 1]
                && power[*i] >= power[i + 1]
                && power[*i] > OVER_MEDIAN * median
        })
        .collect();
    found.sort_by(|a, b| power[*b].total_cmp(&power[*a]));
    found.truncate(PEAKS);
    found
        .into_iter()
        .map(|i| {
            let [a, b, c] = [power[i - 1], power[i], power[i + 1]].map(|v| v.max(1e-300).ln());
            let bend = a - 2.0 * b + c;
            let shift = if bend < 0.0 {
                0.5 * (a - c) / bend
            } else {
                0.0
            };
            size as f64 / (i as f64 + shift)
        })
        .collect()
}
