//! Whether darker tone is made of more grains or of larger ones.

use super::windows::{Window, Windows};
use crate::measure::line_fit::line;
use crate::measured::{Measured, NotMeasured};

/// Inked share up to which grains are still apart and can be counted.
const MOST_COVER: f64 = 0.35;
/// Fewest grains in a window for its mean size.
const MIN_GRAINS: usize = 12;
/// Fewest windows for a slope.
const MIN_WINDOWS: usize = 8;
/// Least spread of tone: standard deviation of ln cover over the windows.
const MIN_TONE_SPREAD: f64 = 0.15;

/// Slope of ln count over ln cover in windows: cover = count × mean area, so this is the part of
/// tone made by number.
#[must_use]
pub fn by_number(windows: &Windows) -> Measured {
    let points: Vec<(f64, f64)> = windows
        .textured
        .iter()
        .filter(|w| w.cover <= MOST_COVER && w.marks >= MIN_GRAINS)
        .map(|w: &Window| (w.cover.ln(), (w.marks as f64).ln()))
        .collect();
    if points.len() < MIN_WINDOWS {
        return NotMeasured::too_few("windows of separate grains", points.len(), MIN_WINDOWS)
            .into();
    }
    match line(&points) {
        Some(line) if line.spread >= MIN_TONE_SPREAD => {
            Measured::with_standard_error(line.slope, line.error, "1", points.len())
        }
        _ => Measured::missing(
            "tone hardly changes over the field; photograph a lighter and a darker part together",
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tone_by_number_and_by_size_are_told_apart() {
        let windows = |marks: fn(f64) -> f64| Windows {
            textured: (0..20)
                .map(|i| 0.04 + 0.012 * f64::from(i))
                .map(|cover| Window {
                    left: 0,
                    top: 0,
                    cover,
                    marks: marks(cover) as usize,
                    holes: 0,
                })
                .collect(),
            usable: 20,
        };
        let number = by_number(&windows(|cover| 2000.0 * cover)).value().unwrap();
        let size = by_number(&windows(|_| 100.0)).value().unwrap();
        assert!((number - 1.0).abs() < 0.02 && size.abs() < 0.02);
        assert!(by_number(&Windows::default()).value().is_none());
    }
}
