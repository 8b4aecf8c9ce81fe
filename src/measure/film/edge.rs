//! The film's edges: cut hard, pooled, fading, straight or wavering; and lights scraped out of it.

use super::CELLS_TOGETHER;
use super::layout::{Kind, Layout, gap};
use crate::rank::median;

/// Cells within which an edge must pass from paper to film to count as one.
const CROSSING_CELLS: isize = 3;
/// Radius in cells over which an edge is compared with a straight line.
const STRAIGHT_CELLS: f64 = 10.0;
/// Fewest crossings for a straight line to be tested.
const MIN_CROSSINGS: usize = 8;
/// Largest bare patch, as a share of the cells, that is a scraped light and not open paper.
const LARGEST_LIGHT: f64 = 0.02;
/// Standard error of the median of one normal value, in median distances from it: √(π/2) standard deviations, of
/// 1.4826 median distances each.
const SE_OF_MEDIAN: f64 = 1.858;

/// One passage from paper to film along a row or column.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crossing {
    /// Last paper cell, row and column.
    pub paper: [usize; 2],
    /// First film cell.
    pub film: [usize; 2],
    /// Step towards the film, rows and columns.
    pub inward: [isize; 2],
}

/// All crossings, in reading order.
#[must_use]
pub fn crossings(layout: &Layout) -> Vec<Crossing> {
    let mut found = Vec::new();
    for paper in layout.of(Kind::Paper) {
        for inward in [[0, 1], [0, -1], [1, 0], [-1, 0]] {
            found.extend(crossing(layout, paper, inward));
        }
    }
    found
}

/// The crossing that leaves `paper` inwards, where film follows before more paper does.
fn crossing(layout: &Layout, paper: [usize; 2], inward: [isize; 2]) -> Option<Crossing> {
    for k in 1..=CROSSING_CELLS {
        let at = layout.beyond(paper, inward[0] * k, inward[1] * k)?;
        match layout.kind[at] {
            Kind::Film => {
                return Some(Crossing {
                    paper,
                    film: at,
                    inward,
                });
            }
            Kind::Other | Kind::Hidden => {}
            Kind::Paper => return None,
        }
    }
    None
}

/// Hue just inside the edge beyond that of the film, as a share of the step, with its standard error: above 0 where
/// the colour pooled at its rim, below 0 where it fades out, about 0 where it was cut.
#[must_use]
pub fn overshoot(
    layout: &Layout,
    crossings: &[Crossing],
    film: [f64; 3],
    paper: [f64; 3],
) -> Option<(f64, f64)> {
    let step = gap(film, paper);
    let beyond: Vec<f64> = crossings
        .iter()
        .filter_map(|c| layout.beyond(c.film, c.inward[0], c.inward[1]))
        .filter(|&at| matches!(layout.kind[at], Kind::Film | Kind::Other))
        .map(|at| {
            (0..3)
                .map(|c| (layout.place[at][c] - film[c]) * (film[c] - paper[c]))
                .sum::<f64>()
                / (step * step)
        })
        .collect();
    if beyond.len() < MIN_CROSSINGS {
        return None;
    }
    let middle = median(beyond.iter().copied())?;
    let off = median(beyond.iter().map(|b| (b - middle).abs()))?;
    let independent = (beyond.len() as f64 / CELLS_TOGETHER).max(1.0);
    Some((middle, SE_OF_MEDIAN * off / independent.sqrt()))
}

/// Median number of cells that an edge takes, 1 = within one cell.
#[must_use]
pub fn width_cells(crossings: &[Crossing]) -> Option<f64> {
    let widths: Vec<f64> = crossings
        .iter()
        .map(|c| (c.film[0].abs_diff(c.paper[0]) + c.film[1].abs_diff(c.paper[1])) as f64)
        .collect();
    (widths.len() >= MIN_CROSSINGS)
        .then(|| median(widths))
        .flatten()
}

/// How far edges waver from straight lines: median over the crossings of the rms distance, in
/// cells, of the crossings within [`STRAIGHT_CELLS`] from their own best line. About 0.3 is the
/// grain of the cells.
#[must_use]
pub fn waver_cells(crossings: &[Crossing]) -> Option<f64> {
    let points: Vec<[f64; 2]> = crossings
        .iter()
        .map(|c| [0, 1].map(|k| (c.paper[k] + c.film[k]) as f64 / 2.0))
        .collect();
    let every = points.len().div_ceil(400).max(1);
    let some = points.iter().step_by(every);
    median(some.filter_map(|&p| off_line(p, &points)))
}

/// Rms distance of the points about `p` from their best line (lesser principal axis).
fn off_line(p: [f64; 2], points: &[[f64; 2]]) -> Option<f64> {
    let near: Vec<[f64; 2]> = points
        .iter()
        .copied()
        .filter(|q| (q[0] - p[0]).hypot(q[1] - p[1]) <= STRAIGHT_CELLS)
        .collect();
    if near.len() < MIN_CROSSINGS {
        return None;
    }
    let n = near.len() as f64;
    let mean = [0, 1].map(|k| near.iter().map(|q| q[k]).sum::<f64>() / n);
    let moment = |a: usize, b: usize| {
        near.iter()
            .map(|q| (q[a] - mean[a]) * (q[b] - mean[b]))
            .sum::<f64>()
            / n
    };
    let (yy, xx, yx) = (moment(0, 0), moment(1, 1), moment(0, 1));
    let lesser = (yy + xx) / 2.0 - (((yy - xx) / 2.0).powi(2) + yx * yx).sqrt();
    Some(lesser.max(0.0).sqrt())
}

/// Number of bare patches enclosed by film: lights scraped or stopped out.
#[must_use]
pub fn scraped_lights(layout: &Layout) -> usize {
    let mut done = layout.kind.mapv(|_| false);
    let largest = (LARGEST_LIGHT * layout.kind.len() as f64).max(1.0) as usize;
    let mut lights = 0;
    for start in layout.of(Kind::Paper) {
        if !done[start] {
            lights += usize::from(is_light(layout, &mut done, start, largest));
        }
    }
    lights
}

/// Floods one bare patch and tells whether it is small and ringed by film.
fn is_light(
    layout: &Layout,
    done: &mut ndarray::Array2<bool>,
    start: [usize; 2],
    largest: usize,
) -> bool {
    let (mut stack, mut size, mut film, mut rim) = (vec![start], 0, 0usize, 0usize);
    done[start] = true;
    while let Some(at) = stack.pop() {
        size += 1;
        for way in [[0, 1], [0, -1], [1, 0], [-1, 0]] {
            match layout.beyond(at, way[0], way[1]) {
                Some(next) if layout.kind[next] == Kind::Paper => {
                    if !done[next] {
                        done[next] = true;
                        stack.push(next);
                    }
                }
                _ => {
                    rim += 1;
                    film += usize::from(film_beyond(layout, at, way));
                }
            }
        }
    }
    // A patch of one cell may be a speck; a rim of nine tenths film leaves room for marks across it.
    size > 1 && size <= largest && film * 10 >= rim * 9
}

/// True where film follows within [`CROSSING_CELLS`]; cells cut by the edge, whose ground is part
/// bare and so not told, may lie between.
fn film_beyond(layout: &Layout, at: [usize; 2], way: [isize; 2]) -> bool {
    (1..=CROSSING_CELLS)
        .map_while(|k| layout.beyond(at, way[0] * k, way[1] * k))
        .map(|next| layout.kind[next])
        .find(|kind| *kind != Kind::Hidden)
        .is_some_and(|kind| matches!(kind, Kind::Film | Kind::Other))
}
