//! Lines on which a border may lie: those that most steps of hue vote for.

use super::{Hues, LEAST_STEP, Line, dot, seen_at};
use ndarray::Array2;
use std::f64::consts::PI;

/// Directions that lines are looked for in: every two degrees, less than a line of 40 cells strays by.
pub(super) const DIRECTIONS: usize = 90;
/// How far the direction of a faint step may be out, in directions looked for: ten degrees.
const ASTRAY: usize = 5;
/// Fewest steps on one line for it to be followed.
const FEWEST_VOTES: u32 = 15;
/// Lines that are followed; the border stood among the first few on all sheets looked at.
const FOLLOWED: usize = 24;
/// Distance of the two sides that a step is taken between, cells: beyond the blur of the smoothing.
const REACH: usize = 2;

/// Lines that most steps lie on, the fullest first; a step counts for the fullest line that it lies on only.
pub(super) fn fullest(hues: &Hues) -> Vec<Line> {
    let (rows, columns) = hues.dim();
    let reach = (rows + columns) as isize;
    let mut steps = steps(hues);
    let mut votes = Array2::<u32>::zeros((DIRECTIONS, 2 * reach as usize));
    let bins = |[y, x, direction]: [usize; 3]| {
        let turns = DIRECTIONS - ASTRAY..=DIRECTIONS + ASTRAY;
        turns.map(move |turn| {
            let direction = (direction + turn) % DIRECTIONS;
            let (sin, cos) = (PI * direction as f64 / DIRECTIONS as f64).sin_cos();
            let offset = (x as f64 * cos + y as f64 * sin).round() as isize;
            [direction, (offset + reach) as usize]
        })
    };
    for bin in steps.iter().flat_map(|&step| bins(step)) {
        votes[bin] += 1;
    }
    let mut lines = Vec::new();
    while lines.len() < FOLLOWED {
        let fullest = votes.indexed_iter().max_by_key(|(_, n)| **n);
        let Some(((direction, offset), _)) = fullest.filter(|(_, n)| **n >= FEWEST_VOTES) else {
            break;
        };
        let line = Line {
            angle: PI * direction as f64 / DIRECTIONS as f64,
            offset: (offset as isize - reach) as f64,
        };
        let voted =
            |step: &[usize; 3]| bins(*step).any(|[d, o]| d == direction && o.abs_diff(offset) <= 1);
        for bin in steps.extract_if(.., |step| voted(step)).flat_map(bins) {
            votes[bin] -= 1;
        }
        lines.push(line);
    }
    lines
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
    let (xx, yy, xy) = (dot(across, across), dot(down, down), dot(across, down));
    let greater = f64::midpoint(xx, yy) + (0.25 * (xx - yy).powi(2) + xy * xy).sqrt();
    Some((
        greater.sqrt(),
        (0.5 * (2.0 * xy).atan2(xx - yy)).rem_euclid(PI),
    ))
}
