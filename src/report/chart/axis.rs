//! Axes: places, ticks and labels.

use crate::report::figures;
use maud::{Markup, html};

/// Ticks aimed at on an axis; more crowd a chart on a phone.
const TICKS: f64 = 5.0;

/// A linear axis from values to places in the drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    lo: f64,
    hi: f64,
    from: f64,
    to: f64,
}

impl Axis {
    /// An axis over `lo..hi` (widened where empty or not finite) drawn between two places.
    #[must_use]
    pub fn new(lo: f64, hi: f64, from: f64, to: f64) -> Self {
        let sound = lo.is_finite() && hi.is_finite() && hi > lo;
        let (lo, hi) = if sound { (lo, hi) } else { (0.0, 1.0) };
        Self { lo, hi, from, to }
    }

    /// Place of a value; values outside are put on the nearer end.
    #[must_use]
    pub fn place(&self, value: f64) -> f64 {
        let share = ((value - self.lo) / (self.hi - self.lo)).clamp(0.0, 1.0);
        self.from + share * (self.to - self.from)
    }

    /// Whether a value lies on the axis.
    #[must_use]
    pub fn holds(&self, value: f64) -> bool {
        (self.lo..=self.hi).contains(&value)
    }

    /// Round values on the axis with their text.
    #[must_use]
    pub fn ticks(&self) -> Vec<(f64, String)> {
        let step = round_step((self.hi - self.lo) / TICKS);
        let decimals = (-step.log10().floor()).clamp(0.0, 9.0) as usize;
        let first = (self.lo / step).ceil() as i64;
        let last = (self.hi / step).floor() as i64;
        (first..=last)
            .map(|i| i as f64 * step)
            .map(|value| (value, figures::number(value, decimals)))
            .collect()
    }
}

/// The next larger of 1, 2 and 5 times a power of ten.
fn round_step(rough: f64) -> f64 {
    let size = 10f64.powf(rough.log10().floor());
    let share = rough / size;
    let factor = [1.0, 2.0, 5.0]
        .into_iter()
        .find(|f| share <= *f)
        .unwrap_or(10.0);
    factor * size
}

/// Two decimals are enough for places in a drawing.
#[must_use]
pub fn at(place: f64) -> String {
    let text = format!("{place:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A horizontal axis under a chart, with its label.
#[must_use]
pub fn below(axis: &Axis, y: f64, label: &str) -> Markup {
    html! {
        g class="axis" {
            line x1=(at(axis.from)) x2=(at(axis.to)) y1=(at(y)) y2=(at(y)) {}
            @for (value, text) in axis.ticks() {
                @let x = axis.place(value);
                line x1=(at(x)) x2=(at(x)) y1=(at(y)) y2=(at(y + 5.0)) {}
                text x=(at(x)) y=(at(y + 18.0)) text-anchor="middle" { (text) }
            }
            text class="label" x=(at((axis.from + axis.to) / 2.0)) y=(at(y + 36.0)) text-anchor="middle" { (label) }
        }
    }
}

/// A vertical axis to the left of a chart, with its label turned.
#[must_use]
pub fn beside(axis: &Axis, x: f64, label: &str) -> Markup {
    let middle = (axis.from + axis.to) / 2.0;
    let label_x = x - 46.0;
    html! {
        g class="axis" {
            line x1=(at(x)) x2=(at(x)) y1=(at(axis.from)) y2=(at(axis.to)) {}
            @for (value, text) in axis.ticks() {
                @let y = axis.place(value);
                line x1=(at(x - 5.0)) x2=(at(x)) y1=(at(y)) y2=(at(y)) {}
                text x=(at(x - 8.0)) y=(at(y + 4.0)) text-anchor="end" { (text) }
            }
            text class="label" text-anchor="middle"
                transform={ "translate(" (at(label_x)) " " (at(middle)) ") rotate(-90)" } { (label) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_inside() {
        let axis = Axis::new(-0.3, 87.0, 40.0, 540.0);
        let texts: Vec<_> = axis.ticks().into_iter().map(|(_, t)| t).collect();
        assert_eq!(texts, ["0", "20", "40", "60", "80"]);
        assert!((axis.place(0.0) - (40.0 + 0.3 / 87.3 * 500.0)).abs() < 1e-9);
        let fine: Vec<_> = Axis::new(0.0, 0.11, 0.0, 1.0).ticks();
        assert_eq!(fine[1].1, "0.05");
    }

    #[test]
    fn an_axis_without_a_range_is_drawn_all_the_same() {
        for (lo, hi) in [
            (3.0, 3.0),
            (f64::NAN, 1.0),
            (0.0, f64::INFINITY),
            (2.0, 1.0),
        ] {
            let axis = Axis::new(lo, hi, 0.0, 100.0);
            let places: Vec<f64> = axis.ticks().iter().map(|tick| axis.place(tick.0)).collect();
            assert!(places.is_sorted(), "{lo} {hi}: {places:?}");
            assert!(
                places.iter().all(|p| (0.0..=100.0).contains(p)),
                "{lo} {hi}: {places:?}"
            );
            assert!((2..20).contains(&axis.ticks().len()));
        }
    }
}
