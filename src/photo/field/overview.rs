//! The picture at a glance: luminance averaged over blocks.

use crate::plane::{Plane, Rgb};
use ndarray::Array2;
use rayon::prelude::*;

/// Long side of the overview, px: a loupe field spans hundreds of its pixels, and fine marks
/// average away.
const LONG_SIDE_PX: usize = 400;

/// Mean of the three channels in square blocks.
#[derive(Clone, Debug)]
pub struct Overview {
    /// Block means of linear light, 0–1.
    pub light: Plane,
    /// Side of a block, px of the photo.
    pub block_px: usize,
}

impl Overview {
    /// Averages blocks so that the long side comes to about 400 px; blocks cut by the right
    /// and lower edges average what they have.
    #[must_use]
    pub fn of(linear: &Rgb) -> Self {
        let (height, width) = linear[0].dim();
        let block_px = height.max(width).div_ceil(LONG_SIDE_PX).max(1);
        Self {
            light: block_means(linear, block_px),
            block_px,
        }
    }

    /// Overview coordinate to photo coordinate, px (both with pixel centres on whole numbers).
    #[must_use]
    pub fn to_photo_px(&self, at: f64) -> f64 {
        (at + 0.5) * self.block_px as f64 - 0.5
    }
}

fn block_means(linear: &Rgb, block: usize) -> Plane {
    let (height, width) = linear[0].dim();
    let (rows, columns) = (height.div_ceil(block), width.div_ceil(block));
    let mut means = vec![0.0_f32; rows * columns];
    means
        .par_chunks_mut(columns.max(1))
        .enumerate()
        .for_each(|(row, out)| {
            let lines = row * block..((row + 1) * block).min(height);
            for plane in linear {
                for y in lines.clone() {
                    add_line(plane, y, block, out);
                }
            }
            let tall = lines.len() as f32;
            for (column, sum) in out.iter_mut().enumerate() {
                let wide = (width - column * block).min(block) as f32;
                *sum /= 3.0 * tall * wide;
            }
        });
    Array2::from_shape_vec((rows, columns), means).unwrap_or_else(|_| Array2::zeros((0, 0)))
}

fn add_line(plane: &Plane, y: usize, block: usize, sums: &mut [f32]) {
    if let Some(line) = plane.row(y).as_slice() {
        for (sum, cells) in sums.iter_mut().zip(line.chunks(block)) {
            *sum += cells.iter().sum::<f32>();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blocks_cut_by_the_edge_average_what_they_have() {
        let plane = Array2::from_shape_fn((5, 801), |(_, x)| x as f32);
        let overview = Overview::of(&[plane.clone(), plane.clone(), plane]);
        assert_eq!(overview.block_px, 3);
        assert_eq!(overview.light.dim(), (2, 267));
        assert!((overview.light[[1, 0]] - 1.0).abs() < 1e-5);
        assert!((overview.light[[0, 266]] - 799.0).abs() < 1e-3);
        assert!((overview.to_photo_px(0.0) - 1.0).abs() < 1e-12);
    }
}
