//! The rim at full resolution: radial profiles, a robust fit, and how soft the edge is.

use super::circle::Circle;
use super::rim::quantile;
use crate::plane::Rgb;

/// Radial profiles taken around the rim.
const RAYS: usize = 360;
/// Offsets along the rim that are averaged into one profile, px.
const ACROSS_PX: [f64; 5] = [-3.0, -1.5, 0.0, 1.5, 3.0];
/// Half-length of a profile, in blocks of the overview (its edges are good to about one) and
/// as a share of the radius (soft rims), whichever is more.
const HALF_LENGTH_BLOCKS: f64 = 4.0;
const HALF_LENGTH_SHARE: f64 = 0.03;
/// … and in widths of the rim, so that a profile reaches the full light inside and the dark outside.
const HALF_LENGTH_WIDTHS: f64 = 1.25;
/// How far to either side of the coarse circle a soft rim is looked for, as a share of the radius.
const SOFTEST_SHARE: f64 = 0.2;
/// Quantile over the rays that stands for paper: marks darken less than a third of any circle.
const PAPER_QUANTILE: f64 = 0.7;
/// Fewest rays of a circle that must lie in the frame.
const MIN_RAYS: usize = RAYS / 6;
/// A ray counts when its step is at least this share of the median step.
const LEAST_STEP_SHARE: f32 = 0.4;
/// Tukey's biweight constant for 95 % efficiency at the normal distribution.
const TUKEY: f64 = 4.685;
/// MAD to standard deviation of a normal distribution.
const MAD_TO_SD: f64 = 1.4826;
/// Neighbouring rays that see the same wobble of the rim or the same mark, so that only one
/// in so many is independent.
const RAYS_ALIKE: f64 = 8.0;

/// A rim measured at full resolution.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rim {
    pub circle: Circle,
    pub radius_se_px: f64,
    pub softness_px: f64,
}

/// Largest scatter of the rim about its circle, share of the radius: a rim seen a few degrees
/// from the side is an ellipse that departs by this much.
const LARGEST_SPREAD_SHARE: f64 = 0.004;
/// Scatter always allowed, px: what noise and marks on the rim do to single rays.
const LEAST_SPREAD_PX: f64 = 1.0;
/// Scatter allowed on a soft rim, share of its width: marks that reach into it move its half-way level
/// about by so much.
const LARGEST_SPREAD_OF_SOFTNESS: f64 = 0.5;

/// One ray's edge.
struct Edge {
    at: (f64, f64),
    width_px: f64,
    step: f32,
}

/// Refines a coarse circle; `None` where the rays do not agree on one: a round thing in the
/// print has no edge as true as a turned metal rim.
pub(super) fn refine(linear: &Rgb, coarse: Circle, block_px: f64) -> Option<Rim> {
    let (coarse, width_px) = at_half_light(linear, coarse);
    let half = (HALF_LENGTH_BLOCKS * block_px)
        .max(HALF_LENGTH_SHARE * coarse.radius)
        .max(HALF_LENGTH_WIDTHS * width_px);
    let mut edges: Vec<Edge> = (0..RAYS)
        .filter_map(|ray| {
            let angle = std::f64::consts::TAU * ray as f64 / RAYS as f64;
            edge_on_ray(linear, &coarse, angle, half)
        })
        .collect();
    let typical = quantile(edges.iter().map(|e| e.step), 0.5);
    edges.retain(|edge| edge.step >= LEAST_STEP_SHARE * typical);
    robust_fit(&edges, coarse, block_px)
}

/// The circle moved to where the light has fallen by half, and the width over which it falls from 90
/// to 10 %, px. The coarse circle lies anywhere on a soft rim.
fn at_half_light(linear: &Rgb, coarse: Circle) -> (Circle, f64) {
    let reach = (SOFTEST_SHARE * coarse.radius).ceil() as i64;
    let light_at = |radius: f64| {
        let light: Vec<f32> = (0..RAYS)
            .filter_map(|ray| {
                let (sin, cos) = (std::f64::consts::TAU * ray as f64 / RAYS as f64).sin_cos();
                sample(linear, coarse.cx + radius * cos, coarse.cy + radius * sin)
            })
            .collect();
        (light.len() >= MIN_RAYS).then(|| quantile(light, PAPER_QUANTILE))
    };
    let inner: Vec<f32> = (-reach..0)
        .map_while(|d| light_at(coarse.radius + d as f64))
        .collect();
    let outer: Vec<f32> = (0..=reach)
        .map_while(|d| light_at(coarse.radius + d as f64))
        .collect();
    let profile = [inner, outer].concat();
    if profile.len() < 3 {
        return (coarse, 0.0);
    }
    let full = quantile(profile.iter().copied(), 0.9);
    let dark = quantile(profile[profile.len() / 2..].iter().copied(), 0.1);
    let level = |share: f32| dark + share * (full - dark);
    let Some(middle) = last_crossing(&profile, level(0.5)) else {
        return (coarse, 0.0);
    };
    let width =
        crossing_near(&profile, middle, level(0.1)) - crossing_near(&profile, middle, level(0.9));
    let radius = coarse.radius - reach as f64 + middle;
    (Circle { radius, ..coarse }, width.abs())
}

fn robust_fit(edges: &[Edge], coarse: Circle, block_px: f64) -> Option<Rim> {
    let mut circle = coarse;
    let mut spread = 2.0 * block_px;
    let mut variance = f64::NAN;
    let mut kept = 0.0;
    for _ in 0..12 {
        let weighted: Vec<_> = edges
            .iter()
            .map(|edge| (edge.at, biweight(circle.distance(edge.at) / spread)))
            .filter(|(_, weight)| *weight > 0.0)
            .collect();
        if weighted.len() < RAYS / 12 {
            return None;
        }
        kept = weighted.len() as f64;
        (circle, variance) = Circle::fit_weighted(&weighted, circle)?;
        let off = weighted
            .iter()
            .map(|(p, _)| circle.distance(*p).abs() as f32);
        // A twentieth of a pixel keeps the scale above rounding for drawn, noiseless rims.
        spread = (MAD_TO_SD * f64::from(quantile(off, 0.5))).max(0.05);
    }
    let widths = edges
        .iter()
        .filter(|edge| biweight(circle.distance(edge.at) / spread) > 0.0)
        .map(|edge| edge.width_px as f32);
    let softness_px = f64::from(quantile(widths, 0.5));
    let allowed = (LARGEST_SPREAD_SHARE * circle.radius)
        .max(LEAST_SPREAD_PX)
        .max(LARGEST_SPREAD_OF_SOFTNESS * softness_px);
    if spread > allowed {
        return None;
    }
    let alike = RAYS_ALIKE.min(kept);
    Some(Rim {
        circle,
        radius_se_px: spread * (variance * alike).sqrt(),
        softness_px,
    })
}

/// Tukey's biweight of a residual in standard deviations.
fn biweight(residual: f64) -> f64 {
    let u = residual / TUKEY;
    if u.abs() < 1.0 {
        (1.0 - u * u).powi(2)
    } else {
        0.0
    }
}

/// The edge along one ray: profile from inside to outside, half-way level of its two ends.
fn edge_on_ray(linear: &Rgb, circle: &Circle, angle: f64, half: f64) -> Option<Edge> {
    let (sin, cos) = angle.sin_cos();
    let steps = (2.0 * half).ceil() as usize + 1;
    let start = circle.radius - half;
    let mut profile = Vec::with_capacity(steps);
    for i in 0..steps {
        let r = start + i as f64;
        let mut sum = 0.0;
        for across in ACROSS_PX {
            let x = circle.cx + r * cos - across * sin;
            let y = circle.cy + r * sin + across * cos;
            sum += sample(linear, x, y)?;
        }
        profile.push(sum / ACROSS_PX.len() as f32);
    }
    let inside = quantile(profile[..steps * 2 / 5].iter().copied(), 0.5);
    let outside = quantile(profile[steps * 3 / 5..].iter().copied(), 0.5);
    let step = inside - outside;
    if step <= 0.0 {
        return None;
    }
    let level = |share: f32| outside + share * step;
    let middle = last_crossing(&profile, level(0.5))?;
    let inner = crossing_near(&profile, middle, level(0.9));
    let outer = crossing_near(&profile, middle, level(0.1));
    let r = start + middle;
    Some(Edge {
        at: (circle.cx + r * cos, circle.cy + r * sin),
        width_px: (outer - inner).abs(),
        step,
    })
}

/// Bilinear mean of the three channels; `None` outside the frame.
fn sample(linear: &Rgb, x: f64, y: f64) -> Option<f32> {
    let (height, width) = linear[0].dim();
    if !(x >= 0.0 && y >= 0.0 && x < width as f64 - 1.0 && y < height as f64 - 1.0) {
        return None;
    }
    let (x0, y0) = (x as usize, y as usize);
    let (u, v) = ((x - x0 as f64) as f32, (y - y0 as f64) as f32);
    let sum: f32 = linear
        .iter()
        .map(|p| {
            (1.0 - v) * ((1.0 - u) * p[[y0, x0]] + u * p[[y0, x0 + 1]])
                + v * ((1.0 - u) * p[[y0 + 1, x0]] + u * p[[y0 + 1, x0 + 1]])
        })
        .sum();
    Some(sum / 3.0)
}

/// Outermost place where the profile falls through `level`, in steps from its start.
fn last_crossing(profile: &[f32], level: f32) -> Option<f64> {
    (0..profile.len().saturating_sub(1))
        .rev()
        .find(|i| profile[*i] >= level && profile[*i + 1] < level)
        .map(|i| place(profile, i, level))
}

/// The crossing of `level` closest to `near`, or `near` itself when there is none.
fn crossing_near(profile: &[f32], near: f64, level: f32) -> f64 {
    (0..profile.len().saturating_sub(1))
        .filter(|i| (profile[*i] >= level) != (profile[*i + 1] >= level))
        .map(|i| place(profile, i, level))
        .min_by(|a, b| (a - near).abs().total_cmp(&(b - near).abs()))
        .unwrap_or(near)
}

fn place(profile: &[f32], i: usize, level: f32) -> f64 {
    let fall = profile[i] - profile[i + 1];
    i as f64 + f64::from((profile[i] - level) / if fall == 0.0 { 1.0 } else { fall })
}
