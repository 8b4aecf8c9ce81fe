//! The spectrum of line frequencies over the whole field, for the report's chart.

use super::ripple::Layer;
use super::{Spectrum, SpectrumPoint};
use std::collections::BTreeMap;

/// Steps per octave of frequency.
const STEPS_PER_OCTAVE: f64 = 12.0;
/// Least share of the spectrum's power in a peak named on the chart.
const MIN_PEAK_SHARE: f64 = 0.03;

/// Power per step of log frequency, summing to 1.
pub(super) fn spectrum(layers: &[Layer], px_per_mm: Option<f64>) -> Spectrum {
    let (unit, scale) = px_per_mm.map_or(("px⁻¹", 1.0), |s| ("mm⁻¹", s));
    let points = points(layers, scale);
    Spectrum {
        unit: unit.to_owned(),
        peaks: peaks(&points),
        points,
    }
}

fn points(layers: &[Layer], scale: f64) -> Vec<SpectrumPoint> {
    let mut steps: BTreeMap<i64, f64> = BTreeMap::new();
    for layer in layers {
        // Each window stands for the area around it.
        let area = layer.stride_px * layer.stride_px;
        let half_ring = 0.5 / layer.side_px;
        for &(frequency, power) in layer.windows.iter().flat_map(|w| &w.rings) {
            spread(&mut steps, frequency, half_ring, power * area);
        }
    }
    let total: f64 = steps.values().sum::<f64>().max(f64::MIN_POSITIVE);
    let (Some((&first, _)), Some((&last, _))) = (steps.first_key_value(), steps.last_key_value())
    else {
        return Vec::new();
    };
    (first..=last)
        .map(|step| SpectrumPoint {
            frequency: scale * (step as f64 / STEPS_PER_OCTAVE).exp2(),
            power: steps.get(&step).copied().unwrap_or(0.0) / total,
        })
        .collect()
}

/// Shares a ring's power among the steps it spans in proportion to its width: rings of a window
/// are one bin wide whatever their frequency.
fn spread(steps: &mut BTreeMap<i64, f64>, frequency: f64, half: f64, power: f64) {
    let low = (frequency - half).log2() * STEPS_PER_OCTAVE;
    let high = (frequency + half).log2() * STEPS_PER_OCTAVE;
    let (from, to) = (low.round() as i64, high.round() as i64);
    let share = power / (to - from + 1) as f64;
    for step in from..=to {
        *steps.entry(step).or_default() += share;
    }
}

/// Local tops that stand out, highest first.
fn peaks(points: &[SpectrumPoint]) -> Vec<SpectrumPoint> {
    let at = |i: usize, d: i64| {
        i.checked_add_signed(d as isize)
            .and_then(|j| points.get(j))
            .map_or(0.0, |p| p.power)
    };
    let mut peaks: Vec<SpectrumPoint> = points
        .iter()
        .enumerate()
        .filter(|&(i, p)| {
            p.power >= MIN_PEAK_SHARE
                && [-3, -2, -1].iter().all(|&d| at(i, d) <= p.power)
                && [1, 2, 3].iter().all(|&d| at(i, d) < p.power)
        })
        .map(|(_, p)| *p)
        .collect();
    peaks.sort_by(|a, b| b.power.total_cmp(&a.power));
    peaks
}
