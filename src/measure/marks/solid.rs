//! How even the ink lies well inside marks.

use crate::ink::Inked;
use crate::measure::segment::Segments;
use crate::measured::{Measured, NotMeasured};

/// Depth in blurs from which no light comes in over the edge: beyond three standard deviations lies 0.1 % of it.
const MIN_BLURS: f32 = 3.0;
/// And in pixels.
const MIN_DEPTH: f32 = 3.0;
/// Side of the patches that are compared, mm: about the breadth of a broad line.
const PATCH_MM: f64 = 0.2;
/// Least side, px, and the side without a scale.
const PATCH_PX: [usize; 2] = [8, 16];
/// Fewest pixels of ink in a patch, and fewest patches.
const MIN_PIXELS: f64 = 12.0;
const MIN_PATCHES: usize = 12;

/// Standard deviation of density from patch to patch of solid ink, as a share of its mean; `depth` is that of ink.
#[must_use]
pub fn unevenness(inked: &Inked, segments: &Segments, depth: &[f32]) -> Measured {
    let (_, width) = segments.labels.dim();
    let side = inked.px_per_mm().map_or(PATCH_PX[1], |s| {
        ((PATCH_MM * s).round() as usize).max(PATCH_PX[0])
    });
    let columns = width.div_ceil(side).max(1);
    let from = (MIN_BLURS * segments.blur.sigma_px + 1.0).max(MIN_DEPTH);
    let mut patches = vec![(0.0_f64, 0.0_f64); columns * segments.labels.nrows().div_ceil(side)];
    for (i, (&depth, &density)) in depth.iter().zip(&inked.grey_density).enumerate() {
        if depth > from && depth.is_finite() {
            let patch = &mut patches[i / width / side * columns + i % width / side];
            patch.0 += f64::from(density);
            patch.1 += 1.0;
        }
    }
    let means: Vec<f64> = patches
        .iter()
        .filter(|(_, n)| *n >= MIN_PIXELS)
        .map(|(sum, n)| sum / n)
        .collect();
    if means.len() < MIN_PATCHES {
        return NotMeasured::too_few("patches of solid ink", means.len(), MIN_PATCHES).into();
    }
    let n = means.len() as f64;
    let mean = means.iter().sum::<f64>() / n;
    let variance = means.iter().map(|m| (m - mean).powi(2)).sum::<f64>() / (n - 1.0);
    let value = variance.sqrt() / mean;
    Measured::with_standard_error(value, value / (2.0 * n).sqrt(), "1", means.len())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::marks::depth;
    use crate::measure::segment::{self, tests::inked_from};
    use crate::plane::Plane;

    #[test]
    fn bars_of_two_densities_are_uneven_and_bars_of_one_are_not() {
        let bars = |other: f32| {
            let light = Plane::from_shape_fn((400, 600), |(_, x)| match x % 120 {
                20..50 => 10f32.powf(-0.9),
                80..110 => 10f32.powf(-other),
                _ => 1.0,
            });
            let inked = inked_from([light.clone(), light.clone(), light], Some(50.0));
            let segments = segment::find(&inked);
            unevenness(&inked, &segments, &depth::of_ink(&segments))
                .value()
                .unwrap()
        };
        assert!(bars(0.9) < 0.01);
        // Half of it lies at 0.9 and half at 0.7: the deviation is 0.1 of 0.8.
        approx::assert_abs_diff_eq!(bars(0.7), 0.125, epsilon = 0.01);
    }
}
