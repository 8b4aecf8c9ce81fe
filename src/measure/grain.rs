//! Stone grain: tone made of a broken random texture, and how it differs from dots that were set.
//!
//! A grained stone takes crayon on the tops of its grain only: specks of every size, ragged, with
//! no distance kept between them, and a darker tone means that they grow together. A stippler sets
//! dots of much the same size apart from each other; a screen sets them at fixed places.

use super::segment::{Mark, Segments};
use crate::ink::Inked;
use crate::measured::{Measured, NotMeasured};
use crate::plane::Plane;
use rayon::prelude::*;
use schemars::JsonSchema;
use serde::Serialize;

/// Figures of the texture of the printed tone. Ratios need no scale; lengths in µm do.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Grain {
    /// Distance over which the print's cover stays alike (autocorrelation falls to a half), µm.
    pub correlation_length_um: Measured,
    /// The same in px.
    pub correlation_length_px: Measured,
    /// Shortest over longest correlation length among four directions, 0–1; 1 = the same every way.
    pub isotropy: Measured,
    /// First dip of the autocorrelation under its level far away, 0–1: dots kept apart or set on a
    /// lattice dip below it, random grain does not.
    pub dip: Measured,
    /// Equivalent diameter of the mark in which the middle bit of ink lies, µm.
    pub grain_size_um: Measured,
    /// Spread of mark sizes: standard deviation of ln(area), robust.
    pub size_spread: Measured,
    /// Share of marks smaller than a tenth of the area of the mark in which the middle bit of ink
    /// lies, 0–1: specks.
    pub speck_share: Measured,
    /// Raggedness of outlines: perimeter² / (4π area) of the mark in which the middle bit of ink
    /// lies; 1 = a disc.
    pub raggedness: Measured,
    /// How tone is made: change of ln(number of marks) with ln(cover) from place to place. 1 = more
    /// marks of one size; 0 = larger marks, the number held; below 0 = marks growing together.
    pub tone_by_number: Measured,
    /// Holes of bare ground inside marks, per mark.
    pub holes_per_mark: Measured,
}

/// Marks below which no distribution of sizes is given: quantiles are then good to about a fifth.
const MIN_MARKS: usize = 40;
/// Marks of fewer pixels have no shape of their own.
const MIN_SHAPE_PX: f64 = 9.0;
/// Side of the windows in which the texture is looked at, px.
const WINDOW_PX: usize = 96;
/// Longest lag, px; a third of a window, so that each lag rests on most of it.
const MAX_LAG_PX: usize = 32;
/// Windows looked at, at most; enough for 5 % in the correlation length.
const MAX_WINDOWS: usize = 48;
/// Windows without this much cover, or with more than the upper bound, hold no texture.
const TEXTURED_COVER: std::ops::RangeInclusive<f64> = 0.04..=0.85;
/// Windows needed.
const MIN_WINDOWS: usize = 4;
/// Four directions of lag, px (x, y).
const DIRECTIONS: [(isize, isize); 4] = [(1, 0), (1, 1), (0, 1), (-1, 1)];

/// Measures it.
#[must_use]
pub fn measure(inked: &Inked, segments: &Segments) -> Grain {
    let windows = windows(inked, segments);
    let px_per_um = inked.px_per_mm().map(|s| s / 1000.0);
    let (length, isotropy, dip) = texture(&segments.cover, &windows);
    let sizes = Sizes::of(&segments.marks);
    Grain {
        correlation_length_um: in_um(&length, px_per_um),
        correlation_length_px: length,
        isotropy,
        dip,
        grain_size_um: in_um(&sizes.middle_diameter_px, px_per_um),
        size_spread: sizes.spread,
        speck_share: sizes.specks,
        raggedness: sizes.raggedness,
        tone_by_number: tone_by_number(segments, &windows),
        holes_per_mark: holes_per_mark(&segments.marks),
    }
}

fn in_um(px: &Measured, px_per_um: Option<f64>) -> Measured {
    match (px, px_per_um) {
        (Measured::Missing(_), _) => px.clone(),
        (_, None) => NotMeasured::no_scale().into(),
        (Measured::Figure(f), Some(s)) => {
            Measured::with_interval(f.value / s, f.lo / s, f.hi / s, "µm", f.n)
        }
    }
}

/// One window: its corner, and the share of it under marks.
struct Window {
    x: usize,
    y: usize,
    cover: f64,
}

/// Windows that hold texture, spread over the field.
fn windows(inked: &Inked, segments: &Segments) -> Vec<Window> {
    let (height, width) = inked.usable.dim();
    let mut found = Vec::new();
    for y in (0..height.saturating_sub(WINDOW_PX - 1)).step_by(WINDOW_PX) {
        for x in (0..width.saturating_sub(WINDOW_PX - 1)).step_by(WINDOW_PX) {
            let corners = [
                (0, 0),
                (WINDOW_PX - 1, 0),
                (0, WINDOW_PX - 1),
                (WINDOW_PX - 1, WINDOW_PX - 1),
            ];
            if corners
                .iter()
                .all(|&(dx, dy)| inked.usable[[y + dy, x + dx]])
            {
                let cover = mean_cover(&segments.cover, x, y);
                if TEXTURED_COVER.contains(&cover) {
                    found.push(Window { x, y, cover });
                }
            }
        }
    }
    let step = found.len().div_ceil(MAX_WINDOWS).max(1);
    found.into_iter().step_by(step).collect()
}

fn mean_cover(cover: &Plane, x0: usize, y0: usize) -> f64 {
    let mut sum = 0.0;
    for y in y0..y0 + WINDOW_PX {
        for x in x0..x0 + WINDOW_PX {
            sum += f64::from(cover[[y, x]].clamp(0.0, 1.0));
        }
    }
    sum / (WINDOW_PX * WINDOW_PX) as f64
}

/// Correlation length, isotropy and dip over the windows.
fn texture(cover: &Plane, windows: &[Window]) -> (Measured, Measured, Measured) {
    if windows.len() < MIN_WINDOWS {
        let few = || {
            Measured::from(NotMeasured::too_few(
                "places with printed texture",
                windows.len(),
                MIN_WINDOWS,
            ))
        };
        return (few(), few(), few());
    }
    let all: Vec<[Vec<f64>; 4]> = windows
        .par_iter()
        .map(|window| DIRECTIONS.map(|d| autocorrelation(cover, window, d)))
        .collect();
    let mut lengths = Vec::new();
    let mut ratios = Vec::new();
    let mut dips = Vec::new();
    for curves in &all {
        let each: Vec<f64> = curves
            .iter()
            .zip(DIRECTIONS)
            .filter_map(|(curve, (dx, dy))| {
                Some(half_lag(curve)? * ((dx * dx + dy * dy) as f64).sqrt())
            })
            .collect();
        if each.len() == DIRECTIONS.len() {
            let (lo, hi) = each
                .iter()
                .fold((f64::INFINITY, 0.0f64), |(a, b), &l| (a.min(l), b.max(l)));
            lengths.push(each.iter().sum::<f64>() / each.len() as f64);
            ratios.push(lo / hi);
        }
        dips.push(curves.iter().map(|c| dip(c)).sum::<f64>() / curves.len() as f64);
    }
    (
        mean_of(&lengths, "px", "places whose texture has a length"),
        mean_of(&ratios, "1", "places whose texture has a length"),
        mean_of(&dips, "1", "places with printed texture"),
    )
}

/// Autocorrelation of the cover in a window along one direction, lags 0 … [`MAX_LAG_PX`].
fn autocorrelation(cover: &Plane, window: &Window, (dx, dy): (isize, isize)) -> Vec<f64> {
    let side = WINDOW_PX as isize;
    let value = |x: isize, y: isize| {
        f64::from(cover[[window.y + y as usize, window.x + x as usize]].clamp(0.0, 1.0))
            - window.cover
    };
    let product = |lag: isize| {
        let (mut sum, mut n) = (0.0, 0usize);
        for y in 0..side - lag * dy {
            for x in (lag * -dx).max(0)..side - (lag * dx).max(0) {
                sum += value(x, y) * value(x + lag * dx, y + lag * dy);
                n += 1;
            }
        }
        sum / n.max(1) as f64
    };
    let zero = product(0).max(1e-12);
    (0..=MAX_LAG_PX as isize)
        .map(|lag| product(lag) / zero)
        .collect()
}

/// Lag at which the curve first falls to a half, interpolated.
fn half_lag(curve: &[f64]) -> Option<f64> {
    let after = curve.iter().position(|&c| c < 0.5)?;
    let (a, b) = (curve[after - 1], curve[after]);
    Some((after - 1) as f64 + (a - 0.5) / (a - b))
}

/// Depth of the first minimum below the mean of the last third of the curve.
fn dip(curve: &[f64]) -> f64 {
    let far = &curve[curve.len() * 2 / 3..];
    let level = far.iter().sum::<f64>() / far.len() as f64;
    let first = curve
        .windows(2)
        .position(|w| w[1] > w[0])
        .unwrap_or(curve.len() - 1);
    (level - curve[first]).clamp(0.0, 1.0)
}

fn mean_of(values: &[f64], unit: &str, what: &str) -> Measured {
    let n = values.len();
    if n < MIN_WINDOWS {
        return NotMeasured::too_few(what, n, MIN_WINDOWS).into();
    }
    let mean = values.iter().sum::<f64>() / n as f64;
    let variance = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1) as f64;
    Measured::with_standard_error(mean, (variance / n as f64).sqrt(), unit, n)
}

/// Figures of the distribution of sizes.
struct Sizes {
    middle_diameter_px: Measured,
    spread: Measured,
    specks: Measured,
    raggedness: Measured,
}

impl Sizes {
    fn of(marks: &[Mark]) -> Self {
        let whole: Vec<&Mark> = marks.iter().filter(|m| !m.cut && m.area_px > 0.0).collect();
        let n = whole.len();
        if n < MIN_MARKS {
            let few = || Measured::from(NotMeasured::too_few("whole marks", n, MIN_MARKS));
            return Self {
                middle_diameter_px: few(),
                spread: few(),
                specks: few(),
                raggedness: few(),
            };
        }
        let mut areas: Vec<f64> = whole.iter().map(|m| m.area_px).collect();
        areas.sort_by(f64::total_cmp);
        let middle = area_of_middle_ink(&areas);
        let specks = areas.iter().filter(|&&a| a < middle / 10.0).count() as f64 / n as f64;
        let at = |q: f64| areas[((n - 1) as f64 * q) as usize].ln();
        let spread = (at(0.84) - at(0.16)) / 2.0;
        // Standard error of a robust spread of n values, near that of the standard deviation.
        let spread_se = spread / (n as f64).sqrt();
        Self {
            middle_diameter_px: with_share_se(
                (4.0 * middle / std::f64::consts::PI).sqrt(),
                "px",
                n,
            ),
            spread: Measured::with_standard_error(spread, spread_se, "1", n),
            specks: Measured::with_standard_error(
                specks,
                (specks * (1.0 - specks) / n as f64).sqrt(),
                "1",
                n,
            ),
            raggedness: ragged(&whole),
        }
    }
}

/// A length whose relative standard error is 1/√n.
fn with_share_se(value: f64, unit: &str, n: usize) -> Measured {
    Measured::with_standard_error(value, value / (n as f64).sqrt(), unit, n)
}

/// Area of the mark in which the middle bit of all ink lies; areas ascending.
fn area_of_middle_ink(areas: &[f64]) -> f64 {
    let half = areas.iter().sum::<f64>() / 2.0;
    let mut sum = 0.0;
    for &area in areas {
        sum += area;
        if sum >= half {
            return area;
        }
    }
    areas.last().copied().unwrap_or(0.0)
}

fn ragged(whole: &[&Mark]) -> Measured {
    let mut shapes: Vec<(f64, f64)> = whole
        .iter()
        .filter(|m| m.area_px >= MIN_SHAPE_PX)
        .map(|m| {
            (
                m.perimeter_px.powi(2) / (4.0 * std::f64::consts::PI * m.area_px),
                m.area_px,
            )
        })
        .collect();
    if shapes.len() < MIN_MARKS {
        return NotMeasured::too_few(
            "marks large enough to have a shape",
            shapes.len(),
            MIN_MARKS,
        )
        .into();
    }
    shapes.sort_by(|a, b| a.0.total_cmp(&b.0));
    let half = shapes.iter().map(|s| s.1).sum::<f64>() / 2.0;
    let mut sum = 0.0;
    let middle = shapes.iter().find(|s| {
        sum += s.1;
        sum >= half
    });
    with_share_se(middle.map_or(f64::NAN, |s| s.0), "1", shapes.len())
}

/// Slope of ln(marks in a window) on ln(cover), over windows.
fn tone_by_number(segments: &Segments, windows: &[Window]) -> Measured {
    let mut counts = vec![0usize; windows.len()];
    for mark in &segments.marks {
        if let Some(i) = windows.iter().position(|w| w.holds(mark.cx, mark.cy)) {
            counts[i] += 1;
        }
    }
    let points: Vec<(f64, f64)> = windows
        .iter()
        .zip(&counts)
        .filter(|&(_, &n)| n > 0)
        .map(|(w, &n)| (w.cover.ln(), (n as f64).ln()))
        .collect();
    let n = points.len();
    let mean =
        |pick: fn(&(f64, f64)) -> f64| points.iter().map(pick).sum::<f64>() / n.max(1) as f64;
    let (mx, my) = (mean(|p| p.0), mean(|p| p.1));
    let sxx: f64 = points.iter().map(|p| (p.0 - mx).powi(2)).sum();
    // A tenth in ln(cover), rms, is the least range over which a slope means anything.
    if n < 2 * MIN_WINDOWS || sxx < 0.01 * n as f64 {
        return Measured::missing(
            "the tone is too even or too little of it is in view; photograph light and dark passages together",
        );
    }
    let slope = points.iter().map(|p| (p.0 - mx) * (p.1 - my)).sum::<f64>() / sxx;
    let rest: f64 = points
        .iter()
        .map(|p| (p.1 - my - slope * (p.0 - mx)).powi(2))
        .sum();
    Measured::with_standard_error(slope, (rest / (n - 2) as f64 / sxx).sqrt(), "1", n)
}

impl Window {
    fn holds(&self, x: f64, y: f64) -> bool {
        (self.x as f64..(self.x + WINDOW_PX) as f64).contains(&x)
            && (self.y as f64..(self.y + WINDOW_PX) as f64).contains(&y)
    }
}

/// Holes of bare ground inside marks, per mark.
fn holes_per_mark(marks: &[Mark]) -> Measured {
    let n = marks.len();
    if n < MIN_MARKS {
        return NotMeasured::too_few("marks", n, MIN_MARKS).into();
    }
    let mean = marks.iter().map(|m| m.holes as f64).sum::<f64>() / n as f64;
    let variance = marks
        .iter()
        .map(|m| (m.holes as f64 - mean).powi(2))
        .sum::<f64>()
        / (n - 1) as f64;
    Measured::with_standard_error(mean, (variance / n as f64).sqrt(), "per mark", n)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::segment::Mark;
    use approx::assert_abs_diff_eq;
    use ndarray::Array2;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    /// Cover with square cells of the given size, each inked with the given chance.
    fn cells(size: [usize; 2], cell: [usize; 2], chance: f64, seed: u64) -> Plane {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let columns = size[0].div_ceil(cell[0]);
        let on: Vec<bool> = (0..columns * size[1].div_ceil(cell[1]))
            .map(|_| rng.random_bool(chance))
            .collect();
        Array2::from_shape_fn((size[1], size[0]), |(y, x)| {
            f32::from(u8::from(on[y / cell[1] * columns + x / cell[0]]))
        })
    }

    fn all_windows(cover: &Plane) -> Vec<Window> {
        let (height, width) = cover.dim();
        let mut windows = Vec::new();
        for y in (0..=height - WINDOW_PX).step_by(WINDOW_PX) {
            for x in (0..=width - WINDOW_PX).step_by(WINDOW_PX) {
                windows.push(Window {
                    x,
                    y,
                    cover: mean_cover(cover, x, y),
                });
            }
        }
        windows
    }

    #[test]
    fn correlation_length_of_random_cells_is_half_a_cell_along_its_sides() {
        // Along x the autocorrelation of random cells of side s is the triangle 1 − lag/s; along a
        // diagonal it is its square, which halves at s (1 − √½) steps of √2 px.
        for side in [6usize, 10] {
            let cover = cells([481, 293], [side, side], 0.4, 3);
            let (length, isotropy, _) = texture(&cover, &all_windows(&cover));
            let s = side as f64;
            let diagonal = s * (1.0 - 0.5f64.sqrt()) * 2f64.sqrt();
            let expected = f64::midpoint(s / 2.0, diagonal);
            let figure = length.figure().unwrap();
            assert!(
                (figure.value / expected - 1.0).abs() < 0.08,
                "{side}: {figure:?} {expected}"
            );
            assert!(isotropy.value().unwrap() > 0.7);
        }
    }

    #[test]
    fn stretched_texture_is_not_isotropic_and_random_cells_have_no_dip() {
        let cover = cells([481, 293], [16, 4], 0.4, 4);
        let (_, isotropy, dip) = texture(&cover, &all_windows(&cover));
        assert!(isotropy.value().unwrap() < 0.45, "{isotropy:?}");
        assert!(dip.value().unwrap() < 0.15, "{dip:?}");
        let lattice = Array2::from_shape_fn((293, 481), |(y, x)| {
            let d = ((x % 12) as f64 - 5.5).hypot((y % 12) as f64 - 5.5);
            f32::from(u8::from(d < 3.2))
        });
        let (_, _, dip) = texture(&lattice, &all_windows(&lattice));
        assert!(dip.value().unwrap() > 0.3, "{dip:?}");
    }

    fn disc(area: f64) -> Mark {
        let d = (4.0 * area / std::f64::consts::PI).sqrt();
        Mark {
            cx: 0.0,
            cy: 0.0,
            area_px: area,
            pixels: area as usize,
            peak_cover: 1.0,
            major_px: d,
            minor_px: d,
            orientation_deg: 0.0,
            perimeter_px: std::f64::consts::PI * d,
            edge_per_px: 1.0,
            holes: 0,
            density: [1.0; 3],
            bbox: [0; 4],
            cut: false,
        }
    }

    #[test]
    fn sizes_of_known_discs() {
        // 100 discs of 20 px², 50 of 80: ink 2000 + 4000, the middle bit lies in a large one.
        let marks: Vec<Mark> = (0..150)
            .map(|i| disc(if i < 100 { 20.0 } else { 80.0 }))
            .collect();
        let sizes = Sizes::of(&marks);
        let d = (320.0 / std::f64::consts::PI).sqrt();
        assert_abs_diff_eq!(sizes.middle_diameter_px.value().unwrap(), d, epsilon = 1e-9);
        assert_abs_diff_eq!(sizes.raggedness.value().unwrap(), 1.0, epsilon = 1e-9);
        assert_abs_diff_eq!(sizes.specks.value().unwrap(), 0.0, epsilon = 1e-12);
        assert!(Sizes::of(&marks[..10]).spread.figure().is_none());
    }
}
