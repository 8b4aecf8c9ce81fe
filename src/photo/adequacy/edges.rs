//! Blur from the picture's own edges: how wide the steepest of them are.
//!
//! An edge is followed along its row or column as a monotone run; the distance between its
//! 25 % and 75 % levels, times the cosine of its slant, is 1.349 standard deviations of the
//! Gaussian that would have blurred a sharp step so far.

use super::windows::{Window, Windows};
use crate::measured::{Measured, Z95};
use crate::photo::field::quantile;
use rayon::prelude::*;

/// Distance between the quartiles of a normal distribution, in standard deviations.
const QUARTILE_WIDTH: f64 = 1.349;
/// Variance, px², that reading a sampled edge adds to its blur: the pixel's own square (1/12)
/// and linear interpolation between samples (1/6).
const READING_VARIANCE: f64 = 1.0 / 12.0 + 1.0 / 6.0;
/// Least height of an edge, share of the bright level: ink on paper, not texture.
const LEAST_HEIGHT_SHARE: f32 = 0.2;
/// Least slope of an edge in noise standard deviations: a chance run does not reach it.
const LEAST_SLOPE_NOISES: f32 = 6.0;
/// A run ends where the slope falls under this share of its steepest step.
const RUN_END_SHARE: f32 = 0.06;
/// Longest half of a run, px; wider edges count as shading.
const LONGEST_RUN_PX: usize = 24;
/// Least cosine of slant: rows and columns share all directions at 45°.
const LEAST_COSINE: f32 = 0.7;
/// Edges looked at are the steepest tenth.
const STEEPEST: f64 = 0.1;
/// Fewest edges for a figure.
const FEWEST: usize = 40;
/// Uncertainty of the method itself, share: thin marks and sharpening move it by about that.
const METHOD_SHARE: f64 = 0.1;
/// Directions in which blur is compared for motion.
const SECTORS: usize = 12;
/// Fewest edges in a sector.
const FEWEST_IN_SECTOR: usize = 30;
/// Fewest sectors that determine an ellipse of blur with some redundancy.
const FEWEST_SECTORS: usize = 5;

/// One edge.
#[derive(Clone, Copy, Debug)]
struct Edge {
    /// Blur, px.
    sigma: f32,
    /// Light per px across the edge.
    slope: f32,
    /// Direction of its normal, radians in [0, π), y down.
    normal: f32,
    /// Which window it is in.
    window: usize,
}

/// Blur and its dependence on direction.
pub(super) struct Blur {
    /// Equivalent Gaussian blur, px.
    pub sigma_px: Measured,
    /// Blur in the worst direction over that in the best.
    pub motion_ratio: Measured,
}

/// Measures both on the busy windows. `bright` is the paper's light, `noise` its deviation.
pub(super) fn measure(windows: &Windows, bright: f32, noise: f32) -> Blur {
    let edges: Vec<Edge> = windows
        .busy
        .par_iter()
        .enumerate()
        .flat_map_iter(|(number, window)| {
            let mut edges = edges_in_rows(window, bright, noise, number, false);
            edges.extend(edges_in_rows(
                &window.transposed(),
                bright,
                noise,
                number,
                true,
            ));
            edges
        })
        .collect();
    let (sigma_px, motion_ratio) =
        rayon::join(|| sigma(&edges, windows.busy.len()), || motion(&edges));
    Blur {
        sigma_px,
        motion_ratio,
    }
}

fn edges_in_rows(
    window: &Window,
    bright: f32,
    noise: f32,
    number: usize,
    transposed: bool,
) -> Vec<Edge> {
    let (rows, columns) = window.light.dim();
    let least_slope =
        (LEAST_SLOPE_NOISES * noise).max(bright * LEAST_HEIGHT_SHARE / LONGEST_RUN_PX as f32);
    let mut edges = Vec::new();
    for y in 1..rows.saturating_sub(1) {
        let (Some(above), Some(line), Some(below)) = (
            window.light.row(y - 1).to_slice(),
            window.light.row(y).to_slice(),
            window.light.row(y + 1).to_slice(),
        ) else {
            continue;
        };
        for x in 1..columns.saturating_sub(2) {
            let step = line[x + 1] - line[x];
            if step.abs() < least_slope
                || step.abs() < (line[x] - line[x - 1]).abs()
                || step.abs() <= (line[x + 2] - line[x + 1]).abs()
            {
                continue;
            }
            let across = 0.25 * (below[x] + below[x + 1] - above[x] - above[x + 1]);
            // Squares neither overflow nor vanish here, and a root is much quicker than `hypot`.
            let slope = (step * step + across * across).sqrt();
            let cosine = step.abs() / slope;
            if cosine < LEAST_COSINE {
                continue;
            }
            let Some((first, last)) = run(line, x, step) else {
                continue;
            };
            if (line[last] - line[first]).abs() < LEAST_HEIGHT_SHARE * bright
                || !(window.usable[[y, first]] && window.usable[[y, last]])
            {
                continue;
            }
            let width = f64::from(quartile_width(line, first, last) * cosine);
            let variance = (width / QUARTILE_WIDTH).powi(2) - READING_VARIANCE;
            let (nx, ny) = if transposed {
                (across, step)
            } else {
                (step, across)
            };
            edges.push(Edge {
                sigma: variance.max(0.0).sqrt() as f32,
                slope,
                normal: ny.atan2(nx).rem_euclid(std::f32::consts::PI),
                window: number,
            });
        }
    }
    edges
}

/// First and last sample of the monotone run around the step from `x` to `x + 1`; `None` when
/// it reaches the line's end or is too long to be an edge.
fn run(line: &[f32], x: usize, step: f32) -> Option<(usize, usize)> {
    let goes_on = |from: usize| {
        let next = line[from + 1] - line[from];
        next * step.signum() > RUN_END_SHARE * step.abs()
    };
    let mut first = x;
    while goes_on(first.checked_sub(1)?) {
        first -= 1;
        if x - first > LONGEST_RUN_PX {
            return None;
        }
    }
    let mut last = x + 1;
    while last + 1 < line.len() && goes_on(last) {
        last += 1;
        if last - x > LONGEST_RUN_PX {
            return None;
        }
    }
    (last + 1 < line.len()).then_some((first, last))
}

/// Distance between the quarter and three-quarter levels of a monotone run, px.
fn quartile_width(line: &[f32], first: usize, last: usize) -> f32 {
    let (low, high) = (line[first], line[last]);
    let place = |share: f32| {
        let level = low + share * (high - low);
        let i = (first..last)
            .find(|i| (line[i + 1] - level) * (high - low) >= 0.0)
            .unwrap_or(last - 1);
        i as f32 + (level - line[i]) / (line[i + 1] - line[i])
    };
    place(0.75) - place(0.25)
}

/// The steepest tenth of the edges, but never fewer than the fewest.
fn steepest(mut kept: Vec<Edge>, share: f64) -> Vec<Edge> {
    let count = ((kept.len() as f64 * share) as usize).max(FEWEST.min(kept.len()));
    if count < kept.len() {
        kept.select_nth_unstable_by(count, |a, b| {
            b.slope
                .total_cmp(&a.slope)
                .then(a.sigma.total_cmp(&b.sigma))
        });
        kept.truncate(count);
    }
    kept
}

fn sigma(edges: &[Edge], windows: usize) -> Measured {
    if edges.len() < FEWEST {
        return Measured::missing(format!(
            "only {} edges of ink in the windows looked at, {FEWEST} needed",
            edges.len()
        ));
    }
    let steep = steepest(edges.to_vec(), STEEPEST);
    let value = f64::from(quantile(steep.iter().map(|e| e.sigma), 0.5));
    // Edges of one window share its focus: the windows' own medians tell the spread.
    let medians: Vec<f32> = (0..windows)
        .filter_map(|number| {
            let own: Vec<f32> = steep
                .iter()
                .filter(|e| e.window == number)
                .map(|e| e.sigma)
                .collect();
            (own.len() >= 5).then(|| quantile(own, 0.5))
        })
        .collect();
    let spread = if medians.len() >= 3 {
        let centre = quantile(medians.iter().copied(), 0.5);
        let off = medians.iter().map(|m| (m - centre).abs());
        1.4826 * f64::from(quantile(off, 0.5)) / (medians.len() as f64).sqrt()
    } else {
        0.0
    };
    let half = Z95 * spread.hypot(0.5 * METHOD_SHARE * value);
    Measured::with_interval(
        value,
        (value - half).max(0.0),
        value + half,
        "px",
        steep.len(),
    )
}

/// Fits variance = a + b cos 2φ + c sin 2φ to the sectors' blur.
fn motion(edges: &[Edge]) -> Measured {
    let mut by_sector: [Vec<Edge>; SECTORS] = Default::default();
    for edge in edges {
        by_sector[sector_of(edge.normal)].push(*edge);
    }
    let sectors: Vec<(f64, f64)> = by_sector
        .into_par_iter()
        .enumerate()
        .filter(|(_, own)| own.len() >= FEWEST_IN_SECTOR)
        .map(|(sector, own)| {
            let steep = steepest(own, 2.0 * STEEPEST);
            let sigma = quantile(steep.iter().map(|e| e.sigma), 0.5);
            let angle = std::f64::consts::PI * sector as f64 / SECTORS as f64;
            (angle, f64::from(sigma).powi(2))
        })
        .collect();
    if sectors.len() < FEWEST_SECTORS {
        return Measured::missing(
            "the edges run in too few directions to tell motion from the drawing",
        );
    }
    ellipse(&sectors).map_or_else(
        || Measured::missing("the edges do not determine how blur depends on direction"),
        |(ratio, se)| {
            Measured::with_interval(
                ratio,
                (ratio - Z95 * se).max(1.0),
                ratio + Z95 * se,
                "1",
                sectors.len(),
            )
        },
    )
}

/// Sector of a normal's direction, sector 0 centred on the x axis.
fn sector_of(normal: f32) -> usize {
    let turn = f64::from(normal) / std::f64::consts::PI * SECTORS as f64;
    (turn.round() as usize) % SECTORS
}

/// Ratio of the largest to the smallest blur of the fitted ellipse, and its standard error.
fn ellipse(sectors: &[(f64, f64)]) -> Option<(f64, f64)> {
    // Smallest variance taken seriously, px²: a fifth of a pixel.
    const FLOOR: f64 = 0.04;
    let n = sectors.len() as f64;
    let basis = |angle: f64| [1.0, (2.0 * angle).cos(), (2.0 * angle).sin()];
    let mut normal = ndarray::Array2::<f64>::zeros((3, 3));
    let mut right = [0.0; 3];
    for (angle, variance) in sectors {
        let row = basis(*angle);
        for i in 0..3 {
            right[i] += row[i] * variance;
            for j in 0..3 {
                normal[[i, j]] += row[i] * row[j];
            }
        }
    }
    let fit = solve3(&normal, right)?;
    let rest: f64 = sectors
        .iter()
        .map(|(angle, variance)| {
            let row = basis(*angle);
            (variance - (0..3).map(|i| row[i] * fit[i]).sum::<f64>()).powi(2)
        })
        .sum();
    let amplitude = fit[1].hypot(fit[2]);
    let (most, least) = (fit[0] + amplitude, (fit[0] - amplitude).max(FLOOR));
    let ratio = (most.max(FLOOR) / least).sqrt();
    // Error of the amplitude from the residuals, carried to the ratio.
    let se_amplitude = (rest / (n - 3.0).max(1.0) * 2.0 / n).sqrt();
    let se = ratio * 0.5 * se_amplitude * (1.0 / most.max(FLOOR) + 1.0 / least);
    (ratio.is_finite() && se.is_finite()).then_some((ratio, se))
}

/// Solves a symmetric 3 × 3 system by Cramer's rule; `None` when nearly singular.
fn solve3(m: &ndarray::Array2<f64>, right: [f64; 3]) -> Option<[f64; 3]> {
    let det = |c: [[f64; 3]; 3]| {
        c[0][0] * (c[1][1] * c[2][2] - c[1][2] * c[2][1])
            - c[0][1] * (c[1][0] * c[2][2] - c[1][2] * c[2][0])
            + c[0][2] * (c[1][0] * c[2][1] - c[1][1] * c[2][0])
    };
    let rows: [[f64; 3]; 3] = std::array::from_fn(|i| std::array::from_fn(|j| m[[i, j]]));
    let whole = det(rows);
    // Relative to the diagonal: below, the sectors lie too close together.
    if whole.abs() < 1e-3 * rows[0][0] * rows[1][1] * rows[2][2] {
        return None;
    }
    Some(std::array::from_fn(|k| {
        let mut with = rows;
        for i in 0..3 {
            with[i][k] = right[i];
        }
        det(with) / whole
    }))
}
