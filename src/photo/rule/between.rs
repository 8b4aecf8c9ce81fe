//! Whether finer strokes stand between those counted: then the row is of a rule's long graduations only, and
//! its spacing is a multiple of the shortest.

use super::ends::{Course, FromBaseline};
use super::straighten::Strip;
use crate::photo::field::quantile;

/// Said of such a row.
pub(super) const FINER: &str = "finer strokes stand between those that could be counted";
/// A finer stroke stands out from the ground on both sides of it by this share of the contrast of the counted
/// ones. Strokes half as wide, blurred as much, keep some two fifths. The rim that a camera's sharpening draws
/// along strokes leaves a hump between two rims, but a low one: an overshoot by a fifth of the edge is a
/// twentieth of the logarithm of light on a light ground and a sixth on a dark one.
const STANDS_OUT: f32 = 0.2;
/// Rows looked at together: half a band, so that the shortest strokes fill one.
const ROWS: usize = 4;
/// Samples to a px: finer strokes may stand only some px apart.
const SAMPLES_PER_PX: f64 = 2.0;
/// Fewest gaps that must be seen whole for a depth to be judged.
const FEWEST_GAPS: usize = 4;

/// Counted strokes: number in the row, and place in the course's middle row.
pub(super) type Stroke = (i64, f64);

/// Whether, at any depth that the strokes reach from their baseline, most of the gaps between neighbours hold
/// a stroke at the same share of the way.
pub(super) fn finer_strokes(
    strip: &Strip,
    strokes: &[Stroke],
    ends: &FromBaseline,
    course: &Course,
) -> bool {
    let lengths = ends.lengths.iter().map(|v| *v as f32);
    // The longest but a few, which may have run into a numeral.
    let deepest = quantile(lengths, 0.9) as usize;
    let gaps: Vec<Vec<f32>> = (0..deepest)
        .step_by(ROWS)
        .filter_map(|depth| usual_gap(strip, strokes, ends, course, depth))
        .collect();
    // The strokes stand at the first sample of a gap.
    let own = gaps
        .iter()
        .filter_map(|gap| Some(gap.first()? - lowest(gap)))
        .fold(0.0, f32::max);
    gaps.iter()
        .any(|gap| own > 0.0 && prominence(gap) >= STANDS_OUT * own)
}

/// Strength along the way from a stroke to the next, median over the gaps, in the rows at `depth` from the
/// baseline. A numeral or a speck stands in a few gaps only, and so is not seen.
fn usual_gap(
    strip: &Strip,
    strokes: &[Stroke],
    ends: &FromBaseline,
    course: &Course,
    depth: usize,
) -> Option<Vec<f32>> {
    let samples = (SAMPLES_PER_PX * course.spacing).ceil() as usize;
    let gaps: Vec<Vec<f32>> = strokes
        .windows(2)
        .zip(&ends.line)
        .filter(|(pair, _)| pair[1].0 == pair[0].0 + 1)
        .map(|(pair, line)| {
            (0..=samples)
                .map(|i| pair[0].1 + (pair[1].1 - pair[0].1) * i as f64 / samples as f64)
                .map(|x| mean_of_rows(strip, x, line + ends.towards * depth as f64, ends, course))
                .collect()
        })
        .filter(|gap: &Vec<f32>| gap.iter().all(|v| v.is_finite()))
        .collect();
    (gaps.len() >= FEWEST_GAPS).then(|| {
        (0..=samples)
            .map(|i| quantile(gaps.iter().map(|gap| gap[i]), 0.5))
            .collect()
    })
}

/// Mean strength of the rows from `row` on, away from the baseline.
fn mean_of_rows(strip: &Strip, x: f64, row: f64, ends: &FromBaseline, course: &Course) -> f32 {
    let sum: f32 = (0..ROWS)
        .map(|i| (row + ends.towards * i as f64).round())
        .map(|y| {
            if y >= 0.0 {
                course.strength(strip, x, y as usize)
            } else {
                f32::NAN
            }
        })
        .sum();
    sum / ROWS as f32
}

fn lowest(values: &[f32]) -> f32 {
    values.iter().copied().fold(f32::INFINITY, f32::min)
}

/// How far the highest peak inside rises above the lowest points on both its sides; the flanks of the strokes
/// at the ends are no peaks.
fn prominence(gap: &[f32]) -> f32 {
    (1..gap.len().saturating_sub(1))
        .map(|i| gap[i] - lowest(&gap[..i]).max(lowest(&gap[i + 1..])))
        .fold(0.0, f32::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn flanks_are_no_strokes() {
        assert!(prominence(&[1.0, 0.6, 0.2, 0.0, 0.1, 0.5, 1.0]) < 0.01);
        assert!(prominence(&[1.0, 0.2, 0.0, 0.6, 0.1, 0.5, 1.0]) > 0.49);
        assert!(prominence(&[]).abs() < f32::EPSILON);
    }
}
