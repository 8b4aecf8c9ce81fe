//! The dark rim of a loupe's field: edge points, a robust circle, and its refinement.

use super::{Field, FoundField, Overview, circle::Circle};
use crate::plane::{Mask, Plane, Rgb};
use crate::rank;
use ndarray::Array2;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// The surround must be darker than this share of the bright parts' linear light: the inside
/// of a loupe's tube is black, while a dark print still reflects more towards its lights.
const SURROUND_SHARE: f32 = 0.25;
/// Side of the corner patches that are looked at for the surround, share of the short side.
const CORNER_SHARE: f64 = 0.04;
/// Circles tried by random choice of three edge points.
const TRIALS: usize = 600;
/// Distance within which an edge point supports a circle, overview px: the rim is blurred
/// over one or two of them.
const SUPPORT_PX: f64 = 1.5;
/// Angular bins in which support is counted, so that a dense patch of edges counts once.
const BINS: usize = 180;
/// Share of the rim inside the frame that must be seen as an edge. Dark ink may hide most of
/// it; a chance circle through print marks reaches a tenth.
const SEEN_SHARE: f64 = 0.25;
/// Levels tried for the edge, as shares of the way from surround to bright field: low ones see
/// tinted paper against the surround, high ones leave out stray light on the tube.
const THRESHOLD_SHARES: [f32; 4] = [0.1, 0.2, 0.35, 0.5];
/// Share of the outside that must belong to the dark surround.
const DARK_OUTSIDE_SHARE: f64 = 0.95;
/// Least area of the surround, share of the frame; below, nothing is lost by keeping it.
const LEAST_SURROUND_SHARE: f64 = 0.01;
/// Radius allowed, as shares of the frame's short and long side.
const LEAST_RADIUS_SHARE: f64 = 0.2;
const LARGEST_RADIUS_SHARE: f64 = 1.0;
/// Smallest overview side worth a search, px.
const LEAST_SIDE: usize = 24;

/// The rim, when the frame shows a bright disc on a dark surround.
pub(super) fn find(linear: &Rgb, overview: &Overview) -> Option<FoundField> {
    let light = &overview.light;
    let (rows, columns) = light.dim();
    if rows.min(columns) < LEAST_SIDE {
        return None;
    }
    let levels = Levels::of(light)?;
    let (circle, _) = THRESHOLD_SHARES
        .iter()
        .filter_map(|share| {
            let threshold = levels.between(*share);
            let (circle, seen) = best_circle(&edge_points(light, threshold), rows, columns)?;
            let surround = flood_from_border(light, threshold);
            is_field(&circle, &surround, light, &levels).then_some((circle, seen))
        })
        .max_by(|a, b| a.1.total_cmp(&b.1))?;
    let block = overview.block_px as f64;
    let coarse = Circle {
        cx: overview.to_photo_px(circle.cx),
        cy: overview.to_photo_px(circle.cy),
        radius: circle.radius * block,
    };
    let rim = super::rim_profile::refine(linear, coarse, block)?;
    Some(FoundField {
        field: Field::Round {
            cx: rim.circle.cx,
            cy: rim.circle.cy,
            radius: rim.circle.radius,
        },
        radius_se_px: rim.radius_se_px,
        softness_px: rim.softness_px,
    })
}

/// Dark surround and bright field, linear light.
struct Levels {
    surround: f32,
    bright: f32,
}

impl Levels {
    /// `None` when no corner is dark against the bright parts of the picture.
    fn of(light: &Plane) -> Option<Self> {
        let (rows, columns) = light.dim();
        let side = ((rows.min(columns) as f64 * CORNER_SHARE) as usize).max(2);
        let corner = |y: usize, x: usize| {
            let patch = (y..y + side).flat_map(|v| (x..x + side).map(move |u| light[[v, u]]));
            quantile(patch, 0.5)
        };
        let surround = [
            corner(0, 0),
            corner(0, columns - side),
            corner(rows - side, 0),
            corner(rows - side, columns - side),
        ]
        .into_iter()
        .fold(f32::INFINITY, f32::min);
        let bright = quantile(light.iter().copied(), 0.9);
        (surround < SURROUND_SHARE * bright).then_some(Self { surround, bright })
    }

    /// A level between surround and bright field, by shares of the way as the eye sees it (in
    /// the square root of light).
    fn between(&self, share: f32) -> f32 {
        let (low, high) = (self.surround.max(0.0).sqrt(), self.bright.max(0.0).sqrt());
        (low + share * (high - low)).powi(2)
    }
}

/// As [`rank::quantile`], 0 of nothing.
pub(in crate::photo) fn quantile(values: impl IntoIterator<Item = f32>, share: f64) -> f32 {
    rank::quantile(values, share).unwrap_or(0.0)
}

/// Dark pixels connected (4 neighbours) to the frame's border through dark pixels.
pub(super) fn flood_from_border(light: &Plane, threshold: f32) -> Mask {
    let (rows, columns) = light.dim();
    let mut reached = Array2::from_elem((rows, columns), false);
    let border = (0..columns)
        .flat_map(|x| [(0, x), (rows - 1, x)])
        .chain((0..rows).flat_map(|y| [(y, 0), (y, columns - 1)]));
    let mut open: Vec<(usize, usize)> = border.collect();
    while let Some((y, x)) = open.pop() {
        if reached[[y, x]] || light[[y, x]] >= threshold {
            continue;
        }
        reached[[y, x]] = true;
        if y > 0 {
            open.push((y - 1, x));
        }
        if x > 0 {
            open.push((y, x - 1));
        }
        if y + 1 < rows {
            open.push((y + 1, x));
        }
        if x + 1 < columns {
            open.push((y, x + 1));
        }
    }
    reached
}

/// Where light first rises through the threshold on the way in from each side of the frame,
/// along rows and columns; `(x, y)` in overview px. What lies behind, dark ink open to the
/// surround, is not looked at.
fn edge_points(light: &Plane, threshold: f32) -> Vec<(f64, f64)> {
    let (rows, columns) = light.dim();
    let mut points = Vec::new();
    for y in 0..rows {
        let line: Vec<f32> = light.row(y).to_vec();
        points.extend(both_ends(&line, threshold).map(|x| (x, y as f64)));
    }
    for x in 0..columns {
        let line: Vec<f32> = light.column(x).to_vec();
        points.extend(both_ends(&line, threshold).map(|y| (x as f64, y)));
    }
    points
}

/// First crossings of a line from its two ends; an end that is bright itself has none.
fn both_ends(line: &[f32], threshold: f32) -> impl Iterator<Item = f64> {
    let place = |dark: usize, bright: usize| {
        let part = (threshold - line[dark]) / (line[bright] - line[dark]).max(1e-6);
        dark as f64 + f64::from(part) * (bright as f64 - dark as f64)
    };
    let first = line.iter().position(|v| *v >= threshold);
    let last = line.iter().rposition(|v| *v >= threshold);
    let inwards = first.filter(|i| *i > 0).map(|i| place(i - 1, i));
    let back = last.filter(|i| i + 1 < line.len()).map(|i| place(i + 1, i));
    inwards.into_iter().chain(back)
}

/// The circle with the most rim seen, refitted to the points that support it.
fn best_circle(points: &[(f64, f64)], rows: usize, columns: usize) -> Option<(Circle, f64)> {
    if points.len() < 16 {
        return None;
    }
    let short = rows.min(columns) as f64;
    let long = rows.max(columns) as f64;
    let allowed = LEAST_RADIUS_SHARE * short..=LARGEST_RADIUS_SHARE * long;
    // Fixed seed: the same photo must give the same field.
    let mut rng = ChaCha8Rng::seed_from_u64(0x10_u64);
    let mut best: Option<(usize, Circle)> = None;
    for _ in 0..TRIALS {
        let pick = [0; 3].map(|_| points[rng.random_range(0..points.len())]);
        let Some(circle) = Circle::through(pick).filter(|c| allowed.contains(&c.radius)) else {
            continue;
        };
        let seen = supported_bins(&circle, points);
        if best.as_ref().is_none_or(|(most, _)| seen > *most) {
            best = Some((seen, circle));
        }
    }
    let (_, mut circle) = best?;
    for _ in 0..3 {
        let near: Vec<_> = points
            .iter()
            .copied()
            .filter(|p| circle.distance(*p).abs() < SUPPORT_PX)
            .collect();
        circle = Circle::fit(&near, circle)?;
    }
    let in_frame = bins_in_frame(&circle, rows, columns).max(1);
    let seen = supported_bins(&circle, points) as f64 / in_frame as f64;
    (seen >= SEEN_SHARE && allowed.contains(&circle.radius)).then_some((circle, seen))
}

fn supported_bins(circle: &Circle, points: &[(f64, f64)]) -> usize {
    let mut seen = [false; BINS];
    for p in points {
        if circle.distance(*p).abs() < SUPPORT_PX {
            let turn = (p.1 - circle.cy).atan2(p.0 - circle.cx) / std::f64::consts::TAU + 0.5;
            seen[((turn * BINS as f64) as usize).min(BINS - 1)] = true;
        }
    }
    seen.iter().filter(|v| **v).count()
}

fn bins_in_frame(circle: &Circle, rows: usize, columns: usize) -> usize {
    (0..BINS)
        .filter(|bin| {
            let angle = std::f64::consts::TAU * (*bin as f64 + 0.5) / BINS as f64;
            let (x, y) = circle.at(angle);
            x >= 1.0 && y >= 1.0 && x < columns as f64 - 1.0 && y < rows as f64 - 1.0
        })
        .count()
}

/// The outside is the dark surround nearly everywhere, and the inside is brighter.
fn is_field(circle: &Circle, surround: &Mask, light: &Plane, levels: &Levels) -> bool {
    let (mut outside, mut dark, mut inside, mut bright) = (0_usize, 0_usize, 0_usize, 0_usize);
    for ((y, x), reached) in surround.indexed_iter() {
        let off = circle.distance((x as f64, y as f64));
        if off > SUPPORT_PX {
            outside += 1;
            dark += usize::from(*reached);
        } else if off < -SUPPORT_PX {
            inside += 1;
            bright += usize::from(light[[y, x]] > 2.0 * levels.surround);
        }
    }
    outside as f64 >= LEAST_SURROUND_SHARE * surround.len() as f64
        && dark as f64 >= DARK_OUTSIDE_SHARE * outside as f64
        // A tenth of bare paper is enough to tell a field from darkness.
        && bright * 10 >= inside
}
