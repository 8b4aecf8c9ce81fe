//! Where strokes end, and their lengths from the baseline they share.

use super::RuleError;
use super::bands::along_row;
use super::straighten::{BAND_PX, Strip};
use crate::photo::field::quantile;

/// Largest deviation of the ends on the baseline, share of the median length (or 2 px).
const BASELINE_SHARE: f64 = 0.08;
const BASELINE_PX: f64 = 2.0;
/// A tick ends where its contrast stays under this share of its own for so many rows.
const END_SHARE: f32 = 0.45;
const END_ROWS: usize = 3;

/// How the strokes of a row run through the strip.
pub(super) struct Course {
    /// Slant: change of x per row.
    pub shear: f64,
    /// Row at which the places of the strokes are given.
    pub middle: f64,
    /// Distance of neighbouring strokes along x.
    pub spacing: f64,
    /// 1 for dark strokes, −1 for bright ones.
    pub sign: f32,
}

impl Course {
    /// Darkness (or brightness, as the sign says) in row `y` on the line that goes through `x` in the middle row.
    pub fn strength(&self, strip: &Strip, x: f64, y: usize) -> f32 {
        -self.sign * along_row(strip, y, x + self.shear * (y as f64 - self.middle))
    }
}

/// First and last row of the stroke through (`x`, the middle row); `None` when it runs out of the picture.
pub(super) fn extent(strip: &Strip, x: f64, course: &Course) -> Option<(f64, f64)> {
    let half = course.spacing / 2.0;
    let contrast = |y: usize| {
        let [left, on, right, before, after] =
            [-1.0, 0.0, 1.0, -half, half].map(|d| course.strength(strip, x + d, y));
        [left, on, right]
            .into_iter()
            .fold(f32::NEG_INFINITY, f32::max)
            - 0.5 * (before + after)
    };
    let centre = course.middle.max(0.0) as usize;
    let rows = strip.log_light.nrows();
    let reach = BAND_PX / 2;
    let own = (centre.saturating_sub(reach)..(centre + reach).min(rows))
        .map(contrast)
        .filter(|v| v.is_finite());
    let level = END_SHARE * quantile(own, 0.5);
    let walk = |rows: &mut dyn Iterator<Item = usize>| {
        let (mut end, mut below) = (centre, 0);
        for y in rows {
            let here = contrast(y);
            if !here.is_finite() {
                return None;
            }
            if here >= level {
                end = y;
                below = 0;
            } else {
                below += 1;
                if below >= END_ROWS {
                    return Some(end as f64);
                }
            }
        }
        None
    };
    Some((walk(&mut (0..centre).rev())?, walk(&mut (centre..rows))?))
}

/// Strokes measured from their common baseline.
pub(super) struct FromBaseline {
    /// Row of the baseline at each stroke.
    pub line: Vec<f64>,
    /// 1 where the strokes hang down from the baseline, −1 where they stand up on it.
    pub towards: f64,
    pub lengths: Vec<f64>,
}

impl FromBaseline {
    /// `xs` are the strokes' places, `ends` their first and last rows.
    pub fn of(xs: &[f64], ends: &[(f64, f64)]) -> Result<Self, RuleError> {
        let (upper, lower): (Vec<f64>, Vec<f64>) = ends.iter().copied().unzip();
        let (above, below) = (EndLine::through(xs, &upper), EndLine::through(xs, &lower));
        let tall = ends.iter().map(|(a, b)| (b - a) as f32);
        let usual = f64::from(quantile(tall, 0.5));
        let (base, far, towards) = if above.straying(usual) <= below.straying(usual) {
            (above, &lower, 1.0)
        } else {
            (below, &upper, -1.0)
        };
        let lengths: Vec<f64> = base
            .line
            .iter()
            .zip(far)
            .map(|(a, b)| (a - b).abs())
            .collect();
        let typical = f64::from(quantile(lengths.iter().map(|v| *v as f32), 0.5));
        if base.median_off() > (BASELINE_SHARE * typical).max(BASELINE_PX) {
            return Err(RuleError::NotARule(
                "their ends stand on no common baseline".into(),
            ));
        }
        Ok(Self {
            line: base.line,
            towards,
            lengths,
        })
    }
}

/// A robust line through the ends on one side: its rows at the strokes, and how far each end lies off it.
struct EndLine {
    line: Vec<f64>,
    off: Vec<f64>,
}

impl EndLine {
    /// The slope is the median of those of pairs half the row apart.
    fn through(xs: &[f64], ends: &[f64]) -> Self {
        let half = xs.len() / 2;
        let slopes = (0..xs.len() - half)
            .filter(|i| xs[i + half] > xs[*i])
            .map(|i| ((ends[i + half] - ends[i]) / (xs[i + half] - xs[i])) as f32);
        let slope = f64::from(quantile(slopes, 0.5));
        let levels = xs.iter().zip(ends).map(|(x, e)| (e - slope * x) as f32);
        let level = f64::from(quantile(levels, 0.5));
        let line: Vec<f64> = xs.iter().map(|x| level + slope * x).collect();
        let off = line.iter().zip(ends).map(|(a, b)| (a - b).abs()).collect();
        Self { line, off }
    }

    fn median_off(&self) -> f64 {
        f64::from(quantile(self.off.iter().map(|v| *v as f32), 0.5))
    }

    /// Mean distance of the ends from the line, by which the baseline is told from the free ends. A median
    /// cannot tell it: where one stroke in five is longer, four in five free ends lie on a line as well, and
    /// which line is the better then hangs on rounding. One end astray counts for a usual stroke at most.
    fn straying(&self, usual: f64) -> f64 {
        self.off.iter().map(|off| off.min(usual)).sum::<f64>() / self.off.len().max(1) as f64
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Free ends that lie on their line better than those on the baseline, but for every fifth.
    #[test]
    fn the_baseline_is_the_side_of_all_ends() {
        let xs: Vec<f64> = (0..40).map(|k| 20.0 * f64::from(k)).collect();
        let ends = |k: i32| {
            let base = 100.0 + f64::from(k % 2);
            let free = if k % 5 == 0 { 180.0 } else { 150.0 };
            (base, free)
        };
        let hanging: Vec<(f64, f64)> = (0..40).map(ends).collect();
        let found = FromBaseline::of(&xs, &hanging).expect("one baseline");
        assert!(found.towards > 0.0 && found.lengths[5] > 1.4 * found.lengths[6]);
        let standing: Vec<(f64, f64)> = hanging.iter().map(|(a, b)| (-b, -a)).collect();
        let found = FromBaseline::of(&xs, &standing).expect("one baseline");
        assert!(found.towards < 0.0 && found.lengths[5] > 1.4 * found.lengths[6]);
    }
}
