//! Fine chromatic structure: spots of several inks that do not know of each other.
//!
//! A black mark, wash or single coloured ink swings all channels together; process inks screened
//! without a lattice (FM, error diffusion, inkjet) swing them apart at the scale of a few spots.

use super::pyramid::Level;
use crate::plane::Plane;
use crate::rank::median;
use ndarray::s;
use rayon::prelude::*;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Side of a tile in samples.
const TILE: usize = 24;
/// Tiles with a mean density between these hold a tone; lighter is paper, deeper is shadow.
const TONE: (f32, f32) = (0.06, 0.9);
/// Second over first eigenvalue above which a tile's channels swing apart. Colour fringes of
/// lens and demosaicing leave 0.01–0.05 in black-ink prints.
const APART_RATIO: f64 = 0.10;
/// Share of tone tiles that must swing apart. Hand-coloured engravings photographed at 5–16
/// px/mm reach 0.5 where washes meet; drawn inkjet fields lie at 0.6–1.0.
const APART_SHARE: f64 = 0.55;
/// Fewest tone tiles for a share.
const MIN_TILES: usize = 20;
/// Least second amplitude, density: JPEG and sensor chroma noise stay under 0.01.
const MIN_SECOND_AMPLITUDE: f64 = 0.02;

/// Fine chromatic structure of one photograph, at the resolution where it is clearest.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct FineColour {
    /// Share of the tone tiles in which the channels swing apart, 0–1.
    pub share_apart: f64,
    /// Median over tone tiles of the second over the first eigenvalue of the channels'
    /// covariance, 0 (one ink) to 1 (equal and independent).
    pub ratio: f64,
    /// Median amplitude of the second component, density.
    pub second_amplitude: f64,
    /// Scale at which it was taken: width of the band's centre, px.
    pub scale_px: f64,
    /// Tone tiles.
    pub tiles: usize,
}

impl FineColour {
    /// Whether this is the mark of several inks in independent fine spots.
    #[must_use]
    pub fn is_independent_spots(&self) -> bool {
        self.tiles >= MIN_TILES
            && self.share_apart >= APART_SHARE
            && self.second_amplitude >= MIN_SECOND_AMPLITUDE
    }
}

/// Looks at bands of 2, 4 and 8 px and keeps the one that swings apart in the largest share.
#[must_use]
pub fn look(levels: &[Level]) -> FineColour {
    levels
        .iter()
        .skip(1)
        .filter(|l| l.channels.len() == 3)
        .map(look_at)
        .filter(|f| f.tiles >= MIN_TILES)
        .max_by(|a, b| a.share_apart.total_cmp(&b.share_apart))
        .unwrap_or_default()
}

fn look_at(level: &Level) -> FineColour {
    let (height, width) = level.shape();
    let rows: Vec<usize> = (1..height.saturating_sub(TILE)).step_by(TILE).collect();
    let seen: Vec<[f64; 2]> = rows
        .into_par_iter()
        .flat_map_iter(|y| {
            (1..width.saturating_sub(TILE))
                .step_by(TILE)
                .filter_map(move |x| tile(level, y, x))
        })
        .collect();
    if seen.is_empty() {
        return FineColour::default();
    }
    let apart = seen.iter().filter(|e| e[1] > APART_RATIO * e[0]).count();
    let ratios = seen.iter().map(|e| e[1] / e[0].max(1e-9));
    let amplitudes = seen.iter().map(|e| e[1].max(0.0).sqrt());
    FineColour {
        share_apart: apart as f64 / seen.len() as f64,
        ratio: median(ratios).unwrap_or(0.0),
        second_amplitude: median(amplitudes).unwrap_or(0.0),
        scale_px: level.step_px as f64,
        tiles: seen.len(),
    }
}

/// First and second eigenvalue of the fine covariance of one tile, where it holds a tone.
fn tile(level: &Level, y0: usize, x0: usize) -> Option<[f64; 2]> {
    let inside = level.usable.slice(s![y0..y0 + TILE, x0..x0 + TILE]);
    if !inside.iter().all(|usable| *usable) {
        return None;
    }
    let count = (TILE * TILE) as f64;
    let tone = (0..3)
        .map(|c| {
            let tile = level.channels[c].slice(s![y0..y0 + TILE, x0..x0 + TILE]);
            tile.sum() / count as f32 + level.means[c]
        })
        .sum::<f32>()
        / 3.0;
    if !(tone > TONE.0 && tone < TONE.1) {
        return None;
    }
    let mut covariance = [[0.0_f64; 3]; 3];
    let mut fine = [[0.0_f32; TILE]; 3];
    for y in y0..y0 + TILE {
        for (c, fine) in fine.iter_mut().enumerate() {
            fine_row(&level.channels[c], y, x0, fine);
        }
        for i in 0..3 {
            for j in i..3 {
                let products = fine[i].iter().zip(&fine[j]);
                covariance[i][j] += products
                    .map(|(a, b)| f64::from(*a) * f64::from(*b))
                    .sum::<f64>();
            }
        }
    }
    let entry = |i: usize, j: usize| covariance[i.min(j)][i.max(j)] / count;
    Some(first_two(std::array::from_fn(|i| {
        std::array::from_fn(|j| entry(i, j))
    })))
}

/// Samples of a row of a tile less the mean of their 3 × 3 neighbourhoods.
fn fine_row(plane: &Plane, y: usize, x0: usize, fine: &mut [f32; TILE]) {
    let rows = [y - 1, y, y + 1].map(|y| plane.slice(s![y, x0 - 1..x0 + TILE + 1]));
    let [Some(above), Some(here), Some(below)] = rows.each_ref().map(|row| row.as_slice()) else {
        return;
    };
    let mut columns = [0.0_f32; TILE + 2];
    for (x, sum) in columns.iter_mut().enumerate() {
        *sum = above[x] + here[x] + below[x];
    }
    for (x, value) in fine.iter_mut().enumerate() {
        *value = here[x + 1] - (columns[x] + columns[x + 1] + columns[x + 2]) / 9.0;
    }
}

/// The two largest eigenvalues of a symmetric 3 × 3 matrix (trigonometric solution of the cubic).
fn first_two(m: [[f64; 3]; 3]) -> [f64; 2] {
    let trace = m[0][0] + m[1][1] + m[2][2];
    let q = trace / 3.0;
    let off = m[0][1].powi(2) + m[0][2].powi(2) + m[1][2].powi(2);
    let p2 = (0..3).map(|i| (m[i][i] - q).powi(2)).sum::<f64>() + 2.0 * off;
    let p = (p2 / 6.0).sqrt();
    if p <= 1e-15 {
        return [q, q];
    }
    let b: [[f64; 3]; 3] = std::array::from_fn(|i| {
        std::array::from_fn(|j| (m[i][j] - if i == j { q } else { 0.0 }) / p)
    });
    let det = b[0][0] * (b[1][1] * b[2][2] - b[1][2] * b[2][1])
        - b[0][1] * (b[1][0] * b[2][2] - b[1][2] * b[2][0])
        + b[0][2] * (b[1][0] * b[2][1] - b[1][1] * b[2][0]);
    let angle = (det / 2.0).clamp(-1.0, 1.0).acos() / 3.0;
    let first = q + 2.0 * p * angle.cos();
    let last = q + 2.0 * p * (angle + 2.0 * std::f64::consts::PI / 3.0).cos();
    [first, trace - first - last]
}

#[cfg(test)]
mod tests {
    use super::first_two;

    #[test]
    fn eigenvalues_of_a_turned_diagonal() {
        // Eigenvalues 5, 2, 1 turned by 30° in the first two axes.
        let (s, c) = 30f64.to_radians().sin_cos();
        let m = [
            [5.0 * c * c + 2.0 * s * s, 3.0 * s * c, 0.0],
            [3.0 * s * c, 5.0 * s * s + 2.0 * c * c, 0.0],
            [0.0, 0.0, 1.0],
        ];
        let [a, b] = first_two(m);
        assert!((a - 5.0).abs() < 1e-12 && (b - 2.0).abs() < 1e-12);
    }
}
