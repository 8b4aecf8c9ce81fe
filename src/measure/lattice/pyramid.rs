//! Densities at full, half, quarter … resolution, made fit for spectra.

use crate::ink::Inked;
use crate::plane::{Mask, Plane};
use ndarray::{Array2, Axis};
use rayon::prelude::*;

/// Density above which a photograph holds more noise than screen; deeper values are cut here.
pub const DENSITY_CEILING: f32 = 1.5;
/// Smallest side, in samples, of a level worth looking at.
const MIN_SIDE: usize = 96;
/// Coarsest level: 8 px a sample.
const MAX_LEVELS: usize = 4;

/// One resolution.
#[derive(Clone, Debug)]
pub struct Level {
    /// Pixels of the photograph per sample.
    pub step_px: usize,
    /// Densities R, G, B less their means (one plane for a grey photograph); 0 where not usable.
    pub channels: Vec<Plane>,
    /// The means taken off, density.
    pub means: Vec<f32>,
    /// Samples all of whose pixels may be used.
    pub usable: Mask,
}

impl Level {
    /// Height and width in samples.
    #[must_use]
    pub fn shape(&self) -> (usize, usize) {
        self.usable.dim()
    }

    /// Position in px of the photograph of a sample's centre.
    #[must_use]
    pub fn to_px(&self, sample: f64) -> f64 {
        (sample + 0.5) * self.step_px as f64 - 0.5
    }

    fn halved(&self) -> Self {
        Self {
            step_px: self.step_px * 2,
            channels: self.channels.par_iter().map(halve).collect(),
            means: self.means.clone(),
            usable: halve_mask(&self.usable),
        }
    }
}

/// The levels of a photograph, finest first.
#[must_use]
pub fn build(inked: &Inked) -> Vec<Level> {
    let planes: Vec<&Plane> = if inked.grey {
        vec![&inked.grey_density]
    } else {
        inked.density.iter().collect()
    };
    let (channels, means) = planes
        .into_par_iter()
        .map(|plane| centred(plane, &inked.usable))
        .unzip();
    let mut levels = vec![Level {
        step_px: 1,
        channels,
        means,
        usable: inked.usable.clone(),
    }];
    while levels.len() < MAX_LEVELS {
        let last = &levels[levels.len() - 1];
        let (height, width) = last.shape();
        if height.min(width) / 2 < MIN_SIDE {
            break;
        }
        let next = last.halved();
        levels.push(next);
    }
    levels
}

/// Density cut at the ceiling, less its mean over the usable field.
fn centred(plane: &Plane, usable: &Mask) -> (Plane, f32) {
    let cut = |d: f32| d.clamp(-0.3, DENSITY_CEILING);
    // Row by row, summed in their order: the same on any number of threads.
    let rows: Vec<(f64, usize)> = plane
        .outer_iter()
        .into_par_iter()
        .zip(usable.outer_iter())
        .map(|(row, usable)| {
            let (mut sum, mut count) = (0.0_f64, 0_usize);
            for (&density, &usable) in row.iter().zip(usable) {
                sum += if usable { f64::from(cut(density)) } else { 0.0 };
                count += usize::from(usable);
            }
            (sum, count)
        })
        .collect();
    let sum: f64 = rows.iter().map(|(sum, _)| sum).sum();
    let count: usize = rows.iter().map(|(_, count)| count).sum();
    let mean = (sum / count.max(1) as f64) as f32;
    let centred = ndarray::Zip::from(plane)
        .and(usable)
        .par_map_collect(|&d, &u| if u { cut(d) - mean } else { 0.0 });
    (centred, mean)
}

fn halve(plane: &Plane) -> Plane {
    let (height, width) = plane.dim();
    let (h, w) = (height / 2, width / 2);
    let source = plane.as_standard_layout();
    let Some(data) = source.as_slice() else {
        return Array2::zeros((h, w));
    };
    let mut out = Vec::with_capacity(h * w);
    for y in 0..h {
        let upper = &data[2 * y * width..][..width];
        let lower = &data[(2 * y + 1) * width..][..width];
        out.extend(
            upper
                .chunks_exact(2)
                .zip(lower.chunks_exact(2))
                .map(|(a, b)| 0.25 * (a[0] + a[1] + b[0] + b[1])),
        );
    }
    Array2::from_shape_vec((h, w), out).unwrap_or_else(|_| Array2::zeros((h, w)))
}

fn halve_mask(mask: &Mask) -> Mask {
    let (h, w) = (mask.nrows() / 2, mask.ncols() / 2);
    let mut out = Mask::from_elem((h, w), false);
    for (mut row, two) in out.outer_iter_mut().zip(mask.axis_chunks_iter(Axis(0), 2)) {
        let (upper, lower) = (two.row(0), two.row(1));
        for (x, usable) in row.iter_mut().enumerate() {
            *usable = upper[2 * x] & upper[2 * x + 1] & lower[2 * x] & lower[2 * x + 1];
        }
    }
    out
}
