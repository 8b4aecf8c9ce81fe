//! Histogram of mark sizes.

use super::Chart;
use super::axis::{Axis, at, below, beside};
use crate::measure::segment::Mark;
use crate::rank::median;
use crate::report::words::standing;
use crate::report::{figures, words};
use maud::html;
use std::f64::consts::PI;

const TITLE: &str = "How large the marks are";
/// Fewer marks make no shape worth showing.
const FEWEST: usize = 20;
/// Bars: enough to see one or two peaks, few enough to be counted in.
const BARS: usize = 28;
/// Share of the marks on the axis; the few largest (letters, blots) would squeeze the rest.
const SHOWN_SHARE: f64 = 0.98;

/// The histogram over marks that are not cut by the edge of the field.
#[must_use]
pub fn draw(marks: &[Mark], px_per_mm: Option<f64>) -> Chart {
    let (per_px, unit) = px_per_mm.map_or((1.0, "px"), |scale| (1000.0 / scale, "µm"));
    let mut sizes: Vec<f64> = marks
        .iter()
        .filter(|mark| !mark.cut && mark.area_px > 0.0)
        .map(|mark| 2.0 * (mark.area_px / PI).sqrt() * per_px)
        .collect();
    if sizes.len() < FEWEST {
        return Chart::Missing {
            title: TITLE,
            why: format!(
                "only {} lie wholly inside the field, {FEWEST} needed",
                words::counted(sizes.len(), "separate mark")
            ),
        };
    }
    sizes.sort_by(f64::total_cmp);
    let top = sizes[((sizes.len() - 1) as f64 * SHOWN_SHARE) as usize];
    let counts = counted(&sizes, top);
    let beyond = sizes.iter().filter(|s| **s > top).count();
    Chart::Drawn {
        title: TITLE.into(),
        aid: standing::SIZES_AID,
        svg: bars(
            &counts,
            top,
            median(sizes.iter().copied()).unwrap_or(0.0),
            beyond,
            unit,
        ),
    }
}

fn counted(sizes: &[f64], top: f64) -> [usize; BARS] {
    let mut counts = [0; BARS];
    for size in sizes.iter().filter(|s| **s <= top) {
        let bar = (size / top * BARS as f64) as usize;
        counts[bar.min(BARS - 1)] += 1;
    }
    counts
}

fn bars(counts: &[usize; BARS], top: f64, median: f64, beyond: usize, unit: &str) -> maud::Markup {
    let most = counts.iter().copied().max().unwrap_or(1).max(1) as f64;
    let across = Axis::new(0.0, top, 64.0, 540.0);
    let up = Axis::new(0.0, most, 220.0, 24.0);
    let width = (540.0 - 64.0) / BARS as f64;
    let label = format!("diameter of the circle with the same area, {unit}");
    html! {
        svg viewBox="0 0 560 264" role="img" aria-label=(TITLE) {
            @for (i, count) in counts.iter().enumerate() {
                @let y = up.place(*count as f64);
                rect class="bar" x=(at(64.0 + i as f64 * width + 0.5)) y=(at(y))
                    width=(at(width - 1.0)) height=(at(220.0 - y)) {}
            }
            @let x = across.place(median);
            line class="mean" x1=(at(x)) x2=(at(x)) y1="20" y2="220" {}
            text class="note" x=(at(x + 5.0)) y="18" {
                "middle " (figures::plain(median)) "\u{a0}" (unit)
            }
            @if beyond > 0 {
                text class="note" x="540" y="36" text-anchor="end" {
                    "and " (words::counted(beyond, "larger mark"))
                }
            }
            (below(&across, 220.0, &label))
            (beside(&up, 64.0, "number of marks"))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_size_up_to_the_top_is_counted_once() {
        let sizes: Vec<f64> = (1..=200).map(|i| f64::from(i) * 0.31).collect();
        let counts = counted(&sizes, 50.0);
        assert_eq!(
            counts.iter().sum::<usize>(),
            sizes.iter().filter(|s| **s <= 50.0).count()
        );
    }

    #[test]
    fn few_marks_give_a_reason_and_no_chart() {
        let Chart::Missing { why, .. } = draw(&[], Some(50.0)) else {
            panic!("drawn from nothing");
        };
        assert!(why.contains("0 separate marks"), "{why}");
    }
}
