//! Ink at the rim of marks against ink in their middle.

use crate::ink::Inked;
use crate::measure::segment::Segments;
use crate::measured::{Measured, NotMeasured};
use crate::rank::quantile;

/// Depth inside the edge, in blurs, from which a straight edge no longer takes light from the
/// ground: at two standard deviations it is 2 %.
const RIM_FROM_BLURS: f32 = 2.0;
/// Depth at which the rim ends.
const RIM_TO_BLURS: f32 = 3.0;
/// Depth at which the middle begins.
const MIDDLE_FROM_BLURS: f32 = 4.0;
/// Added to each depth, px: the contour runs half a pixel inside the first ground pixel.
const PIXEL: f32 = 0.5;
/// Sharpest edge that a pixel grid shows, standard deviation in px.
const SHARPEST_PX: f32 = 0.5;
/// Fewest pixels of rim and of middle in a mark.
const MIN_PIXELS: f64 = 12.0;
/// Fewest marks wide enough to have a middle.
const MIN_MARKS: usize = 8;
/// Least density of a middle that is compared: fainter marks drown in the ground's own scatter.
const MIN_DENSITY: f64 = 0.1;

/// Sums of density.
#[derive(Clone, Copy, Default)]
struct Sum {
    density: f64,
    pixels: f64,
}

impl Sum {
    fn add(&mut self, density: f32) {
        self.density += f64::from(density);
        self.pixels += 1.0;
    }

    fn mean(self) -> Option<f64> {
        (self.pixels >= MIN_PIXELS).then(|| self.density / self.pixels)
    }
}

/// Median over the marks of ln(rim / middle); `depth` is [that of ink](super::depth::of_ink).
#[must_use]
pub fn measure(inked: &Inked, segments: &Segments, depth: &[f32]) -> Measured {
    let blur = segments.blur.sigma_px.max(SHARPEST_PX);
    let [rim_from, rim_to, middle_from] =
        [RIM_FROM_BLURS, RIM_TO_BLURS, MIDDLE_FROM_BLURS].map(|b| b * blur + PIXEL);
    let mut sums = vec![[Sum::default(); 2]; segments.marks.len()];
    let places = segments.labels.iter().zip(&inked.grey_density).zip(depth);
    for ((&label, &density), &depth) in places.filter(|((l, _), d)| **l > 0 && d.is_finite()) {
        let sums = &mut sums[label as usize - 1];
        if depth >= middle_from {
            sums[1].add(density);
        } else if (rim_from..rim_to).contains(&depth) {
            sums[0].add(density);
        }
    }
    let ratios: Vec<f64> = sums
        .into_iter()
        .filter_map(|[rim, middle]| {
            let (rim, middle) = (rim.mean()?, middle.mean()?);
            (middle >= MIN_DENSITY && rim > 0.0).then(|| (rim / middle).ln())
        })
        .collect();
    if ratios.len() < MIN_MARKS {
        return NotMeasured::too_few("marks wide enough for a middle", ratios.len(), MIN_MARKS)
            .into();
    }
    let at = |share: f64| quantile(ratios.iter().copied(), share).unwrap_or(0.0);
    // A normal sample's median: its quartiles lie 1.35 σ apart, its own error is 1.25 σ/√n.
    let error = 1.25 * (at(0.75) - at(0.25)) / 1.35 / (ratios.len() as f64).sqrt();
    Measured::with_standard_error(at(0.5), error, "ln D", ratios.len())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::marks::depth;
    use crate::measure::segment::{self, tests::inked_from};
    use crate::plane::Plane;

    /// Squares of 24 px with a frame of 4 px of another density, seen through a blur of 1 px.
    fn squares(rim: f32, middle: f32) -> Measured {
        let density = Plane::from_shape_fn((400, 500), |(y, x)| {
            let depth = |v: usize| match v % 60 {
                v @ 20..44 => (v - 20).min(43 - v),
                _ => usize::MAX,
            };
            match (depth(y), depth(x)) {
                (usize::MAX, _) | (_, usize::MAX) => 0.0,
                (a, b) if a.min(b) < 4 => rim,
                _ => middle,
            }
        });
        let sharp = image::ImageBuffer::<image::Luma<f32>, _>::from_fn(500, 400, |x, y| {
            image::Luma([10f32.powf(-density[[y as usize, x as usize]])])
        });
        let soft = imageproc::filter::gaussian_blur_f32(&sharp, 1.0);
        let light = Plane::from_shape_fn(density.dim(), |(y, x)| {
            soft.get_pixel(x as u32, y as u32).0[0]
        });
        let inked = inked_from([light.clone(), light.clone(), light], Some(50.0));
        let segments = segment::find(&inked);
        measure(&inked, &segments, &depth::of_ink(&segments))
    }

    #[test]
    fn a_thicker_rim_a_thinner_one_and_an_even_mark() {
        // Blur mixes a rim as narrow as four blurs with what lies beside it, so some of it is lost.
        for (rim, middle) in [(0.8, 0.6), (0.6, 0.8)] {
            let drawn = f64::from(rim / middle).ln();
            let found = squares(rim, middle).value().unwrap();
            assert!((0.4..1.1).contains(&(found / drawn)), "{found} for {drawn}");
        }
        let even = squares(0.7, 0.7).value().unwrap();
        assert!(even.abs() < 0.03, "{even}");
    }
}
