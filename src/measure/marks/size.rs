//! Diameters, cover and counts, with intervals.

use super::{Histogram, MIN_MARKS, Quantiles};
use crate::ink::Inked;
use crate::measure::points::{Neighbours, Point};
use crate::measure::segment::{Mark, Segments, edge::Blur};
use crate::measured::{Measured, NotMeasured, Z95};
use crate::rank::bounds;

/// How far a contour may lie from the true edge of the ink, px (95 %): sharpening by the camera,
/// light spreading in the paper and compression each move half-height edges by about a tenth.
pub const EDGE_PX: f64 = 0.15;
/// Length over width from which a dot is a flick. Pixels make a disc of 5 px up to 1.2 long.
const FLICK: f64 = 1.6;
/// Fewest pixels of a dot whose shape is told.
const MIN_SHAPE_PIXELS: usize = 12;

/// Sums over all marks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Counts {
    /// Marks, cut ones by half.
    pub marks: f64,
    /// Marks that are not cut.
    pub whole: usize,
    /// Area of all marks, px².
    pub area_px: f64,
    /// Length of all contours, px.
    pub perimeter_px: f64,
    /// Usable area, px².
    pub usable_px: f64,
    /// Variance of counts over their mean between neighbouring squares of the field: 1 for random
    /// marks, less for evenly set ones, more for bunched ones.
    pub dispersion: f64,
}

impl Counts {
    /// Sums over the marks.
    #[must_use]
    pub fn of(segments: &Segments) -> Self {
        let marks = &segments.marks;
        let sum = |of: fn(&Mark) -> f64| marks.iter().map(of).sum::<f64>();
        Self {
            marks: sum(|m| if m.cut { 0.5 } else { 1.0 }),
            whole: marks.iter().filter(|m| !m.cut).count(),
            area_px: sum(|m| m.area_px),
            perimeter_px: sum(|m| m.perimeter_px),
            usable_px: segments.usable_px as f64,
            dispersion: dispersion(segments),
        }
    }
}

/// Compares each square with the next one, so that a slow change of tone does not count.
fn dispersion(segments: &Segments) -> f64 {
    /// Marks per square that are aimed at.
    const PER_SQUARE: f64 = 8.0;
    /// Least ratio that is believed: no hand sets dots that evenly.
    const LEAST: f64 = 0.2;
    let (height, width) = segments.labels.dim();
    let count = segments.marks.len();
    if count < MIN_MARKS {
        return 1.0;
    }
    let side = (PER_SQUARE * (height * width) as f64 / count as f64).sqrt();
    let columns = (width as f64 / side).ceil().max(1.0) as usize;
    let rows = (height as f64 / side).ceil().max(1.0) as usize;
    let mut squares = vec![0.0_f64; rows * columns];
    for mark in &segments.marks {
        let x = ((mark.cx / side) as usize).min(columns - 1);
        let y = ((mark.cy / side) as usize).min(rows - 1);
        squares[y * columns + x] += 1.0;
    }
    let (mut differences, mut total) = (0.0, 0.0);
    for row in squares.chunks(columns) {
        for pair in row.chunks_exact(2).filter(|p| p[0] > 0.0 && p[1] > 0.0) {
            differences += (pair[0] - pair[1]) * (pair[0] - pair[1]);
            total += pair[0] + pair[1];
        }
    }
    if total > 0.0 {
        (differences / total).max(LEAST)
    } else {
        1.0
    }
}

/// Marks per mm² of an area in px²; the interval holds the scatter of the count and the scale's own.
#[must_use]
pub fn density(counts: &Counts, marks: f64, area_px: f64, inked: &Inked) -> Measured {
    let Some(scale) = &inked.scale else {
        return NotMeasured::no_scale().into();
    };
    if area_px <= 0.0 {
        return Measured::missing("no part of the field holds marks");
    }
    let px_per_mm = scale.value;
    let value = marks / area_px * px_per_mm * px_per_mm;
    // One mark more than counted, so that an empty field still has an upper limit.
    let count_error =
        (counts.dispersion.max(1.0) * (marks + 1.0)).sqrt() / area_px * px_per_mm.powi(2);
    let scale_error = (scale.hi - scale.lo) / (2.0 * Z95) / px_per_mm;
    let half = Z95 * count_error.hypot(2.0 * scale_error * value);
    Measured::with_interval(
        value,
        (value - half).max(0.0),
        value + half,
        "mm⁻²",
        marks.round() as usize,
    )
}

/// Share of an area under ink; the interval holds the place of the edges and the scatter of marks.
#[must_use]
pub fn coverage(counts: &Counts, ink_px: f64, area_px: f64) -> Measured {
    if area_px <= 0.0 {
        return Measured::missing("no part of the field holds marks");
    }
    let value = (ink_px / area_px).clamp(0.0, 1.0);
    let share = ink_px / counts.area_px.max(1.0);
    let edges = EDGE_PX * counts.perimeter_px * share / area_px;
    let scatter = Z95 * value * (1.0 - value) * (counts.dispersion / counts.marks.max(1.0)).sqrt();
    let half = edges.hypot(scatter);
    Measured::with_interval(
        value,
        (value - half).max(0.0),
        (value + half).min(1.0),
        "1",
        counts.whole,
    )
}

/// Quantiles of a figure over marks. Intervals are order statistics of the sample, widened by
/// `error(value)`, the half-width of the figure's own 95 % interval.
#[must_use]
pub fn quantiles(
    marks: &[&Mark],
    of: impl Fn(&Mark) -> f64,
    unit: &str,
    error: impl Fn(f64) -> f64,
) -> Quantiles {
    if marks.len() < MIN_MARKS {
        return Quantiles::missing(&NotMeasured::too_few("marks", marks.len(), MIN_MARKS));
    }
    let mut values: Vec<f64> = marks.iter().map(|m| of(m)).collect();
    values.sort_by(f64::total_cmp);
    let at = |share: f64| quantile(&values, values.len(), share, unit, &error);
    Quantiles {
        p10: at(0.1),
        p50: at(0.5),
        p90: at(0.9),
    }
}

/// A quantile of sorted values of which so many are independent.
pub(super) fn quantile(
    sorted: &[f64],
    independent: usize,
    share: f64,
    unit: &str,
    error: impl Fn(f64) -> f64,
) -> Measured {
    let last = (sorted.len() - 1) as f64;
    let value = sorted[(share * last).round() as usize];
    let [low, high] = bounds(sorted, independent, share);
    let own = error(value);
    Measured::with_interval(
        value,
        value - (value - low).hypot(own),
        value + (high - value).hypot(own),
        unit,
        independent,
    )
}

/// Quantiles of the equivalent diameter, µm.
#[must_use]
pub fn diameters_um(marks: &[&Mark], inked: &Inked) -> Quantiles {
    let Some(scale) = &inked.scale else {
        return Quantiles::missing(&NotMeasured::no_scale());
    };
    let um_per_px = 1000.0 / scale.value;
    let scale_error = 0.5 * (scale.hi - scale.lo) / scale.value;
    quantiles(
        marks,
        |m| m.diameter_px() * um_per_px,
        "µm",
        |value| (2.0 * EDGE_PX * um_per_px).hypot(value * scale_error),
    )
}

/// Numbers of marks in classes of diameter, twelve to a decade; empty without a scale.
#[must_use]
pub fn histogram_um(marks: &[&Mark], px_per_mm: Option<f64>) -> Histogram {
    const PER_DECADE: f64 = 12.0;
    let Some(px_per_mm) = px_per_mm else {
        return Histogram::default();
    };
    let classes: Vec<i64> = marks
        .iter()
        .map(|m| (PER_DECADE * (m.diameter_px() * 1000.0 / px_per_mm).log10()).floor() as i64)
        .collect();
    let (Some(&low), Some(&high)) = (classes.iter().min(), classes.iter().max()) else {
        return Histogram::default();
    };
    let mut counts = vec![0; (high - low + 1) as usize];
    for class in classes {
        counts[(class - low) as usize] += 1;
    }
    Histogram {
        limits_um: (low..=high + 1)
            .map(|class| 10.0_f64.powf(class as f64 / PER_DECADE))
            .collect(),
        marks: counts,
    }
}

/// A share of n.
#[must_use]
pub fn share(hits: usize, n: usize, what: &str) -> Measured {
    if n < MIN_MARKS {
        return NotMeasured::too_few(what, n, MIN_MARKS).into();
    }
    Measured::with_share(hits as f64 / n as f64, n as f64, n)
}

/// Share of flicks among dots large enough to show a shape.
#[must_use]
pub fn flick_share(dots: &[&Mark]) -> Measured {
    let told: Vec<_> = dots
        .iter()
        .filter(|m| m.pixels >= MIN_SHAPE_PIXELS)
        .collect();
    let flicks = told.iter().filter(|m| m.elongation() >= FLICK).count();
    share(flicks, told.len(), "dots large enough to show a shape")
}

/// Standard deviation of ln diameter.
#[must_use]
pub fn size_spread(dots: &[&Mark]) -> Measured {
    let n = dots.len();
    if n < MIN_MARKS {
        return NotMeasured::too_few("dots", n, MIN_MARKS).into();
    }
    let logs: Vec<f64> = dots.iter().map(|m| m.diameter_px().ln()).collect();
    let mean = logs.iter().sum::<f64>() / n as f64;
    let variance = logs.iter().map(|l| (l - mean) * (l - mean)).sum::<f64>() / (n - 1) as f64;
    let sd = variance.sqrt();
    Measured::with_standard_error(sd, sd / (2.0 * n as f64).sqrt(), "ln", n)
}

/// The same from differences between nearest neighbours, which share their tone.
#[must_use]
pub fn neighbour_size_spread(dots: &[&Mark]) -> Measured {
    let n = dots.len();
    if n < MIN_MARKS {
        return NotMeasured::too_few("dots", n, MIN_MARKS).into();
    }
    let points: Vec<Point> = dots.iter().map(|m| [m.cx, m.cy]).collect();
    let neighbours = Neighbours::of(&points);
    let squares: f64 = (0..n)
        .filter_map(|i| neighbours.nearest(i, 1).first().map(|&(j, _)| (i, j)))
        .map(|(i, j)| {
            let difference = (dots[i].diameter_px() / dots[j].diameter_px()).ln();
            0.5 * difference * difference
        })
        .sum();
    let sd = (squares / n as f64).sqrt();
    Measured::with_standard_error(sd, sd / (n as f64).sqrt(), "ln", n)
}

/// A ratio ≥ 1 whose error is that of a count.
#[must_use]
pub fn ratio(value: f64, n: usize) -> Measured {
    if n < MIN_MARKS {
        return NotMeasured::too_few("whole marks", n, MIN_MARKS).into();
    }
    Measured::with_standard_error(value, value.sqrt() / (n as f64).sqrt(), "1", n)
}

/// Share of the ink that lies in dots.
#[must_use]
pub fn ink_in_dots(dots: &[&Mark], counts: &Counts) -> Measured {
    if counts.whole < MIN_MARKS {
        return NotMeasured::too_few("whole marks", counts.whole, MIN_MARKS).into();
    }
    let ink: f64 = dots.iter().map(|m| m.area_px).sum();
    let value = (ink / counts.area_px.max(1.0)).clamp(0.0, 1.0);
    Measured::with_share(value, counts.whole as f64, dots.len())
}

/// Middle diameter over the blur of edges.
#[must_use]
pub fn over_blur(dots: &[&Mark], blur: Blur) -> Measured {
    /// Sharpest edge that a pixel grid shows, standard deviation in px (half a pixel).
    const SHARPEST_PX: f64 = 0.5;
    let sigma = f64::from(blur.sigma_px).max(SHARPEST_PX);
    quantiles(
        dots,
        |m| m.diameter_px() / sigma,
        "1",
        |_| 2.0 * EDGE_PX / sigma,
    )
    .p50
}
