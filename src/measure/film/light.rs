//! The step from paper to film, set free of uneven light.
//!
//! The light taken out upstream rests on the paper; where a film covers most of the sheet a step
//! from paper to film can pass for a slope of light. Here both levels are fitted together: each
//! has its own constant, and one quadratic surface of light is shared.

use super::ground::{Cell, GroundMap};
use super::levels::Level;
use nalgebra::{SMatrix, SVector};

/// Unknowns: ln light of paper and film, and five slopes and curvatures.
const UNKNOWNS: usize = 7;
/// Scatter of a cell's ln light about its level: fibre, mottle, noise, skirts of marks.
const CELL_SD: f64 = 0.03;
/// Prior standard deviation of each slope and curvature of ln light across half a frame (common
/// practice: a quarter of the light is about the worst that is still photographed by).
const LIGHT_PRIOR_SD: f64 = 0.12;
/// Prior standard deviation of the levels, wide enough to say nothing.
const LEVEL_PRIOR_SD: f64 = 10.0;

/// Grey density of the film over the paper, with uneven light taken out of both together.
#[must_use]
pub fn grey_step(map: &GroundMap, paper: &Level, film: &Level) -> f64 {
    let seen: Vec<([usize; 2], &Cell)> = map.seen().collect();
    let mut normal = prior();
    let mut right = SVector::<f64, UNKNOWNS>::zeros();
    for (k, level) in [paper, film].into_iter().enumerate() {
        for &member in &level.lighter {
            let (at, cell) = seen[member];
            let row = row(map, at, k);
            let ln = cell.ln_linear.iter().map(|&v| f64::from(v)).sum::<f64>() / 3.0;
            normal += row * row.transpose() / CELL_SD.powi(2);
            right += row * ln / CELL_SD.powi(2);
        }
    }
    match normal.cholesky() {
        Some(solved) => {
            let fit = solved.solve(&right);
            (fit[0] - fit[1]) * std::f64::consts::LOG10_E
        }
        None => film.grey() - paper.grey(),
    }
}

fn prior() -> SMatrix<f64, UNKNOWNS, UNKNOWNS> {
    SMatrix::from_diagonal(&SVector::from_fn(|i, _| {
        let sd = if i < 2 {
            LEVEL_PRIOR_SD
        } else {
            LIGHT_PRIOR_SD
        };
        sd.powi(-2)
    }))
}

/// Terms of one cell of level `k`.
fn row(map: &GroundMap, at: [usize; 2], k: usize) -> SVector<f64, UNKNOWNS> {
    let (rows, columns) = map.cells.dim();
    let along = |i: usize, n: usize| 2.0 * (i as f64 + 0.5) / n as f64 - 1.0;
    let (v, u) = (along(at[0], rows), along(at[1], columns));
    let level = [1.0 - k as f64, k as f64];
    SVector::from([level[0], level[1], u, v, u * u, u * v, v * v])
}
