//! Following strokes from ink to their ends.
//!
//! Strokes are started from ink pixels drawn evenly from all ink, so that a share of strokes is
//! a share of ink.

use crate::ink::Inked;
use crate::measure::segment::Segments;
use crate::plane::{Mask, Plane};
use crate::rank::median;
use ndarray::Array2;
use rayon::prelude::*;
use std::f64::consts::PI;

/// Ink pixels from which strokes are followed.
const SEEDS: usize = 400;
/// Directions in which the ink is probed at a seed: 7.5° apart.
const DIRECTIONS: usize = 24;
/// A stroke is followed at most this many widths each way; longer is simply long.
const MAX_WIDTHS: f64 = 30.0;
/// Widest stroke followed, px; broader ink is a patch.
const MAX_WIDTH_PX: f64 = 60.0;
/// Lines closer to the optics' limit than this give no width or edge, only length.
pub(super) const MIN_WIDTH_PX: f64 = 2.5;
/// A profile wider than this many stroke widths is a crossing, which is stepped over.
const CROSSING_WIDTHS: f64 = 1.7;
/// A gap or crossing longer than this many widths ends the stroke.
const MAX_GAP_WIDTHS: f64 = 2.5;
/// Largest turn per width of advance, degrees: a stroke bends, it does not break.
const MAX_TURN_DEG: f64 = 20.0;

/// A followed stroke.
#[derive(Clone, Debug, PartialEq)]
pub struct Stroke {
    /// Points on the middle line, px, from end to end.
    pub points: Vec<[f64; 2]>,
    /// Distance from the middle line to the left and right edge at each point, px; `None` in
    /// crossings.
    pub edges: Vec<Option<[f64; 2]>>,
    /// Index of the point where it was started.
    pub seed: usize,
    /// Median width, px.
    pub width_px: f64,
    /// Length, px.
    pub length_px: f64,
    /// Whether the first and the last point are true ends (not the frame or a crossing).
    pub ends: [bool; 2],
}

impl Stroke {
    /// Direction at the start point of the stroke, y down.
    pub(super) fn direction(&self) -> [f64; 2] {
        let before = self.points[self.seed.saturating_sub(4)];
        let after = self.points[(self.seed + 4).min(self.points.len() - 1)];
        let (dx, dy) = (after[0] - before[0], after[1] - before[1]);
        let length = dx.hypot(dy).max(f64::MIN_POSITIVE);
        [dx / length, dy / length]
    }

    /// Length in widths.
    pub(super) fn length_widths(&self) -> f64 {
        self.length_px / self.width_px.max(1.0)
    }
}

/// What became of one seed.
#[derive(Clone, Debug)]
pub(super) enum Seed {
    /// It lies in a stroke.
    Stroke(Stroke),
    /// It lies in ink broader than a stroke.
    Patch,
}

impl Seed {
    /// The stroke, where it lies in one.
    pub(super) fn stroke(&self) -> Option<Stroke> {
        match self {
            Self::Stroke(stroke) => Some(stroke.clone()),
            Self::Patch => None,
        }
    }
}

/// Follows the strokes through evenly drawn ink pixels.
pub(super) fn follow(inked: &Inked, segments: &Segments) -> Vec<Seed> {
    let seeds = seeds(&segments.labels);
    if seeds.is_empty() {
        return Vec::new();
    }
    let field = Field {
        labels: &segments.labels,
        density: &inked.grey_density,
        usable: &inked.usable,
    };
    seeds
        .into_par_iter()
        .map(|(y, x)| field.stroke(x as f64, y as f64))
        .collect()
}

/// Every n-th ink pixel in reading order.
fn seeds(labels: &Array2<u32>) -> Vec<(usize, usize)> {
    let ink = labels.iter().filter(|&&label| label > 0).count();
    let count = SEEDS.min(ink);
    let mut seeds = Vec::with_capacity(count);
    let mut rank = 0;
    for ((y, x), &label) in labels.indexed_iter() {
        if label == 0 {
            continue;
        }
        if seeds.len() < count && rank == (2 * seeds.len() + 1) * ink / (2 * count) {
            seeds.push((y, x));
        }
        rank += 1;
    }
    seeds
}

struct Field<'a> {
    labels: &'a Array2<u32>,
    density: &'a Plane,
    usable: &'a Mask,
}

/// A profile across the stroke.
struct Section {
    /// Middle between the edges, along the normal (dy, −dx) from the point probed, px.
    middle: f64,
    /// Left edge, the same way.
    left: f64,
    /// Right edge, the same way.
    right: f64,
}

/// One arm of a stroke, outward from the seed.
struct Arm {
    points: Vec<[f64; 2]>,
    edges: Vec<Option<[f64; 2]>>,
    ended: bool,
}

impl Field<'_> {
    fn stroke(&self, x: f64, y: f64) -> Seed {
        let Some((direction, width)) = self.chords(x, y) else {
            return Seed::Patch;
        };
        let (sin, cos) = direction.sin_cos();
        let forward = self.arm([x, y], [cos, sin], width);
        let backward = self.arm([x, y], [-cos, -sin], width);
        joined(backward, forward, width).map_or(Seed::Patch, Seed::Stroke)
    }

    /// Direction of the longest chord through the point (radians, y down) and the width across;
    /// nothing in broad patches.
    fn chords(&self, x: f64, y: f64) -> Option<(f64, f64)> {
        let reach = 3.0 * MAX_WIDTH_PX;
        let chord = |i: usize| {
            let (sin, cos) = (PI * i as f64 / DIRECTIONS as f64).sin_cos();
            self.run(x, y, cos, sin, reach) + self.run(x, y, -cos, -sin, reach)
        };
        let chords: Vec<f64> = (0..DIRECTIONS).map(chord).collect();
        let shortest = chords.iter().copied().fold(f64::MAX, f64::min);
        let longest =
            (0..DIRECTIONS).max_by(|&a, &b| chords[a].total_cmp(&chords[b]).then(b.cmp(&a)))?;
        (shortest <= MAX_WIDTH_PX)
            .then(|| (PI * longest as f64 / DIRECTIONS as f64, shortest.max(1.0)))
    }

    /// How far ink runs on from a point, px.
    fn run(&self, x: f64, y: f64, dx: f64, dy: f64, reach: f64) -> f64 {
        let mut distance = 0.5;
        while distance < reach && self.is_ink(x + dx * distance, y + dy * distance) {
            // Fine steps near the seed, where widths are told; coarse ones farther out.
            distance += if distance < 8.0 { 0.5 } else { 1.0 };
        }
        distance
    }

    fn inside(&self, x: f64, y: f64) -> Option<(usize, usize)> {
        let (row, column) = (y.round(), x.round());
        let fits = row >= 0.0
            && column >= 0.0
            && (row as usize) < self.labels.nrows()
            && (column as usize) < self.labels.ncols();
        fits.then_some((row as usize, column as usize))
    }

    fn is_ink(&self, x: f64, y: f64) -> bool {
        self.inside(x, y).is_some_and(|at| self.labels[at] > 0)
    }

    fn is_usable(&self, x: f64, y: f64) -> bool {
        self.inside(x, y).is_some_and(|at| self.usable[at])
    }

    /// Light lost, 0–1, in which blur adds up evenly, from the density between grid points.
    fn darkness(&self, x: f64, y: f64) -> f64 {
        let (rows, columns) = self.density.dim();
        let x = x.clamp(0.0, (columns - 1) as f64) as f32;
        let y = y.clamp(0.0, (rows - 1) as f64) as f32;
        let (x0, y0) = (x as usize, y as usize);
        let (x1, y1) = ((x0 + 1).min(columns - 1), (y0 + 1).min(rows - 1));
        let (tx, ty) = (x - x0 as f32, y - y0 as f32);
        let at = |y: usize, x: usize| self.density[[y, x]];
        let density = (at(y0, x0) * (1.0 - tx) + at(y0, x1) * tx) * (1.0 - ty)
            + (at(y1, x0) * (1.0 - tx) + at(y1, x1) * tx) * ty;
        f64::from(1.0 - (-density * std::f32::consts::LN_10).exp())
    }

    /// The edges at half height across the stroke; nothing where it is no ridge.
    fn section(&self, [x, y]: [f64; 2], [dx, dy]: [f64; 2], width: f64) -> Option<Section> {
        // Far enough to see both edges and the ground of a stroke that swells.
        let reach = (1.2 * width).max(2.5);
        let steps = (2.0 * reach).ceil() as i32;
        let at = |i: i32| {
            let t = f64::from(i) * 0.5;
            self.darkness(x + dy * t, y - dx * t)
        };
        let values: Vec<f64> = (-steps..=steps).map(at).collect();
        let zero = steps as usize;
        let core = (width / 2.0).ceil() as usize;
        let (from, to) = (
            zero.saturating_sub(core),
            (zero + core).min(values.len() - 1),
        );
        let top = (from..=to).max_by(|&a, &b| values[a].total_cmp(&values[b]))?;
        let ground = |side: &[f64]| side.iter().copied().fold(f64::MAX, f64::min);
        let base = ground(&values[..=top]).max(ground(&values[top..]));
        let half = 0.5 * (values[top] + base);
        if values[top] - base < 0.05 {
            return None;
        }
        let left = crossing(values[..=top].iter().rev(), half)?;
        let right = crossing(values[top..].iter(), half)?;
        let centre = (top as f64 - zero as f64) * 0.5;
        let (left, right) = (centre - 0.5 * left, centre + 0.5 * right);
        Some(Section {
            middle: 0.5 * (left + right),
            left,
            right,
        })
    }

    /// Follows the stroke one way.
    fn arm(&self, start: [f64; 2], direction: [f64; 2], width: f64) -> Arm {
        let step = (width / 4.0).max(1.0);
        let (mut at, mut heading) = (start, direction);
        let mut arm = Arm {
            points: Vec::new(),
            edges: Vec::new(),
            ended: false,
        };
        let (mut travelled, mut gap) = (0.0, 0.0);
        while travelled < MAX_WIDTHS * width {
            if !self.is_usable(at[0], at[1]) {
                break;
            }
            let section = self
                .section(at, heading, width)
                .filter(|s| s.right - s.left < CROSSING_WIDTHS * width && s.middle.abs() < width);
            match section {
                Some(s) => {
                    gap = 0.0;
                    let shift = s.middle.clamp(-0.5 * step, 0.5 * step);
                    let moved = [at[0] + heading[1] * shift, at[1] - heading[0] * shift];
                    heading = steered(heading, shift, step, width);
                    at = moved;
                    arm.points.push(at);
                    arm.edges
                        .push(Some([s.middle - s.left, s.right - s.middle]));
                }
                None => {
                    gap += step;
                    arm.points.push(at);
                    arm.edges.push(None);
                }
            }
            let dark = self.is_ink(at[0], at[1]);
            if gap > MAX_GAP_WIDTHS * width || (!dark && section_missing(&arm)) {
                arm.ended = !dark;
                break;
            }
            at = [at[0] + heading[0] * step, at[1] + heading[1] * step];
            travelled += step;
            if !self.is_ink(at[0], at[1]) && !self.ink_near(at, heading, width) {
                arm.ended = self.is_usable(at[0], at[1]);
                break;
            }
        }
        while arm.edges.last().is_some_and(Option::is_none) {
            arm.edges.pop();
            arm.points.pop();
        }
        arm
    }

    /// Whether the stroke lies within half a width to either side.
    fn ink_near(&self, [x, y]: [f64; 2], [dx, dy]: [f64; 2], width: f64) -> bool {
        [-0.5, 0.5]
            .into_iter()
            .any(|t| self.is_ink(x + dy * t * width, y - dx * t * width))
    }
}

fn section_missing(arm: &Arm) -> bool {
    arm.edges.last().is_none_or(Option::is_none)
}

/// Steps (with fraction) from the first value down to `level`.
fn crossing<'a>(values: impl Iterator<Item = &'a f64>, level: f64) -> Option<f64> {
    let mut last = f64::NAN;
    for (i, &value) in values.enumerate() {
        if value < level {
            return Some(i as f64 - (level - value) / (last - value).max(f64::MIN_POSITIVE));
        }
        last = value;
    }
    None
}

/// Turns the heading toward the middle line, at most as sharply as a stroke bends.
fn steered([dx, dy]: [f64; 2], shift: f64, step: f64, width: f64) -> [f64; 2] {
    // Half of the correction: the rest is taken as raggedness of the edge.
    let most = MAX_TURN_DEG.to_radians() * step / width;
    let turn = (0.5 * shift / width.max(step)).clamp(-most, most);
    let (sin, cos) = turn.sin_cos();
    // The normal is (dy, −dx); a positive shift turns towards it.
    let (x, y) = (dx * cos + dy * sin, dy * cos - dx * sin);
    let length = x.hypot(y);
    [x / length, y / length]
}

/// Both arms as one stroke; nothing where the start lies on no ridge.
fn joined(mut backward: Arm, forward: Arm, probe_width: f64) -> Option<Stroke> {
    backward.points.reverse();
    backward.edges.reverse();
    let seed = backward.points.len();
    // Seen from the other direction left and right change places.
    let mut edges: Vec<Option<[f64; 2]>> = backward
        .edges
        .into_iter()
        .map(|e| e.map(|[left, right]| [right, left]))
        .collect();
    let mut points = backward.points;
    points.extend(forward.points);
    edges.extend(forward.edges);
    let length = points
        .windows(2)
        .map(|p| (p[1][0] - p[0][0]).hypot(p[1][1] - p[0][1]))
        .sum::<f64>();
    let width = median(edges.iter().flatten().map(|[l, r]| l + r)).unwrap_or(probe_width);
    (!points.is_empty()).then(|| Stroke {
        seed: seed.min(points.len().saturating_sub(1)),
        width_px: width,
        length_px: length.max(width),
        ends: [backward.ended, forward.ended],
        points,
        edges,
    })
}
