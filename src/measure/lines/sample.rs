//! Figures from samples: shares, medians and means with 95 % intervals.

use crate::measure::marks::size::EDGE_PX;
use crate::measure::segment::edge::Blur;
use crate::measured::{Figure, Measured, NotMeasured};
use crate::rank::bounds;

/// Fewest samples for a median with a distribution-free interval: with 6 the extremes hold the
/// median with probability 1 − 2·0.5⁶ = 97 %.
pub(super) const MIN_SAMPLES: usize = 6;

/// Quantile of a sample, between its two nearest values.
pub(super) fn quantile(mut values: Vec<f64>, p: f64, unit: &str, what: &str) -> Measured {
    let n = values.len();
    if n < MIN_SAMPLES {
        return NotMeasured::too_few(what, n, MIN_SAMPLES).into();
    }
    values.sort_by(f64::total_cmp);
    let place = p * (n - 1) as f64;
    let (below, above) = (
        values[place.floor() as usize],
        values[place.ceil() as usize],
    );
    let value = below + place.fract() * (above - below);
    let [lo, hi] = bounds(&values, n, p);
    Measured::with_interval(value, lo.min(value), hi.max(value), unit, n)
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

/// A width with an interval that holds what blur does to it: the contours may lie off the edges, and blur that was not
/// undone broadens lines about as wide as itself, by up to its full width at half height in squares.
pub(super) fn with_blur(width_px: Measured, blur: Blur) -> Measured {
    /// Full width of a Gaussian at half its height over its standard deviation, √(8 ln 2).
    const FULL_WIDTH: f64 = 2.354_82;
    let Measured::Figure(figure) = width_px else {
        return width_px;
    };
    let edges = 2.0 * EDGE_PX;
    let narrowest = (figure.lo.powi(2) - FULL_WIDTH.powi(2) * blur.left_px2())
        .max(0.0)
        .sqrt();
    Measured::Figure(Figure {
        lo: (narrowest - edges).max(0.0),
        hi: figure.hi + edges,
        ..figure
    })
}
