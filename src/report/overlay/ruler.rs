//! A bar of known length.

use crate::photo::Scale;
use crate::report::chart::axis::at;
use crate::report::figures;
use crate::report::picture::Window;
use maud::{Markup, html};

/// Longest bar, as a share of the width.
const LONGEST_SHARE: f64 = 0.25;
/// Distance from the corner and height of the text, as a share of the longer side.
const MARGIN_SHARE: f64 = 0.03;

/// A bar in the lower left corner; nothing where the scale is unknown.
#[must_use]
pub fn bar(scale: Option<&Scale>, window: Window) -> Markup {
    let Some(length_mm) = scale.and_then(|s| bar_mm(s.value, window.width)) else {
        return html! {};
    };
    let px = length_mm * scale.map_or(0.0, |s| s.value);
    let margin = MARGIN_SHARE * window.width.max(window.height) as f64;
    let x = window.left as f64 + margin;
    let y = (window.top + window.height) as f64 - margin;
    html! {
        g class="ruler" {
            path class="halo" d=(bracket(x, y, px, margin)) {}
            path d=(bracket(x, y, px, margin)) {}
            text class="on-photo" x=(at(x + px / 2.0)) y=(at(y - margin * 0.5))
                text-anchor="middle" font-size=(at(margin)) {
                (figures::plain(length_mm)) "\u{a0}mm"
            }
        }
    }
}

fn bracket(x: f64, y: f64, length: f64, margin: f64) -> String {
    let end = margin * 0.25;
    format!(
        "M{0} {1}v{2}M{0} {3}h{4}M{5} {1}v{2}",
        at(x),
        at(y - end),
        at(2.0 * end),
        at(y),
        at(length),
        at(x + length)
    )
}

/// The longest of 1, 2 and 5 times a power of ten that fits, mm.
fn bar_mm(px_per_mm: f64, width_px: usize) -> Option<f64> {
    let most = LONGEST_SHARE * width_px as f64 / px_per_mm;
    if !(most.is_finite() && most > 0.0) {
        return None;
    }
    let size = 10f64.powf(most.log10().floor());
    [5.0, 2.0, 1.0]
        .into_iter()
        .map(|factor| factor * size)
        .find(|mm| *mm <= most)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_are_round_and_fit() {
        assert_eq!(bar_mm(56.2, 1600), Some(5.0));
        assert_eq!(bar_mm(56.2, 480), Some(2.0));
        assert_eq!(bar_mm(0.0, 480), None);
        assert_eq!(bar_mm(f64::NAN, 480), None);
    }
}
