//! Raggedness and sizes of single grains.

use crate::measure::line_fit::line;
use crate::measure::marks::MIN_MARKS;
use crate::measure::segment::{Mark, Segments};
use crate::measured::{Measured, NotMeasured};
use crate::rank::median;

/// Fewest pixels of a grain whose outline is told: 36 px are a disc 7 px across.
const MIN_OUTLINE_PIXELS: usize = 36;
/// Most pixels: beyond it, grains have run together or it is an outline.
const MAX_OUTLINE_PIXELS: usize = 4000;
/// Share of the ink-weighted mean area under which a grain is a speck.
const SPECK: f64 = 0.1;

fn outlined(segments: &Segments) -> Vec<&Mark> {
    segments
        .marks
        .iter()
        .filter(|m| !m.cut && (MIN_OUTLINE_PIXELS..=MAX_OUTLINE_PIXELS).contains(&m.pixels))
        .collect()
}

/// Middle of perimeter over that of the disc of the same area.
#[must_use]
pub fn raggedness(segments: &Segments) -> Measured {
    let grains = outlined(segments);
    if grains.len() < MIN_MARKS {
        return NotMeasured::too_few(
            "grains large enough to show an outline",
            grains.len(),
            MIN_MARKS,
        )
        .into();
    }
    let mut values: Vec<f64> = grains
        .iter()
        .map(|m| 1.0 / m.circularity().sqrt())
        .collect();
    super::middle(&mut values, "1", "grains")
}

/// Twice the slope of ln perimeter over ln area.
#[must_use]
pub fn dimension(segments: &Segments) -> Measured {
    let grains = outlined(segments);
    let points: Vec<(f64, f64)> = grains
        .iter()
        .filter(|m| m.perimeter_px > 0.0)
        .map(|m| (m.area_px.ln(), m.perimeter_px.ln()))
        .collect();
    if points.len() < MIN_MARKS {
        return NotMeasured::too_few(
            "grains large enough to show an outline",
            points.len(),
            MIN_MARKS,
        )
        .into();
    }
    line(&points).map_or_else(
        || Measured::missing("all grains are of one size"),
        |line| Measured::with_standard_error(2.0 * line.slope, 2.0 * line.error, "1", points.len()),
    )
}

/// Areas of the grains that are not run together, px².
fn areas(segments: &Segments) -> Vec<f64> {
    segments
        .marks
        .iter()
        .filter(|m| !m.cut && m.pixels <= MAX_OUTLINE_PIXELS)
        .map(|m| m.area_px)
        .collect()
}

fn ink_weighted_mean(areas: &[f64]) -> f64 {
    let total: f64 = areas.iter().sum();
    areas.iter().map(|a| a * a).sum::<f64>() / total.max(1e-9)
}

/// Share of grains far smaller than those that hold the ink.
#[must_use]
pub fn speck_share(segments: &Segments) -> Measured {
    let areas = areas(segments);
    let limit = SPECK * ink_weighted_mean(&areas);
    let specks = areas.iter().filter(|&&a| a < limit).count();
    crate::measure::marks::size::share(specks, areas.len(), "grains")
}

/// Ink-weighted mean diameter over the middle diameter.
#[must_use]
pub fn size_tail(segments: &Segments) -> Measured {
    let areas = areas(segments);
    let n = areas.len();
    if n < MIN_MARKS {
        return NotMeasured::too_few("grains", n, MIN_MARKS).into();
    }
    let weighted = ink_weighted_mean(&areas);
    let usual = median(areas.iter().copied()).unwrap_or(weighted);
    let value = (weighted / usual).sqrt();
    let logs: Vec<f64> = areas.iter().map(|a| a.ln()).collect();
    let mean = logs.iter().sum::<f64>() / n as f64;
    let sd = (logs.iter().map(|l| (l - mean) * (l - mean)).sum::<f64>() / n as f64).sqrt();
    // Half of the error of ln (weighted mean / median), each known to about sd/√n.
    Measured::with_standard_error(value, value * 0.7 * sd / (n as f64).sqrt(), "1", n)
}
