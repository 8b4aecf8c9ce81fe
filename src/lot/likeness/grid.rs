//! The photograph's density in cells, freed of light, tone and unequal contrast.

use crate::ink::Inked;

/// Most cells along the longer side.
pub(super) const CELLS: usize = 48;
/// Half-width of the neighbourhood that is taken off each cell, cells: light and tone that fall off
/// over a third of the frame are left behind.
const NEAR: usize = 8;
/// Half-width of the neighbourhood over which contrast is levelled, cells: else a few strong outlines
/// decide, and those of different sheets often lie alike.
const LEVELLED_OVER: usize = 4;
/// Share of the whole field's contrast added to the neighbourhood's, so that empty ground stays empty.
const LEVELLED_FROM: f64 = 0.25;
/// Most that one cell counts, in levelled contrasts.
const MOST: f64 = 2.5;
/// Share of a cell that must be usable.
const LEAST_USABLE: f64 = 0.5;

/// Cells as numbers with those outside marked.
pub(super) struct Grid {
    pub(super) width: usize,
    pub(super) height: usize,
    pub(super) value: Vec<f64>,
    pub(super) inside: Vec<bool>,
}

impl Grid {
    /// Mean density of each cell over its usable pixels.
    pub(super) fn of(inked: &Inked) -> Option<Self> {
        let (rows, cols) = inked.grey_density.dim();
        let side = rows.max(cols).div_ceil(CELLS);
        if side < 2 {
            return None;
        }
        let (width, height) = (cols / side, rows / side);
        let (mut value, mut inside) = (Vec::new(), Vec::new());
        for cell in 0..width * height {
            let (left, top) = (cell % width * side, cell / width * side);
            let (mut sum, mut count) = (0.0, 0);
            for y in top..top + side {
                for x in left..left + side {
                    if inked.usable[[y, x]] {
                        sum += f64::from(inked.grey_density[[y, x]]);
                        count += 1;
                    }
                }
            }
            let fine = f64::from(count) >= LEAST_USABLE * (side * side) as f64;
            inside.push(fine);
            value.push(if fine { sum / f64::from(count) } else { 0.0 });
        }
        Some(Self {
            width,
            height,
            value,
            inside,
        })
    }

    /// Takes the mean of its neighbourhood off each cell.
    pub(super) fn take_off_surroundings(&mut self) {
        let means = self.means_near(NEAR, |v| v);
        for (value, mean) in self.value.iter_mut().zip(means) {
            *value -= mean;
        }
    }

    /// Divides each cell by the contrast of its neighbourhood. `overall` is that of the whole field.
    pub(super) fn level_contrast(&mut self, overall: f64) {
        let squares = self.means_near(LEVELLED_OVER, |v| v * v);
        for (value, square) in self.value.iter_mut().zip(squares) {
            *value = (*value / (square.sqrt() + LEVELLED_FROM * overall)).clamp(-MOST, MOST);
        }
    }

    /// Mean over the neighbourhood of each cell, of the cells inside.
    fn means_near(&self, reach: usize, of: impl Fn(f64) -> f64) -> Vec<f64> {
        let near = |i: usize, length: usize| i.saturating_sub(reach)..(i + reach + 1).min(length);
        (0..self.value.len())
            .map(|i| {
                let (x, y) = (i % self.width, i / self.width);
                let (mut sum, mut count) = (0.0, 0.0);
                for v in near(y, self.height) {
                    for u in near(x, self.width) {
                        let j = v * self.width + u;
                        if self.inside[j] {
                            sum += of(self.value[j]);
                            count += 1.0;
                        }
                    }
                }
                sum / f64::max(count, 1.0)
            })
            .collect()
    }

    /// Over the cells inside; none where they are too few to be known again.
    pub(super) fn standard_deviation(&self) -> Option<f64> {
        const FEWEST: usize = 200;
        let inside: Vec<f64> = self
            .value
            .iter()
            .zip(&self.inside)
            .filter_map(|(v, inside)| inside.then_some(*v))
            .collect();
        if inside.len() < FEWEST {
            return None;
        }
        let n = inside.len() as f64;
        let mean = inside.iter().sum::<f64>() / n;
        Some((inside.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n).sqrt())
    }
}
