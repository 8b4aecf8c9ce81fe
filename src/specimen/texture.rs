//! Random fields of a given grain: paper fibre, mottle, rough edges, sensor noise.
//!
//! Every field is a function of a key and of the position alone, so that it comes out the same
//! whatever the number of threads.

use crate::plane::Plane;
use rayon::prelude::*;

/// Turns a key and a lattice position into 64 well-mixed bits (SplitMix64's finisher,
/// Steele, Lea & Flood 2014).
#[must_use]
pub fn mix(key: u64, x: u64, y: u64) -> u64 {
    let mut z = key
        .wrapping_add(x.wrapping_mul(0x9E37_79B9_7F4A_7C15))
        .wrapping_add(y.wrapping_mul(0xD1B5_4A32_D192_ED03));
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

/// Uniform in [0, 1) at a lattice position.
#[must_use]
pub fn uniform(key: u64, x: u64, y: u64) -> f32 {
    (mix(key, x, y) >> 40) as f32 / (1u64 << 24) as f32
}

/// Close to a standard normal at a lattice position: the sum of four 16-bit uniforms
/// (kurtosis 2.7, cut off at ±3.46), which is ample for textures and sensor noise.
#[must_use]
pub fn normal(key: u64, x: u64, y: u64) -> f32 {
    let bits = mix(key, x, y);
    let sum = (bits & 0xFFFF) + ((bits >> 16) & 0xFFFF) + ((bits >> 32) & 0xFFFF) + (bits >> 48);
    // Mean 2 and variance 4/12 in units of 2^16.
    (sum as f32 / 65_536.0 - 2.0) * 1.732_050_8
}

/// Smooth noise with zero mean and unit variance whose features are about `grain_px` across.
///
/// Shape `[height, width]`. Grain under one pixel gives white noise.
#[must_use]
pub fn field(key: u64, size_px: [usize; 2], grain_px: f64) -> Plane {
    field_stretched(key, size_px, [grain_px, grain_px])
}

/// As [`field`], with a different grain along x and y.
#[must_use]
pub fn field_stretched(key: u64, size_px: [usize; 2], grain_px: [f64; 2]) -> Plane {
    let [w, h] = size_px;
    let mut plane = Plane::zeros((h, w));
    if w == 0 || h == 0 {
        return plane;
    }
    let columns = axis(w, grain_px[0]);
    let rows = axis(h, grain_px[1]);
    let lattice = LatticeRows::new(key, &columns);
    if let Some(cells) = plane.as_slice_mut() {
        // Lattice rows are expanded along x once and reused by all picture rows between them.
        let expanded: Vec<Vec<f32>> = lattice.expand_all(&rows);
        cells.par_chunks_mut(w).zip(&rows).for_each(|(row, at)| {
            for (x, cell) in row.iter_mut().enumerate() {
                *cell = (0..4)
                    .map(|k| at.weights[k] * expanded[at.first + k][x])
                    .sum();
            }
        });
    }
    plane
}

/// Where one pixel lies between lattice points: index of the first of four, and their weights.
struct Between {
    first: usize,
    weights: [f32; 4],
}

fn axis(length: usize, grain_px: f64) -> Vec<Between> {
    let grain = grain_px.max(1.0);
    (0..length)
        .map(|i| {
            let at = i as f64 / grain;
            let first = at.floor();
            let weights = if grain_px < 1.0 {
                [1.0, 0.0, 0.0, 0.0]
            } else {
                bspline_unit_variance((at - first) as f32)
            };
            Between {
                first: first as usize,
                weights,
            }
        })
        .collect()
}

/// Cubic B-spline weights, scaled so that white lattice noise keeps unit variance everywhere.
fn bspline_unit_variance(t: f32) -> [f32; 4] {
    let s = 1.0 - t;
    let raw = [
        s * s * s,
        3.0 * t * t * t - 6.0 * t * t + 4.0,
        3.0 * s * s * s - 6.0 * s * s + 4.0,
        t * t * t,
    ];
    let norm = raw.iter().map(|v| v * v).sum::<f32>().sqrt();
    raw.map(|v| v / norm)
}

struct LatticeRows<'a> {
    key: u64,
    columns: &'a [Between],
}

impl<'a> LatticeRows<'a> {
    fn new(key: u64, columns: &'a [Between]) -> Self {
        Self { key, columns }
    }

    fn expand_all(&self, rows: &[Between]) -> Vec<Vec<f32>> {
        let last = rows.last().map_or(0, |at| at.first) + 4;
        (0..last).into_par_iter().map(|y| self.expand(y)).collect()
    }

    fn expand(&self, y: usize) -> Vec<f32> {
        let count = self.columns.last().map_or(0, |at| at.first) + 4;
        let points: Vec<f32> = (0..count)
            .map(|x| normal(self.key, x as u64, y as u64))
            .collect();
        self.columns
            .iter()
            .map(|at| (0..4).map(|k| at.weights[k] * points[at.first + k]).sum())
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moments(plane: &Plane) -> (f64, f64) {
        let n = plane.len() as f64;
        let mean = plane.iter().map(|&v| f64::from(v)).sum::<f64>() / n;
        let var = plane
            .iter()
            .map(|&v| (f64::from(v) - mean).powi(2))
            .sum::<f64>()
            / n;
        (mean, var)
    }

    #[test]
    fn fields_have_zero_mean_and_unit_variance() {
        for grain in [0.5, 1.7, 4.3] {
            let (mean, var) = moments(&field(7, [401, 307], grain));
            assert!(mean.abs() < 0.05, "grain {grain}: mean {mean}");
            assert!((var - 1.0).abs() < 0.08, "grain {grain}: variance {var}");
        }
    }

    #[test]
    fn neighbours_agree_within_the_grain_and_not_beyond() {
        let plane = field(11, [600, 400], 8.0);
        let correlation = |lag: usize| {
            let mut sum = 0.0;
            let mut n = 0.0;
            for y in 0..400 {
                for x in 0..600 - lag {
                    sum += f64::from(plane[[y, x]] * plane[[y, x + lag]]);
                    n += 1.0;
                }
            }
            sum / n
        };
        assert!(correlation(2) > 0.8);
        assert!(correlation(40).abs() < 0.1);
    }

    #[test]
    fn an_empty_or_thin_field_is_no_accident() {
        assert_eq!(field(1, [0, 5], 3.0).dim(), (5, 0));
        assert_eq!(field(1, [1, 900], 50.0).dim(), (900, 1));
    }
}
