//! Correlation, chords, spectrum and holes of the inked pixels in a window.

use super::spectrum::radial;
use super::windows::{SIDE_PX, Window};
use crate::measure::line_fit::line;
use crate::measure::segment::Segments;
use ndarray::Array2;

/// Farthest lag looked at, px.
const MAX_LAG_PX: usize = 40;
/// Inked share from which holes in patches say something.
const DENSE_COVER: f64 = 0.4;
/// Directions of lags: along rows, columns and both diagonals.
const DIRECTIONS: [(isize, isize); 4] = [(1, 0), (0, 1), (1, 1), (1, -1)];

/// Texture of one window.
#[derive(Clone, Debug, PartialEq)]
pub struct Texture {
    /// Lag at which correlation falls to 1/e, mean of four directions, px.
    pub correlation_px: f64,
    /// Shortest over longest of the four.
    pub isotropy: f64,
    /// How far below 0 the mean correlation falls, 0–1.
    pub negative_lobe: f64,
    /// Mean run of ink along rows and columns, px.
    pub ink_chord_px: f64,
    /// Patches less holes, per px².
    pub euler_per_px: f64,
    /// Holes per patch, in dense windows only.
    pub holes_per_patch: Option<f64>,
    /// Highest of the smoothed spectrum over its lowest frequencies.
    pub spectral_peak: Option<f64>,
    /// Slope of ln power over ln frequency above the correlation frequency.
    pub spectral_slope: Option<f64>,
}

/// Measures one window; none where correlation does not fall within the farthest lag.
#[must_use]
pub fn measure(segments: &Segments, window: &Window) -> Option<Texture> {
    let ink = Array2::from_shape_fn((SIDE_PX, SIDE_PX), |(y, x)| {
        f32::from(u8::from(
            segments.labels[[window.top + y, window.left + x]] > 0,
        ))
    });
    let curves = DIRECTIONS.map(|step| correlation(&ink, step));
    let mut lengths = [0.0; 4];
    for ((length, curve), (dx, dy)) in lengths.iter_mut().zip(&curves).zip(DIRECTIONS) {
        *length = falls_to(curve, (-1.0_f64).exp())? * ((dx * dx + dy * dy) as f64).sqrt();
    }
    let correlation_px = lengths.iter().sum::<f64>() / 4.0;
    let longest = lengths.iter().copied().fold(0.0, f64::max);
    let shortest = lengths.iter().copied().fold(f64::INFINITY, f64::min);
    let (spectral_peak, spectral_slope) = spectrum_figures(&radial(&ink), correlation_px);
    Some(Texture {
        correlation_px,
        isotropy: shortest / longest,
        negative_lobe: negative_lobe(&curves[..2]),
        ink_chord_px: ink_chord_px(&ink),
        euler_per_px: euler_number(&ink) / (SIDE_PX * SIDE_PX) as f64,
        holes_per_patch: (window.cover >= DENSE_COVER)
            .then(|| window.holes as f64 / window.marks.max(1) as f64),
        spectral_peak,
        spectral_slope,
    })
}

/// Correlation of the ink with itself moved by 0, 1, 2 … steps; 1 at 0.
fn correlation(ink: &Array2<f32>, (dx, dy): (isize, isize)) -> Vec<f64> {
    let n = SIDE_PX as isize;
    let mean = ink.mean().unwrap_or(0.0);
    let mut curve = Vec::with_capacity(MAX_LAG_PX + 1);
    for lag in 0..=MAX_LAG_PX as isize {
        let (sx, sy) = (dx * lag, dy * lag);
        let (mut sum, mut pairs) = (0.0_f64, 0_usize);
        for y in 0.max(-sy)..n.min(n - sy) {
            let here = ink.row(y as usize);
            let there = ink.row((y + sy) as usize);
            let (Some(here), Some(there)) = (here.as_slice(), there.as_slice()) else {
                continue;
            };
            let width = (n - sx) as usize;
            let row: f32 = here[..width]
                .iter()
                .zip(&there[sx as usize..])
                .map(|(a, b)| (a - mean) * (b - mean))
                .sum();
            sum += f64::from(row);
            pairs += width;
        }
        curve.push(sum / pairs.max(1) as f64);
    }
    let variance = curve[0].max(1e-9);
    curve.iter().map(|c| c / variance).collect()
}

/// Lag, in steps, at which a curve that starts at 1 first falls to `level`, by straight lines.
fn falls_to(curve: &[f64], level: f64) -> Option<f64> {
    let after = curve.iter().position(|&c| c <= level)?;
    if after == 0 {
        return None;
    }
    let (a, b) = (curve[after - 1], curve[after]);
    Some(after as f64 - 1.0 + (a - level) / (a - b))
}

fn negative_lobe(curves: &[Vec<f64>]) -> f64 {
    let lowest = (0..curves[0].len())
        .map(|lag| curves.iter().map(|c| c[lag]).sum::<f64>() / curves.len() as f64)
        .fold(0.0, f64::min);
    -lowest
}

fn ink_chord_px(ink: &Array2<f32>) -> f64 {
    let total: f32 = ink.sum();
    let starts = |rows: ndarray::ArrayView2<f32>| -> usize {
        rows.outer_iter()
            .map(|row| {
                (0..row.len())
                    .filter(|&x| row[x] > 0.5 && (x == 0 || row[x - 1] < 0.5))
                    .count()
            })
            .sum()
    };
    let runs = starts(ink.view()) + starts(ink.t());
    2.0 * f64::from(total) / runs.max(1) as f64
}

/// Euler number of the ink, 8-connected, by bit quads (Gray 1971, from memory).
fn euler_number(ink: &Array2<f32>) -> f64 {
    let mut quarters = 0_i64;
    for y in 0..SIDE_PX - 1 {
        for x in 0..SIDE_PX - 1 {
            let quad = [
                ink[[y, x]] > 0.5,
                ink[[y, x + 1]] > 0.5,
                ink[[y + 1, x + 1]] > 0.5,
                ink[[y + 1, x]] > 0.5,
            ];
            quarters += match quad.iter().filter(|&&q| q).count() {
                1 => 1,
                3 => -1,
                2 if quad[0] == quad[2] => -2,
                _ => 0,
            };
        }
    }
    quarters as f64 / 4.0
}

/// Height of the spectrum's hump over its lowest frequencies, and slope above the correlation
/// frequency 1/(2π·length).
fn spectrum_figures(power: &[f64], correlation_px: f64) -> (Option<f64>, Option<f64>) {
    /// The Hann window smears the mean into the two lowest frequencies.
    const FIRST: usize = 2;
    /// How many low frequencies stand for the flat part.
    const LOW: usize = 3;
    let corner = SIDE_PX as f64 / (std::f64::consts::TAU * correlation_px);
    let low = power.iter().skip(FIRST).take(LOW).sum::<f64>() / LOW as f64;
    let smooth = power
        .windows(3)
        .skip(FIRST)
        .map(|w| w.iter().sum::<f64>() / 3.0);
    let peak = smooth.fold(0.0, f64::max);
    let peak = (corner > (FIRST + LOW) as f64 && low > 0.0).then(|| peak / low);
    let from = (corner * 1.5).round() as usize;
    let points: Vec<(f64, f64)> = power
        .iter()
        .enumerate()
        .map(|(i, &p)| (i + 1, p))
        .filter(|&(f, p)| f >= from && f <= 4 * from && p > 0.0)
        .map(|(f, p)| ((f as f64).ln(), p.ln()))
        .collect();
    (peak, line(&points).map(|line| line.slope))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stripes_have_their_chord_and_correlation() {
        // Columns inked 4 of every 8: correlation falls along x as 1 − lag/2.
        let ink = Array2::from_shape_fn(
            (SIDE_PX, SIDE_PX),
            |(_, x)| {
                if x % 8 < 4 { 1.0 } else { 0.0 }
            },
        );
        let across = correlation(&ink, (1, 0));
        assert!((across[1] - 0.5).abs() < 0.02 && (across[4] + 1.0).abs() < 0.05);
        let length = falls_to(&across, (-1.0_f64).exp()).unwrap();
        assert!((length - 2.0 * (1.0 - (-1.0_f64).exp())).abs() < 0.05);
        assert!(falls_to(&correlation(&ink, (0, 1)), 0.5).is_none());
    }

    #[test]
    fn euler_number_counts_patches_less_holes() {
        let mut ink = Array2::zeros((SIDE_PX, SIDE_PX));
        for (x, y) in [(5, 5), (40, 60), (90, 20)] {
            ink.slice_mut(ndarray::s![y..y + 9, x..x + 7]).fill(1.0);
        }
        ink[[9, 8]] = 0.0;
        assert_eq!(euler_number(&ink), 2.0);
        assert!((ink_chord_px(&ink) - 7.7).abs() < 0.5);
    }
}
