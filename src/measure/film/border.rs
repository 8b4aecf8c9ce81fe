//! The straight border of a colour: a tint stone is often ended along a rule, and its film then keeps one
//! colour along the whole line, across paper, drawing and washes alike. A brush follows the drawing.
//!
//! Black marks darken a cell but hardly move its hue, so the border is looked for in the hue of whole
//! cells and not in the ground between marks, which dense crayon hides.

use super::ground::GroundMap;
use super::layout::{gap, hue_part};
use crate::measure::line_fit;
use crate::rank::median;
use ndarray::Array2;
use std::f64::consts::PI;

mod candidates;

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
    /// How far the hue changes along the border alike on both sides, in steps across it: above 0 where the colour
    /// runs on over drawing or washes, 0 where one colour lies along it on either side.
    pub crossed: f64,
    /// Cells along it.
    pub cells: usize,
}

impl Border {
    /// Length over waver: what a ruled border has more of than the edge of a wash that bends a little.
    fn worth(&self) -> f64 {
        self.length / (RULED_WAVER + self.waver_cells)
    }
}

/// Waver of ruled borders as measured, cells: below this, straighter says nothing.
const RULED_WAVER: f64 = 0.2;
/// Least step of hue, optical density: three times the scatter of a cell's hue over clean paper.
const LEAST_STEP: f64 = 0.015;
/// Smallest standard deviation of smoothing that leaves a cell's own noise out, cells.
const SMOOTHING: f64 = 1.0;
/// Shortest border, cells: shorter ones are the edges of leaves.
const SHORTEST: usize = 25;
/// Share of its quieter places that a line's step is taken from.
const QUIETER: f64 = 0.6;
/// A border is seen at more than this share of the places on its chord at which it would show: one that ends inside
/// the field is the outline of something drawn.
const RUNS_ON: f64 = 0.5;
/// How many cells that show a border make up for one that shows none.
const FAILING: f64 = 1.5;

/// Hue of each cell: what its light lacks per channel, as two coordinates.
type Hues = Array2<Option<[f64; 2]>>;

/// A straight line, `x cos + y sin = offset` in cells.
#[derive(Clone, Copy, Debug)]
struct Line {
    angle: f64,
    offset: f64,
}

/// The longest and straightest border in view.
#[must_use]
pub fn straight(map: &GroundMap) -> Option<Border> {
    let hues = smoothed(&hues(map));
    candidates::fullest(&hues)
        .into_iter()
        .flat_map(about)
        .filter_map(|line| {
            let (border, fitted) = follow(&hues, line)?;
            Some(follow(&hues, fitted).map_or(border, |(border, _)| border))
        })
        .max_by(|a, b| a.worth().total_cmp(&b.worth()))
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

/// A line, and those a third of a direction and half a cell beside it.
fn about(line: Line) -> Vec<Line> {
    let turn = PI / candidates::DIRECTIONS as f64 / 3.0;
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

    /// Mean hue before the line and behind it.
    fn sides(&self) -> [[f64; 2]; 2] {
        [0, 2].map(|k: usize| {
            [0, 1].map(|c: usize| f64::midpoint(self.hues[k][c], self.hues[k + 1][c]))
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
    let step = usual_step(&places)?;
    let size = step[0].hypot(step[1]);
    if size < LEAST_STEP {
        return None;
    }
    let shows: Vec<Shows> = places
        .iter()
        .map(|p| p.as_ref().map_or(Shows::Nothing, |p| shows(p, step, size)))
        .collect();
    let holds = |i: usize| shows[i] == Shows::Step;
    let (from, to) = longest_run(&shows, &places)?;
    let count =
        |range: std::ops::Range<usize>, what| shows[range].iter().filter(|s| **s == what).count();
    let chord = chord_about(&places, from, to);
    let (held, failed) = (count(from..to, Shows::Step), count(chord, Shows::Other));
    if held < SHORTEST || (held as f64) < RUNS_ON * (held + failed) as f64 {
        return None;
    }
    let run: Vec<(f64, &Across)> = (from..to)
        .filter(|&i| holds(i))
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
        crossed: changed_alike(&run) / size,
        cells: held,
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

/// The middle of the steps across a line, over its quieter places.
fn usual_step(places: &[Option<Across>]) -> Option<[f64; 2]> {
    let mut seen: Vec<&Across> = places.iter().flatten().collect();
    seen.sort_by(|a, b| a.slopes().total_cmp(&b.slopes()));
    seen.truncate((seen.len() as f64 * QUIETER).ceil() as usize);
    let middle = |c: usize| median(seen.iter().map(|p| p.step()[c]));
    if seen.len() < SHORTEST {
        return None;
    }
    Some([middle(0)?, middle(1)?])
}

/// What one place of a line shows of the border.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Shows {
    /// The line's own step.
    Step,
    /// No step, or another.
    Other,
    /// Nothing: outside the field, or the hue changes as much on either side, as by an outline or in a streaked wash.
    Nothing,
}

fn shows(place: &Across, step: [f64; 2], size: f64) -> Shows {
    let here = place.step();
    let along = dot(here, step) / (size * size);
    let aside = gap(
        [here[0] / size, here[1] / size, 0.0],
        [along * step[0] / size, along * step[1] / size, 0.0],
    );
    if place.slopes() >= 0.8 * size {
        Shows::Nothing
    } else if (0.5..1.6).contains(&along) && aside < 0.5 {
        Shows::Step
    } else {
        Shows::Other
    }
}

/// The stretch on which most places show the border, each that shows none of it counted [`FAILING`] times against
/// them: first, and one past the last.
fn longest_run(shows: &[Shows], places: &[Option<Across>]) -> Option<(usize, usize)> {
    let mut best: Option<(f64, usize, usize)> = None;
    let (mut score, mut from) = (0.0, None);
    for (i, what) in shows.iter().enumerate() {
        match what {
            Shows::Step => {
                let start = *from.get_or_insert(i);
                score += 1.0;
                if best.is_none_or(|(most, ..)| score > most) {
                    best = Some((score, start, i + 1));
                }
            }
            Shows::Other => score -= FAILING,
            Shows::Nothing => {}
        }
        if places[i].is_none() || score <= 0.0 {
            (score, from) = (0.0, None);
        }
    }
    best.map(|(_, from, to)| (from, to))
}

/// The chord that a run lies on: the stretch about it on which the field is seen.
fn chord_about(places: &[Option<Across>], from: usize, to: usize) -> std::ops::Range<usize> {
    let before = places[..from]
        .iter()
        .rev()
        .take_while(|p| p.is_some())
        .count();
    let after = places[to..].iter().take_while(|p| p.is_some()).count();
    from - before..to + after
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

/// Root of the covariance along a run between the hues on its two sides, density; 0 where they change against
/// each other.
fn changed_alike(run: &[(f64, &Across)]) -> f64 {
    let sides: Vec<[[f64; 2]; 2]> = run.iter().map(|(_, p)| p.sides()).collect();
    let n = sides.len().max(1) as f64;
    let mean = |side: usize, c: usize| sides.iter().map(|s| s[side][c]).sum::<f64>() / n;
    let covariance = |c: usize| {
        let (before, behind) = (mean(0, c), mean(1, c));
        let product = |s: &[[f64; 2]; 2]| (s[0][c] - before) * (s[1][c] - behind);
        sides.iter().map(product).sum::<f64>() / n
    };
    (covariance(0) + covariance(1)).max(0.0).sqrt()
}

fn standard_deviation(values: &[f64]) -> f64 {
    let n = values.len().max(1) as f64;
    let mean = values.iter().sum::<f64>() / n;
    (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n).sqrt()
}
