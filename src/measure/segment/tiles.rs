//! A quantity that varies slowly over the picture: one value a square tile, straight lines between.

use ndarray::Array2;

/// One value per tile of `tile_px` × `tile_px`, standing at the tile's centre.
#[derive(Clone, Debug)]
pub struct Tiles {
    /// Side of a tile, px.
    pub tile_px: usize,
    /// Values, `[[row, column]]` of tiles; never empty.
    pub values: Array2<f32>,
}

/// Number of tiles that cover a picture of `(height, width)`, at least 1 × 1.
#[must_use]
pub fn tiles_over((height, width): (usize, usize), tile_px: usize) -> (usize, usize) {
    (
        height.div_ceil(tile_px).max(1),
        width.div_ceil(tile_px).max(1),
    )
}

impl Tiles {
    /// Fills `row` with the interpolated values of picture row `y`.
    pub fn fill_row(&self, y: usize, row: &mut [f32]) {
        let across = self.between_rows(y);
        let tile = self.tile_px as f32;
        let last = across.len() - 1;
        let half = (self.tile_px / 2).min(row.len());
        row[..half].fill(across[0]);
        let mut start = half;
        for (i, pair) in across.windows(2).enumerate() {
            let end = (half + (i + 1) * self.tile_px).min(row.len());
            let step = (pair[1] - pair[0]) / tile;
            let mut at = pair[0] + 0.5 * step;
            for value in &mut row[start.min(end)..end] {
                *value = at;
                at += step;
            }
            start = end.max(start);
        }
        row[start..].fill(across[last]);
    }

    fn between_rows(&self, y: usize) -> Vec<f32> {
        let rows = self.values.nrows();
        let at = ((y as f32 + 0.5) / self.tile_px as f32 - 0.5).clamp(0.0, (rows - 1) as f32);
        let above = at as usize;
        let below = (above + 1).min(rows - 1);
        let share = at - above as f32;
        self.values
            .row(above)
            .iter()
            .zip(self.values.row(below))
            .map(|(a, b)| a + share * (b - a))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::array;

    #[test]
    fn a_row_passes_through_the_tile_centres() {
        let tiles = Tiles {
            tile_px: 4,
            values: array![[0.0, 4.0, 8.0], [10.0, 14.0, 18.0]],
        };
        let mut row = vec![0.0; 11];
        tiles.fill_row(1, &mut row);
        // Row 1 lies half a pixel above the centre of the first tile row: clamped to it.
        assert_eq!(row[..2], [0.0, 0.0]);
        assert!((row[2] - 0.5).abs() < 1e-6);
        assert!((row[6] - 4.5).abs() < 1e-6);
        assert_eq!(row[10], 8.0);
    }

    #[test]
    fn a_single_tile_is_flat() {
        let tiles = Tiles {
            tile_px: 8,
            values: array![[3.0]],
        };
        let mut row = vec![0.0; 3];
        tiles.fill_row(0, &mut row);
        assert_eq!(row, [3.0; 3]);
    }
}
