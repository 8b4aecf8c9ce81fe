//! The straight border of a colour: a tint stone is often ended along a rule, and its film then keeps one
//! colour along the whole line, across paper, drawing and washes alike. A brush follows the drawing.
//!
//! Black marks darken a cell but hardly move its hue, so the border is looked for in the hue of whole
//! cells and not in the ground between marks, which dense crayon hides.

use super::ground::GroundMap;
use super::layout::{gap, hue_part, median};
use crate::measure::line_fit;
use ndarray::Array2;
use std::f64::consts::PI;

/// A straight border between two colours.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Border {
    /// Its ends, px (x, y).
    pub ends_px: [[f64; 2]; 2],
    /// Length as a share of the frame's longer side.
    pub length: f64,
    /// Step of hue across it, optical density.
    pub step: f64,
    /// Scatter of that step along it, as a share of it: 0 = one step throughout.
    pub unevenness: f64,
    /// Rms distance from the straight line, cells of the ground.
    pub waver_cells: f64,
    /// Cells along it.
    pub cells: usize,
}

/// Least step of hue, optical density: three times the scatter of a cell's hue over clean paper.
const LEAST_STEP: f64 = 0.015;
/// Smallest standard deviation of smoothing that leaves a cell's own noise out, cells.
const SMOOTHING: f64 = 1.0;
/// Distance of the two sides that a step is taken between, cells: beyond the blur of the smoothing.
const REACH: usize = 2;
/// Directions that lines are looked for in: every two degrees, less than a line of 40 cells strays by.
const DIRECTIONS: usize = 90;
/// Fewest steps on one line for it to be followed.
const FEWEST_VOTES: u32 = 15;
/// Lines that are followed; the border stood among the first few on all sheets looked at.
const FOLLOWED: usize = 24;
/// Shortest border, cells: shorter ones are the edges of leaves.
const SHORTEST: usize = 25;
/// A border runs on over more than this share of the chord on which the field shows it: one that ends inside
/// the field is the outline of something drawn.
const RUNS_ON: f64 = 0.5;
/// Cells of a border that marks or stains may hide at a stretch.
const HIDDEN: usize = 4;

/// Hue of each cell: what its light lacks per channel, as two coordinates.
type Hues = Array2<Option<[f64; 2]>>;

/// A straight line, `x cos + y sin = offset` in cells.
#[derive(Clone, Copy, Debug)]
struct Line {
    angle: f64,
    offset: f64,
}

/// The longest straight border in view.
#[must_use]
pub fn straight(map: &GroundMap) -> Option<Border> {
    let hues = smoothed(&hues(map));
    candidates(&hues)
        .into_iter()
        .flat_map(about)
        .filter_map(|line| {
            let (border, fitted) = follow(&hues, line)?;
            Some(follow(&hues, fitted).map_or(border, |(border, _)| border))
        })
        .max_by(|a, b| a.length.total_cmp(&b.length))
        .map(|found| Border {
            ends_px: found
                .ends_px
                .map(|end| end.map(|cell| (cell + 0.5) * map.cell_px as f64 - 0.5)),
            ..found
        })
}

/// Hue of the mean light of each cell, marks and all.
fn hues(map: &GroundMap) -> Hues {
    let density = |light: [f32; 3]| light.map(|l| -f64::from(l).max(1e-4).log10());
    map.light.mapv(|light| light.map(|l| hue_part(density(l))))
}

/// The same smoothed over neighbours that are seen; a cell that is not seen stays so.
fn smoothed(hues: &Hues) -> Hues {
    let along = |hues: &Hues, way: [isize; 2]| {
        Hues::from_shape_fn(hues.dim(), |(y, x)| {
            hues[[y, x]]?;
            let (mut sum, mut weight) = ([0.0; 2], 0.0);
            for k in -3isize..=3 {
                let at = [y as isize + k * way[0], x as isize + k * way[1]];
                if let Some(hue) = seen_at(hues, at) {
                    let w = (-0.5 * (k as f64 / SMOOTHING).powi(2)).exp();
                    sum = [0, 1].map(|c| sum[c] + w * hue[c]);
                    weight += w;
                }
            }
            Some(sum.map(|s| s / weight))
        })
    };
    along(&along(hues, [0, 1]), [1, 0])
}

fn seen_at(hues: &Hues, [y, x]: [isize; 2]) -> Option<[f64; 2]> {
    let at = [usize::try_from(y).ok()?, usize::try_from(x).ok()?];
    hues.get(at).copied().flatten()
}

/// Lines that most steps lie on, the fullest first; of lines side by side the fullest only.
fn candidates(hues: &Hues) -> Vec<Line> {
    let (rows, columns) = hues.dim();
    let reach = rows + columns;
    let mut votes = vec![0u32; DIRECTIONS * 2 * reach];
    for [y, x, direction] in steps(hues) {
        for turn in [DIRECTIONS - 1, 0, 1] {
            let direction = (direction + turn) % DIRECTIONS;
            let (sin, cos) = (PI * direction as f64 / DIRECTIONS as f64).sin_cos();
            let offset = (x as f64 * cos + y as f64 * sin).round() + reach as f64;
            votes[direction * 2 * reach + offset as usize] += 1;
        }
    }
    let mut order: Vec<usize> = (0..votes.len())
        .filter(|&i| votes[i] >= FEWEST_VOTES)
        .collect();
    order.sort_by_key(|&i| (std::cmp::Reverse(votes[i]), i));
    let mut kept: Vec<[usize; 2]> = Vec::new();
    for i in order {
        let [direction, offset] = [i / (2 * reach), i % (2 * reach)];
        let beside = |k: &[usize; 2]| k[0].abs_diff(direction) <= 1 && k[1].abs_diff(offset) <= 1;
        if !kept.iter().any(beside) {
            kept.push([direction, offset]);
        }
        if kept.len() == FOLLOWED {
            break;
        }
    }
    kept.into_iter()
        .map(|[direction, offset]| Line {
            angle: PI * direction as f64 / DIRECTIONS as f64,
            offset: offset as f64 - reach as f64,
        })
        .collect()
}

/// Cells at which the hue steps most, with the direction of the step: `[row, column, direction]`.
fn steps(hues: &Hues) -> Vec<[usize; 3]> {
    let strength = Array2::from_shape_fn(hues.dim(), |(y, x)| step_at(hues, [y, x]));
    strength
        .indexed_iter()
        .filter_map(|((y, x), step)| {
            let (size, angle) = (*step)?;
            let (sin, cos) = angle.sin_cos();
            let beside = |way: f64| {
                let at = [y as f64 + way * sin, x as f64 + way * cos].map(|v| v.round() as usize);
                strength.get(at).copied().flatten().map_or(0.0, |s| s.0)
            };
            let crest = size >= LEAST_STEP && size >= beside(1.0) && size >= beside(-1.0);
            let direction = (angle / PI * DIRECTIONS as f64).round() as usize % DIRECTIONS;
            crest.then_some([y, x, direction])
        })
        .collect()
}

/// Size of the step of hue across a cell and its direction, 0 to π.
fn step_at(hues: &Hues, [y, x]: [usize; 2]) -> Option<(f64, f64)> {
    let (y, x, r) = (y as isize, x as isize, REACH as isize);
    let change = |from: [isize; 2], to: [isize; 2]| {
        let (from, to) = (seen_at(hues, from)?, seen_at(hues, to)?);
        Some([0, 1].map(|c: usize| to[c] - from[c]))
    };
    let across = change([y, x - r], [y, x + r])?;
    let down = change([y - r, x], [y + r, x])?;
    let dot = |a: [f64; 2], b: [f64; 2]| a[0] * b[0] + a[1] * b[1];
    let (xx, yy, xy) = (dot(across, across), dot(down, down), dot(across, down));
    let greater = f64::midpoint(xx, yy) + (0.25 * (xx - yy).powi(2) + xy * xy).sqrt();
    Some((
        greater.sqrt(),
        (0.5 * (2.0 * xy).atan2(xx - yy)).rem_euclid(PI),
    ))
}

/// A line, and those a third of a direction and half a cell beside it.
fn about(line: Line) -> Vec<Line> {
    let turn = PI / DIRECTIONS as f64 / 3.0;
    (-1..=1)
        .flat_map(|t| (-1..=1).map(move |o| (f64::from(t), f64::from(o))))
        .map(|(t, o)| Line {
            angle: line.angle + t * turn,
            offset: line.offset + 0.5 * o,
        })
        .collect()
}

/// What lies across a line at one place: hues at 3 and 1½ cells before and behind it.
struct Across {
    at: [f64; 2],
    hues: [[f64; 2]; 4],
}

impl Across {
    fn new(hues: &Hues, line: Line, along: f64) -> Option<Self> {
        let (sin, cos) = line.angle.sin_cos();
        let at = [
            line.offset * cos - along * sin,
            line.offset * sin + along * cos,
        ];
        let beside = |off: f64| between(hues, at[0] + off * cos, at[1] + off * sin);
        Some(Self {
            at,
            hues: [beside(-3.0)?, beside(-1.5)?, beside(1.5)?, beside(3.0)?],
        })
    }

    fn step(&self) -> [f64; 2] {
        [0, 1].map(|c| {
            let [far, near, beyond, farther] = [0, 1, 2, 3].map(|k: usize| self.hues[k][c]);
            0.5 * (beyond + farther - near - far)
        })
    }

    /// Change of hue on both sides of the line, beside the step across it.
    fn slopes(&self) -> f64 {
        let change = |a: usize, b: usize| {
            (self.hues[a][0] - self.hues[b][0]).hypot(self.hues[a][1] - self.hues[b][1])
        };
        change(0, 1) + change(2, 3)
    }
}

/// Hue between cells, linearly; none where a cell is not seen.
fn between(hues: &Hues, x: f64, y: f64) -> Option<[f64; 2]> {
    let (x0, y0) = (x.floor(), y.floor());
    let (u, v) = (x - x0, y - y0);
    let at = |dy: f64, dx: f64| seen_at(hues, [(y0 + dy) as isize, (x0 + dx) as isize]);
    let [a, b, c, d] = [at(0.0, 0.0)?, at(0.0, 1.0)?, at(1.0, 0.0)?, at(1.0, 1.0)?];
    Some(
        [0, 1]
            .map(|k| (1.0 - v) * ((1.0 - u) * a[k] + u * b[k]) + v * ((1.0 - u) * c[k] + u * d[k])),
    )
}

/// The border along a line, where there is one, and the line that lies on it best; its ends are still in cells.
fn follow(hues: &Hues, line: Line) -> Option<(Border, Line)> {
    let (rows, columns) = hues.dim();
    let far = (rows + columns) as isize;
    let places: Vec<Option<Across>> = (-far..far)
        .map(|along| Across::new(hues, line, along as f64))
        .collect();
    let seen: Vec<[f64; 2]> = places.iter().flatten().map(Across::step).collect();
    if seen.len() < SHORTEST {
        return None;
    }
    let usual = [0, 1].map(|c: usize| seen.iter().map(|s| s[c]).collect::<Vec<_>>());
    let step = [median(&usual[0])?, median(&usual[1])?];
    let size = step[0].hypot(step[1]);
    if size < LEAST_STEP {
        return None;
    }
    let holds: Vec<bool> = places
        .iter()
        .map(|p| p.as_ref().is_some_and(|p| is_step(p, step, size)))
        .collect();
    let (from, to) = longest_run(&holds, &places)?;
    let chord = (from..to).len() as f64 / chord_about(&places, from, to) as f64;
    if to - from < SHORTEST || chord < RUNS_ON {
        return None;
    }
    let run: Vec<(f64, &Across)> = (from..to)
        .filter(|&i| holds[i])
        .filter_map(|i| Some((i as f64 - far as f64, places[i].as_ref()?)))
        .collect();
    let share: Vec<f64> = run
        .iter()
        .map(|(_, p)| dot(p.step(), step) / (size * size))
        .collect();
    let offs: Vec<(f64, f64)> = run
        .iter()
        .filter_map(|(along, p)| Some((*along, crossing(p, step)?)))
        .collect();
    let fit = line_fit::line(&offs)?;
    let waver: Vec<f64> = offs
        .iter()
        .map(|(along, off)| off - fit.at_zero - fit.slope * along)
        .collect();
    let border = Border {
        ends_px: [run.first()?.1.at, run.last()?.1.at],
        length: (to - from) as f64 / rows.max(columns) as f64,
        step: size,
        unevenness: standard_deviation(&share),
        waver_cells: standard_deviation(&waver),
        cells: to - from,
    };
    let turn = fit.slope.atan();
    let fitted = Line {
        angle: line.angle - turn,
        offset: (line.offset + fit.at_zero) * turn.cos(),
    };
    Some((border, fitted))
}

fn dot(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

/// Whether the step there is the line's own, and all of it lies across the line.
fn is_step(place: &Across, step: [f64; 2], size: f64) -> bool {
    let here = place.step();
    let along = dot(here, step) / (size * size);
    let aside = gap(
        [here[0] / size, here[1] / size, 0.0],
        [along * step[0] / size, along * step[1] / size, 0.0],
    );
    (0.5..1.6).contains(&along) && aside < 0.5 && place.slopes() < 0.8 * size
}

/// The longest stretch that holds but for gaps of [`HIDDEN`] places that are seen: first, and one past the last.
fn longest_run(holds: &[bool], places: &[Option<Across>]) -> Option<(usize, usize)> {
    let mut best: Option<(usize, usize)> = None;
    let mut from: Option<usize> = None;
    let mut last = 0;
    for i in 0..holds.len() {
        if from.is_some() && (places[i].is_none() || i - last > HIDDEN) {
            from = None;
        }
        if holds[i] {
            let start = *from.get_or_insert(i);
            last = i;
            if best.is_none_or(|(a, b)| i + 1 - start > b - a) {
                best = Some((start, i + 1));
            }
        }
    }
    best
}

/// Places of the chord that a run lies on: the stretch about it on which the field is seen.
fn chord_about(places: &[Option<Across>], from: usize, to: usize) -> usize {
    let before = places[..from]
        .iter()
        .rev()
        .take_while(|p| p.is_some())
        .count();
    let after = places[to..].iter().take_while(|p| p.is_some()).count();
    before + (to - from) + after
}

/// How far from the line half of the step is reached, cells.
fn crossing(place: &Across, step: [f64; 2]) -> Option<f64> {
    const OFFS: [f64; 4] = [-3.0, -1.5, 1.5, 3.0];
    let heights = place.hues.map(|hue| dot(hue, step));
    let half = f64::midpoint(heights[0], heights[3]);
    let k = (0..3).find(|&k| (heights[k] - half) * (heights[k + 1] - half) <= 0.0)?;
    let rise = heights[k + 1] - heights[k];
    (rise != 0.0).then(|| OFFS[k] + (OFFS[k + 1] - OFFS[k]) * (half - heights[k]) / rise)
}

fn standard_deviation(values: &[f64]) -> f64 {
    let n = values.len().max(1) as f64;
    let mean = values.iter().sum::<f64>() / n;
    (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n).sqrt()
}
