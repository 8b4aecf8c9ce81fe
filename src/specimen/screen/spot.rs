//! Dot shapes: the order in which the places of a screen cell are inked, as a threshold table.

use serde::{Deserialize, Serialize};

/// Shape of the dots.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum DotShape {
    /// Circles that grow until they overlap.
    Round,
    /// Circles in the lights, holes in the darks, a checkerboard between (Euclidean).
    Euclidean,
    /// As Euclidean with smooth corners (sum of two cosines), as from a crossed-line glass screen.
    Cosine,
    /// Ellipses with the given ratio of axes, chains in the mid-tones.
    Elliptical {
        /// Short over long axis, 0.4–1.
        ratio: f64,
    },
    /// Squares on their corner.
    Diamond,
    /// Squares along the cell.
    Square,
    /// Lines along the first vector's crests.
    Line,
}

/// Points along each side of the table.
const SIDE: usize = 192;

/// Threshold over one cell: a place is inked where the wanted area exceeds it.
#[derive(Clone, Debug)]
pub struct ThresholdTable {
    /// `[row over v][column over u]`, thresholds spread evenly over (0, 1).
    thresholds: Vec<f32>,
    /// Slope of the threshold along u and v, per cell.
    slopes: Vec<[f32; 2]>,
}

impl ThresholdTable {
    /// The table of a shape.
    #[must_use]
    pub fn of(shape: DotShape) -> Self {
        let thresholds = ranked(shape);
        let slopes = slopes_of(&thresholds);
        Self { thresholds, slopes }
    }

    /// Threshold and its slope along u and v at a phase (whole turns are dropped).
    #[must_use]
    pub fn at(&self, u: f64, v: f64) -> (f32, [f32; 2]) {
        let column = ((u - u.floor()) * SIDE as f64) as usize;
        let row = ((v - v.floor()) * SIDE as f64) as usize;
        let i = row.min(SIDE - 1) * SIDE + column.min(SIDE - 1);
        (self.thresholds[i], self.slopes[i])
    }
}

/// Rank of each place by how early it is inked, scaled to (0, 1), so that any wanted area is met.
fn ranked(shape: DotShape) -> Vec<f32> {
    let place = |i: usize| {
        let x = 2.0 * ((i % SIDE) as f64 + 0.5) / SIDE as f64 - 1.0;
        let y = 2.0 * ((i / SIDE) as f64 + 0.5) / SIDE as f64 - 1.0;
        lateness(shape, x, y)
    };
    let mut order: Vec<(f64, usize)> = (0..SIDE * SIDE).map(|i| (place(i), i)).collect();
    order.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let mut thresholds = vec![0.0; SIDE * SIDE];
    let count = order.len() as f32;
    for (rank, &(_, i)) in order.iter().enumerate() {
        thresholds[i] = (rank as f32 + 0.5) / count;
    }
    thresholds
}

/// Grows with the distance from the middle of the dot; x and y in (−1, 1).
fn lateness(shape: DotShape, x: f64, y: f64) -> f64 {
    let (ax, ay) = (x.abs(), y.abs());
    match shape {
        DotShape::Round => x * x + y * y,
        DotShape::Euclidean if ax + ay <= 1.0 => x * x + y * y,
        DotShape::Euclidean => 2.0 - (1.0 - ax).powi(2) - (1.0 - ay).powi(2),
        DotShape::Cosine => -(std::f64::consts::PI * x).cos() - (std::f64::consts::PI * y).cos(),
        DotShape::Elliptical { ratio } => {
            -ratio * (std::f64::consts::PI * x).cos() - (std::f64::consts::PI * y).cos()
        }
        DotShape::Diamond => ax + ay,
        // The tie-break rounds the corners a little, as ink does.
        DotShape::Square => ax.max(ay) + 0.08 * (x * x + y * y),
        DotShape::Line => ax,
    }
}

fn slopes_of(thresholds: &[f32]) -> Vec<[f32; 2]> {
    let at = |row: usize, column: usize| thresholds[(row % SIDE) * SIDE + column % SIDE];
    // A baseline of a few places smooths the ranks' steps.
    const BASE: usize = 2;
    let per_cell = SIDE as f32 / (2 * BASE) as f32;
    (0..SIDE * SIDE)
        .map(|i| {
            let (row, column) = (i / SIDE + SIDE, i % SIDE + SIDE);
            [
                (at(row, column + BASE) - at(row, column - BASE)) * per_cell,
                (at(row + BASE, column) - at(row - BASE, column)) * per_cell,
            ]
        })
        .collect()
}
