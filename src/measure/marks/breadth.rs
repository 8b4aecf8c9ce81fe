//! How broad the ink is, and the gaps in it, wherever they lie; and how the ink's density goes with its breadth.
//!
//! The breadth is taken along the middle lines of ink and gaps, where the depth is greatest: the local thickness
//! of Hildebrand & Rüegsegger (J. Microscopy 185 (1997) 67, from memory) sampled by length, so that a dot counts
//! little and a long line much, and no mark has to stand alone to be measured.

use super::Quantiles;
use super::size::quantile;
use crate::ink::Inked;
use crate::measure::line_fit;
use crate::measure::segment::Segments;
use crate::measured::{Measured, NotMeasured};
use rayon::prelude::*;

/// Fewest stretches of middle line, each as long as the ink or gap is broad there, for any figure.
const MIN_STRETCHES: usize = 30;
/// By how much a breadth may be off that is read off whole pixels, px.
const PIXEL_ERROR: f64 = 0.5;
/// And by how much steps of 1 and √2 may still be off, as a share, where ink runs one way: 5 % along the rows.
const STEPS_ERROR: f64 = 0.055;
/// Depth in blurs (standard deviation of an edge) from which the middle of ink shows its whole density: the edges
/// on both sides then take 13 % of it at most.
const MIN_BLURS: f32 = 1.5;
/// Least density of a middle that is compared: fainter ones drown in the ground's own scatter.
const MIN_DENSITY: f32 = 0.05;
/// Least standard deviation of ln breadth that bears a slope.
const MIN_SPREAD: f64 = 0.05;

/// How much longer steps of 1 and √2 make a distance than it is, mean of all directions:
/// 8/π · (sin 45° + (√2 − 1)(1 − cos 45°)); between 1 and 1.08.
const STEPS_OVERSTATE: f64 = 1.055;
/// What the depth of a middle has over half the breadth, px: a middle line lies between pixels as often as on
/// one; an odd breadth is 2·depth − 1, an even one 2·depth.
const QUARTER_PX: f32 = 0.25;

/// A pixel of the middle line of ink or of a gap.
#[derive(Clone, Copy, Debug)]
pub struct Middle {
    /// Depth there, px.
    depth: f32,
    /// Grey density there.
    density: f32,
}

impl Middle {
    /// Breadth of the ink or gap there, px.
    fn breadth(self) -> f64 {
        2.0 * f64::from(self.depth - QUARTER_PX) / STEPS_OVERSTATE
    }
}

/// Breadth along some middle lines, µm.
#[must_use]
pub fn quantiles_um(inked: &Inked, middles: &[Middle]) -> Quantiles {
    let Some(scale) = &inked.scale else {
        return Quantiles::missing(&NotMeasured::no_scale());
    };
    let mut px: Vec<f64> = middles.iter().map(|m| m.breadth()).collect();
    px.par_sort_unstable_by(f64::total_cmp);
    let stretches = stretches(&px);
    if stretches < MIN_STRETCHES {
        return Quantiles::missing(&NotMeasured::too_few(
            "stretches of middle line",
            stretches,
            MIN_STRETCHES,
        ));
    }
    let um_per_px = 1000.0 / scale.value;
    let scale_error = 0.5 * (scale.hi - scale.lo) / scale.value;
    let um: Vec<f64> = px.iter().map(|b| b * um_per_px).collect();
    let off = |value: f64| PIXEL_ERROR * um_per_px + value * STEPS_ERROR.hypot(scale_error);
    let at = |share: f64| quantile(&um, stretches, share, "µm", off);
    Quantiles {
        p10: at(0.1),
        p50: at(0.5),
        p90: at(0.9),
    }
}

/// Power of the ink's breadth with which its density rises along its middle lines. 0 = one thickness of ink
/// everywhere, above 0 where broad lines lie thicker than fine ones.
#[must_use]
pub fn deepening(segments: &Segments, ink: &[Middle]) -> Measured {
    let least = MIN_BLURS * segments.blur.sigma_px;
    let broad: Vec<&Middle> = ink
        .iter()
        .filter(|m| m.depth - QUARTER_PX > least && m.density > MIN_DENSITY)
        .collect();
    let breadths: Vec<f64> = broad.iter().map(|m| m.breadth()).collect();
    let stretches = stretches(&breadths);
    if stretches < MIN_STRETCHES {
        return NotMeasured::too_few("stretches of broad ink", stretches, MIN_STRETCHES).into();
    }
    let logs: Vec<(f64, f64)> = broad
        .iter()
        .map(|m| (m.breadth().ln(), f64::from(m.density).ln()))
        .collect();
    let Some(fit) = line_fit::line(&logs).filter(|fit| fit.spread >= MIN_SPREAD) else {
        return Measured::missing("the ink is of one breadth; include fine and broad marks");
    };
    let se = fit.error * (logs.len() as f64 / stretches as f64).sqrt();
    Measured::with_standard_error(fit.slope, se, "1", stretches)
}

/// How many independent samples some middle lines are: as many as they have stretches as long as they are broad.
fn stretches(breadths: &[f64]) -> usize {
    breadths.iter().map(|b| 1.0 / b).sum::<f64>() as usize
}

/// The pixels at which a depth, of ink or of gaps, is greatest among their neighbours.
#[must_use]
pub fn middles(inked: &Inked, segments: &Segments, depth: &[f32]) -> Vec<Middle> {
    let (height, width) = segments.labels.dim();
    let rows: Vec<Vec<Middle>> = (1..height.max(2) - 1)
        .into_par_iter()
        .map(|y| {
            let row = |y: usize| &depth[y * width..(y + 1) * width];
            let (above, here, below) = (row(y - 1), row(y), row(y + 1));
            (1..width.max(2) - 1)
                .filter(|&x| {
                    let d = here[x];
                    let highest = |row: &[f32]| row[x - 1].max(row[x]).max(row[x + 1]);
                    // Most pixels fall out at the first neighbours.
                    d > 0.0
                        && d >= here[x - 1]
                        && d >= here[x + 1]
                        && d.is_finite()
                        && d >= highest(above)
                        && d >= highest(below)
                })
                .map(|x| Middle {
                    depth: here[x],
                    density: inked.grey_density[[y, x]],
                })
                .collect()
        })
        .collect();
    rows.concat()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::marks::depth;
    use crate::measure::segment::{self, tests::inked_from};
    use crate::plane::Plane;

    /// Upright lines of the widths given, px, in turn, 60 px from one to the next, of the density that `of` gives.
    fn lines(widths: &[usize], of: impl Fn(usize) -> f32) -> (Inked, Segments) {
        let light = Plane::from_shape_fn((400, 600), |(_, x)| {
            let width = widths[x / 60 % widths.len()];
            let density = if (20..20 + width).contains(&(x % 60)) {
                of(width)
            } else {
                0.0
            };
            10f32.powf(-density)
        });
        let inked = inked_from([light.clone(), light.clone(), light], Some(50.0));
        let segments = segment::find(&inked);
        (inked, segments)
    }

    #[test]
    fn lines_and_the_gaps_between_have_their_breadth() {
        let (inked, segments) = lines(&[8], |_| 0.9);
        let breadth = |depth: &[f32]| quantiles_um(&inked, &middles(&inked, &segments, depth));
        let ink = breadth(&depth::of_ink(&segments));
        let gaps = breadth(&depth::of_gaps(&inked, &segments));
        // 8 px and 52 px at 50 px/mm. Of upright lines the steps overstate nothing, so what is taken off for it is
        // too much by 5 %; and an even breadth comes out half a pixel narrow.
        for (found, drawn) in [(ink, 160.0), (gaps, 1040.0)] {
            let figure = found.p50.figure().unwrap().clone();
            approx::assert_abs_diff_eq!(figure.value, drawn, epsilon = 10.0 + 0.055 * drawn);
            // The worst case lies at the very end of the interval.
            assert!(figure.lo < drawn && drawn < figure.hi + 0.1, "{figure:?}");
        }
    }

    #[test]
    fn ink_that_lies_thicker_in_broad_lines_is_told_from_ink_of_one_thickness() {
        let slope = |of: fn(usize) -> f32| {
            let (inked, segments) = lines(&[8, 16, 24], of);
            let ink = middles(&inked, &segments, &depth::of_ink(&segments));
            deepening(&segments, &ink).value().unwrap()
        };
        approx::assert_abs_diff_eq!(slope(|_| 0.9), 0.0, epsilon = 0.05);
        approx::assert_abs_diff_eq!(
            slope(|width| 0.9 * (width as f32 / 24.0).sqrt()),
            0.5,
            epsilon = 0.1
        );
    }
}
