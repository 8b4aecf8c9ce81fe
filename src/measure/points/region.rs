//! The area in which points could lie.

use super::Point;
use ndarray::Array2;
use rustfft::{FftPlanner, num_complex::Complex};

/// A rectangle, or square cells marked as inside.
#[derive(Clone, Debug)]
pub enum Region {
    /// Axis-parallel rectangle.
    Rectangle {
        /// Lower corner in both coordinates.
        low: Point,
        /// Upper corner in both coordinates.
        high: Point,
    },
    /// Cells of a grid.
    Cells(Cells),
}

/// A region made of square cells.
#[derive(Clone, Debug)]
pub struct Cells {
    /// True inside, `[[row, column]]`; cell (0, 0) has its corner at the origin.
    pub inside: Array2<bool>,
    /// Side of a cell in the points' unit.
    pub side: f64,
    /// Area of all cells inside.
    area: f64,
    /// Overlap of the region with itself moved by whole cells, area; see [`Cells::new`].
    overlap: Array2<f32>,
}

impl Cells {
    /// Takes the cells and works out the overlap of the region with itself for every move
    /// (by fast Fourier transform), which edge corrections need.
    #[must_use]
    pub fn new(inside: Array2<bool>, side: f64) -> Self {
        let overlap = autocorrelation(&inside, side * side);
        let count = inside.iter().filter(|&&is| is).count();
        Self {
            area: count as f64 * side * side,
            inside,
            side,
            overlap,
        }
    }

    fn overlap(&self, dx: f64, dy: f64) -> f64 {
        // The overlap is the same for a move and its opposite, so one of the two may be negative.
        let (dx, dy) = if dy < 0.0 { (-dx, -dy) } else { (dx, dy) };
        let (rows, columns) = self.overlap.dim();
        let (x, y) = (dx / self.side, dy / self.side);
        let (x0, y0) = (x.floor(), y.floor());
        let at = |ix: f64, iy: f64| {
            let reach = self.inside.ncols() as f64;
            if ix.abs() >= reach || iy >= self.inside.nrows() as f64 {
                return 0.0;
            }
            let column = (ix as i64).rem_euclid(columns as i64) as usize;
            f64::from(self.overlap[[iy as usize % rows, column]])
        };
        let (u, v) = (x - x0, y - y0);
        (1.0 - v) * ((1.0 - u) * at(x0, y0) + u * at(x0 + 1.0, y0))
            + v * ((1.0 - u) * at(x0, y0 + 1.0) + u * at(x0 + 1.0, y0 + 1.0))
    }

    fn perimeter(&self) -> f64 {
        let (rows, columns) = self.inside.dim();
        let at = |y: i64, x: i64| {
            (0..rows as i64).contains(&y)
                && (0..columns as i64).contains(&x)
                && self.inside[[y as usize, x as usize]]
        };
        let mut sides = 0_usize;
        for y in 0..=rows as i64 {
            for x in 0..=columns as i64 {
                sides += usize::from(at(y, x) != at(y - 1, x));
                sides += usize::from(at(y, x) != at(y, x - 1));
            }
        }
        // Stairs are 4/π times as long as the curve that they follow, on average over directions.
        sides as f64 * self.side * std::f64::consts::FRAC_PI_4
    }
}

impl Region {
    /// Area.
    #[must_use]
    pub fn area(&self) -> f64 {
        match self {
            Self::Rectangle { low, high } => (high[0] - low[0]) * (high[1] - low[1]),
            Self::Cells(cells) => cells.area,
        }
    }

    /// Length of the border (for cells: of the curve that their stairs follow).
    #[must_use]
    pub fn perimeter(&self) -> f64 {
        match self {
            Self::Rectangle { low, high } => 2.0 * (high[0] - low[0] + high[1] - low[1]),
            Self::Cells(cells) => cells.perimeter(),
        }
    }

    /// Whether a point lies in it.
    #[must_use]
    pub fn contains(&self, p: Point) -> bool {
        match self {
            Self::Rectangle { low, high } => (0..2).all(|i| (low[i]..=high[i]).contains(&p[i])),
            Self::Cells(cells) => {
                let (x, y) = ((p[0] / cells.side).floor(), (p[1] / cells.side).floor());
                x >= 0.0
                    && y >= 0.0
                    && cells
                        .inside
                        .get((y as usize, x as usize))
                        .copied()
                        .unwrap_or(false)
            }
        }
    }

    /// Area of its overlap with itself moved by `(dx, dy)` (the set covariance).
    #[must_use]
    pub fn overlap(&self, dx: f64, dy: f64) -> f64 {
        match self {
            Self::Rectangle { low, high } => {
                (high[0] - low[0] - dx.abs()).max(0.0) * (high[1] - low[1] - dy.abs()).max(0.0)
            }
            Self::Cells(cells) => cells.overlap(dx, dy),
        }
    }

    /// Share of the circle about `centre` with this radius that lies inside; only for rectangles,
    /// none for cells. Source: Ripley (1977), as the arcs cut off by each side and each corner.
    #[must_use]
    pub fn arc_inside(&self, centre: Point, radius: f64) -> Option<f64> {
        let Self::Rectangle { low, high } = self else {
            return None;
        };
        let gaps = [
            high[0] - centre[0],
            high[1] - centre[1],
            centre[0] - low[0],
            centre[1] - low[1],
        ];
        if radius <= 0.0 {
            return Some(1.0);
        }
        // Half the angle cut off by each side, and what is left of the quarter at each corner.
        let cut = gaps.map(|gap| (gap / radius).clamp(0.0, 1.0).acos());
        let outside: f64 = (0..4)
            .map(|i| {
                let both = cut[i] + cut[(i + 1) % 4];
                both.min(std::f64::consts::FRAC_PI_2)
            })
            .sum();
        Some(1.0 - outside / std::f64::consts::TAU)
    }
}

/// Area of overlap for moves of whole cells; index wraps, so that column −1 is the last.
fn autocorrelation(inside: &Array2<bool>, cell_area: f64) -> Array2<f32> {
    let rows = (2 * inside.nrows()).max(2).next_power_of_two();
    let columns = (2 * inside.ncols()).max(2).next_power_of_two();
    let mut grid = Array2::from_elem((rows, columns), Complex::new(0.0_f32, 0.0));
    for ((y, x), &is) in inside.indexed_iter() {
        grid[[y, x]].re = f32::from(u8::from(is));
    }
    let mut planner = FftPlanner::new();
    let transform = |grid: Array2<Complex<f32>>, planner: &mut FftPlanner<f32>, forward: bool| {
        let mut grid = grid;
        for _ in 0..2 {
            let plan = if forward {
                planner.plan_fft_forward(grid.ncols())
            } else {
                planner.plan_fft_inverse(grid.ncols())
            };
            if let Some(all) = grid.as_slice_mut() {
                plan.process(all);
            }
            grid = grid.t().as_standard_layout().to_owned();
        }
        grid
    };
    let spectrum = transform(grid, &mut planner, true).mapv(|c| Complex::new(c.norm_sqr(), 0.0));
    let scale = cell_area as f32 / (rows * columns) as f32;
    transform(spectrum, &mut planner, false).mapv(|c| (c.re * scale).max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn cells_agree_with_the_rectangle_they_fill() {
        let rectangle = Region::Rectangle {
            low: [0.0, 0.0],
            high: [30.0, 20.0],
        };
        let cells = Region::Cells(Cells::new(Array2::from_elem((20, 30), true), 1.0));
        assert_relative_eq!(cells.area(), rectangle.area());
        for (dx, dy) in [
            (0.0, 0.0),
            (3.5, 2.25),
            (-4.0, 7.5),
            (4.0, -7.5),
            (29.0, 0.5),
        ] {
            assert_relative_eq!(
                cells.overlap(dx, dy),
                rectangle.overlap(dx, dy),
                epsilon = 0.05
            );
        }
        assert_eq!(cells.overlap(40.0, 0.0), 0.0);
        assert!(cells.contains([29.5, 0.5]) && !cells.contains([30.5, 0.5]));
    }

    #[test]
    fn a_disc_of_cells_has_the_border_of_a_circle() {
        let disc = Array2::from_shape_fn((120, 130), |(y, x)| {
            (x as f64 - 62.0).hypot(y as f64 - 55.0) < 50.0
        });
        let region = Region::Cells(Cells::new(disc, 0.5));
        assert_relative_eq!(
            region.perimeter(),
            std::f64::consts::TAU * 25.0,
            max_relative = 0.02
        );
    }

    #[test]
    fn arcs_near_sides_and_corners() {
        let unit = Region::Rectangle {
            low: [0.0, 0.0],
            high: [1.0, 1.0],
        };
        assert_relative_eq!(unit.arc_inside([0.5, 0.5], 0.3).unwrap(), 1.0);
        assert_relative_eq!(unit.arc_inside([0.0, 0.5], 0.2).unwrap(), 0.5);
        assert_relative_eq!(unit.arc_inside([0.0, 0.0], 0.2).unwrap(), 0.25);
        // The circle reaches twice as far as the side: a third of it is cut off.
        assert_relative_eq!(
            unit.arc_inside([0.1, 0.5], 0.2).unwrap(),
            2.0 / 3.0,
            epsilon = 1e-12
        );
    }
}
