//! Figures from samples: shares, medians and means with 95 % intervals.

use crate::measured::{Measured, NotMeasured, Z95};

/// Fewest samples for a median with a distribution-free interval: with 6 the extremes hold the
/// median with probability 1 − 2·0.5⁶ = 97 %.
pub(super) const MIN_SAMPLES: usize = 6;

/// Quantile of a sample, with its distribution-free interval from order statistics (binomial,
/// normal approximation).
pub(super) fn quantile(mut values: Vec<f64>, p: f64, unit: &str, what: &str) -> Measured {
    let n = values.len();
    if n < MIN_SAMPLES {
        return NotMeasured::too_few(what, n, MIN_SAMPLES).into();
    }
    values.sort_by(f64::total_cmp);
    let last = (n - 1) as f64;
    let reach = Z95 * (n as f64 * p * (1.0 - p)).sqrt();
    let at = |rank: f64| values[rank.clamp(0.0, last) as usize];
    let place = p * last;
    let low = place.floor();
    let value = at(low) + (place - low) * (at(low + 1.0) - at(low));
    Measured::with_interval(
        value,
        at((place - reach).floor()).min(value),
        at((place + reach).ceil()).max(value),
        unit,
        n,
    )
}

/// Median of a sample.
pub(super) fn median(values: Vec<f64>, unit: &str, what: &str) -> Measured {
    quantile(values, 0.5, unit, what)
}

/// A share of n.
pub(super) fn share(hits: usize, n: usize, what: &str) -> Measured {
    if n < MIN_SAMPLES {
        return NotMeasured::too_few(what, n, MIN_SAMPLES).into();
    }
    Measured::with_share(hits as f64 / n as f64, n as f64, n)
}

/// Mean and variance; zero for an empty sample.
pub(super) fn moments(values: &[f64]) -> (f64, f64) {
    let n = values.len().max(1) as f64;
    let mean = values.iter().sum::<f64>() / n;
    let square = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>();
    (mean, square / (n - 1.0).max(1.0))
}
