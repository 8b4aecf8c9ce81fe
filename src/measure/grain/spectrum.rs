//! Power over radial frequency in a square window.

use super::windows::SIDE_PX;
use ndarray::Array2;
use rustfft::{FftPlanner, num_complex::Complex};

/// Power at whole-number radial frequencies 1…[`SIDE_PX`]/2 cycles a window, mean over directions, Hann
/// window; the window's own weighted mean is taken off first.
#[must_use]
pub fn radial(values: &Array2<f32>) -> Vec<f64> {
    let hann: Vec<f32> = (0..SIDE_PX)
        .map(|i| 0.5 - 0.5 * (std::f32::consts::TAU * (i as f32 + 0.5) / SIDE_PX as f32).cos())
        .collect();
    let weighted: f32 = values
        .indexed_iter()
        .map(|((y, x), v)| v * hann[y] * hann[x])
        .sum();
    let mean = weighted / hann.iter().sum::<f32>().powi(2);
    let mut grid = Array2::from_shape_fn(values.dim(), |(y, x)| {
        Complex::new((values[[y, x]] - mean) * hann[x] * hann[y], 0.0)
    });
    let plan = FftPlanner::new().plan_fft_forward(SIDE_PX);
    for _ in 0..2 {
        if let Some(all) = grid.as_slice_mut() {
            plan.process(all);
        }
        grid = grid.t().as_standard_layout().to_owned();
    }
    let half = SIDE_PX / 2;
    let mut sums = vec![(0.0_f64, 0_usize); half + 1];
    for ((y, x), value) in grid.indexed_iter() {
        let (fy, fx) = (y.min(SIDE_PX - y), x.min(SIDE_PX - x));
        let radius = (fx as f64).hypot(fy as f64).round() as usize;
        if (1..=half).contains(&radius) {
            sums[radius].0 += f64::from(value.norm_sqr());
            sums[radius].1 += 1;
        }
    }
    sums[1..]
        .iter()
        .map(|&(sum, n)| sum / n.max(1) as f64)
        .collect()
}
