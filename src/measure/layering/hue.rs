//! How the ink's hue varies over the field, set against the ground's.

use super::patches::Patch;
use crate::measure::film::layout::hue_part;
use crate::rank::{median, quantile};

/// Cores lighter than this share of the field's darkest ink are skirts, dirt or the rim of a wash.
const MIN_CORE: f64 = 0.4;
/// Largest scatter of the ground's hue inside a patch, in density: with more, the patch straddles
/// the edge of a wash, and the wash would be taken for ink.
const MAX_GROUND_SCATTER: f64 = 0.03;
/// Steepest part of the ink's hue that a wash or film can cause: light scattered in the lens adds
/// the ground's complement to dark ink, at most one for one.
const STEEPEST: f64 = 1.0;
/// Scatter of the ground's hue that fibre and noise leave on bare paper, in density.
const GROUND_FLOOR: f64 = 0.01;

/// The ink's hue in a patch: how far its missing light departs from equal in the three channels.
#[must_use]
pub fn of_ink(patch: &Patch) -> [f64; 2] {
    let mean = patch.contrast.iter().sum::<f64>() / 3.0;
    hue_part(patch.contrast.map(|c| c / mean.max(1e-6)))
}

/// Keeps the patches that hold dark ink on ground of one hue.
#[must_use]
pub fn fit(patches: Vec<Patch>, solid: f32) -> Vec<Patch> {
    let dark = |p: &Patch| p.core.iter().sum::<f64>() / 3.0 >= MIN_CORE * f64::from(solid);
    patches
        .into_iter()
        .filter(|p| dark(p) && p.ground_scatter <= MAX_GROUND_SCATTER)
        .collect()
}

/// Hue of ink and ground over the field.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Median hue of the ink.
    pub ink_hue: f64,
    /// 80 % width of the ink's hue along its longest axis, less what follows the ground.
    pub ink: f64,
    /// 80 % width of the ground's hue along its longest axis, in density, not below the paper's own scatter.
    pub ground: f64,
    /// Correlation of ink hue with ground hue along those axes.
    pub correlation: f64,
}

/// Measures it; all zero of nothing.
#[must_use]
pub fn spread(patches: &[Patch]) -> Spread {
    let ink: Vec<[f64; 2]> = patches.iter().map(of_ink).collect();
    let ground: Vec<[f64; 2]> = patches.iter().map(|p| hue_part(p.ground)).collect();
    let hues = ink.iter().map(|h| h[0].hypot(h[1]));
    let along_ground = project(&ground, axis(&ground));
    let freed = freed_of_ground(&ink, &ground);
    let along_ink = project(&freed, axis(&freed));
    Spread {
        ink_hue: median(hues).unwrap_or(0.0),
        ink: width(&along_ink),
        ground: width(&along_ground).max(GROUND_FLOOR),
        correlation: correlation(&project(&ink, axis(&ink)), &along_ground),
    }
}

/// The ink's hue with its slope on the ground's taken out, as far as a wash can cause that slope.
fn freed_of_ground(ink: &[[f64; 2]], ground: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let of = |points: &[[f64; 2]], k: usize| points.iter().map(|p| p[k]).collect::<Vec<f64>>();
    let along = axis(ground);
    let ground = [
        project(ground, along),
        project(ground, [-along[1], along[0]]),
    ];
    // The axes of the ground are uncorrelated, so each slope stands alone.
    let slope = |k: usize, g: usize| slope(&ground[g], &of(ink, k)).clamp(-STEEPEST, STEEPEST);
    let slopes = [0, 1].map(|k| [slope(k, 0), slope(k, 1)]);
    (0..ink.len())
        .map(|i| {
            [0, 1].map(|k| ink[i][k] - slopes[k][0] * ground[0][i] - slopes[k][1] * ground[1][i])
        })
        .collect()
}

/// Direction of greatest scatter, a unit vector.
fn axis(points: &[[f64; 2]]) -> [f64; 2] {
    let middle = [0, 1].map(|k| median(points.iter().map(|p| p[k])).unwrap_or(0.0));
    let moment = |a: usize, b: usize| -> f64 {
        points
            .iter()
            .map(|p| (p[a] - middle[a]) * (p[b] - middle[b]))
            .sum()
    };
    let angle = 0.5 * (2.0 * moment(0, 1)).atan2(moment(0, 0) - moment(1, 1));
    [angle.cos(), angle.sin()]
}

fn project(points: &[[f64; 2]], axis: [f64; 2]) -> Vec<f64> {
    points
        .iter()
        .map(|p| p[0] * axis[0] + p[1] * axis[1])
        .collect()
}

fn width(values: &[f64]) -> f64 {
    let at = |share: f64| quantile(values.iter().copied(), share);
    match (at(0.1), at(0.9)) {
        (Some(lo), Some(hi)) => hi - lo,
        _ => 0.0,
    }
}

fn covariance(x: &[f64], y: &[f64]) -> f64 {
    let n = x.len().max(1) as f64;
    let (mx, my) = (x.iter().sum::<f64>() / n, y.iter().sum::<f64>() / n);
    x.iter()
        .zip(y)
        .map(|(x, y)| (x - mx) * (y - my))
        .sum::<f64>()
        / n
}

fn slope(x: &[f64], y: &[f64]) -> f64 {
    let variance = covariance(x, x);
    if variance > 0.0 {
        covariance(x, y) / variance
    } else {
        0.0
    }
}

fn correlation(x: &[f64], y: &[f64]) -> f64 {
    let scale = (covariance(x, x) * covariance(y, y)).sqrt();
    if scale > 0.0 {
        covariance(x, y) / scale
    } else {
        0.0
    }
}
