//! The figures of one ink's screen.

use super::basis::{self, Grid, Shape};
use super::field::{self, FieldMean};
use super::phase::Frame;
use super::sheet::Sheet;
use super::track::Track;
use super::{BetweenInks, InkScreen, dots};
use crate::ink::{Ink, Inked};
use crate::measure::systematic::RULING;
use crate::measured::{Measured, NotMeasured};
use crate::photo::scale::MM_PER_INCH;

/// Centimetres per inch.
const CM_PER_INCH: f64 = MM_PER_INCH / 10.0;

/// The screen that waves show, as the ink whose colour it has.
pub(super) fn of_waves(
    inked: &Inked,
    frame: &Frame,
    places: &[[f64; 2]],
    tracks: &[Track],
    sheet: &Sheet,
    grid: &Grid,
    ink: Ink,
) -> InkScreen {
    let means: Vec<FieldMean> = basis::shortest(tracks, grid)
        .iter()
        .map(|(phase, se)| field::mean(frame, places, phase, sheet, *se))
        .collect();
    let count = means.len() as f64;
    let magnitude = means.iter().map(|m| m.magnitude).sum::<f64>() / count;
    let magnitude_se = means
        .iter()
        .map(|m| m.magnitude_se.powi(2))
        .sum::<f64>()
        .sqrt()
        / count;
    let modulo = if matches!(grid.shape, Shape::Square | Shape::Rectangular) {
        90.0
    } else {
        180.0
    };
    let (angle, angle_se) = angle_of(grid.shape, &means);
    let n = grid.waves.iter().map(|&w| tracks[w].samples.len()).sum();
    let alarm = super::alarm_of(tracks, grid);
    let ruling_lpi = ruling(inked, magnitude, magnitude_se, n);
    InkScreen {
        ink,
        ruling_per_cm: ruling_lpi.clone().times(1.0 / CM_PER_INCH, "lines/cm"),
        ruling_lpi,
        period_px: period(magnitude, magnitude_se, n),
        angle_deg: Measured::with_standard_error(angle.rem_euclid(modulo), angle_se, "°", n),
        false_alarm: 10f64.powf(alarm),
        vectors_per_px: means.iter().map(|m| m.vector).collect(),
        coherence: grid
            .waves
            .iter()
            .map(|&w| tracks[w].coherence)
            .fold(1.0, f64::min),
        amplitude: grid.strength,
    }
}

/// Angle of a screen: both vectors count for a square one, the shorter one else.
fn angle_of(shape: Shape, means: &[FieldMean]) -> (f64, f64) {
    let first = means[0];
    match (shape, means.get(1)) {
        (Shape::Square, Some(second)) => {
            let off = (second.angle_deg - first.angle_deg + 45.0).rem_euclid(90.0) - 45.0;
            (
                first.angle_deg + off / 2.0,
                first.angle_se_deg.hypot(second.angle_se_deg) / 2.0,
            )
        }
        _ => (first.angle_deg, first.angle_se_deg),
    }
}

/// The screen that a few dots show by their places.
pub(super) fn of_dots(inked: &Inked, grid: &dots::DotGrid) -> InkScreen {
    let length = |f: [f64; 2]| f[0].hypot(f[1]);
    let magnitude = 0.5 * grid.vectors.iter().map(|&f| length(f)).sum::<f64>();
    let magnitude_se = grid.frequency_se / 2f64.sqrt();
    let [first, second] = grid.vectors.map(|f| crate::plane::angle_deg(f[0], f[1]));
    let off = (second - first + 45.0).rem_euclid(90.0) - 45.0;
    let angle_se = (magnitude_se / magnitude).to_degrees();
    let ruling_lpi = ruling(inked, magnitude, magnitude_se, grid.dots);
    InkScreen {
        // Dots are looked for in the marks, whatever their colour; so few are the key's.
        ink: Ink::K,
        ruling_per_cm: ruling_lpi.clone().times(1.0 / CM_PER_INCH, "lines/cm"),
        ruling_lpi,
        period_px: period(magnitude, magnitude_se, grid.dots),
        angle_deg: Measured::with_standard_error(
            (first + off / 2.0).rem_euclid(90.0),
            angle_se,
            "°",
            grid.dots,
        ),
        false_alarm: 10f64.powf(grid.alarm_log10),
        vectors_per_px: grid.vectors.to_vec(),
        coherence: grid.in_step,
        amplitude: grid.amplitude,
    }
}

/// Ruling of a screen of so many cycles per px.
fn ruling(inked: &Inked, magnitude: f64, magnitude_se: f64, n: usize) -> Measured {
    inked.scale.as_ref().map_or_else(
        || NotMeasured::no_scale().into(),
        |scale| {
            let per_inch = scale.value * MM_PER_INCH;
            Measured::with_standard_error(magnitude * per_inch, magnitude_se * per_inch, "lpi", n)
                .widened(RULING.at(None))
                .widened(scale.ln_half())
        },
    )
}

fn period(magnitude: f64, magnitude_se: f64, n: usize) -> Measured {
    Measured::with_standard_error(1.0 / magnitude, magnitude_se / magnitude.powi(2), "px", n)
}

/// Farthest from square that two vectors are taken to be square to each other, degrees.
const NEARLY_SQUARE_DEG: f64 = 2.0;

/// Whether a screen looks the same after a quarter turn, as far as its directions go.
fn is_square(screen: &InkScreen) -> bool {
    match screen.vectors_per_px[..] {
        [a, b] => {
            let turn = crate::plane::angle_deg(a[0], a[1]) - crate::plane::angle_deg(b[0], b[1]);
            (turn.rem_euclid(180.0) - 90.0).abs() <= NEARLY_SQUARE_DEG
        }
        _ => false,
    }
}

/// Angles between the screens of every two inks.
pub(super) fn between(screens: &[InkScreen]) -> Vec<BetweenInks> {
    let pairs = screens
        .iter()
        .enumerate()
        .flat_map(|(i, first)| screens[i + 1..].iter().map(move |second| (first, second)));
    pairs
        .map(|(first, second)| BetweenInks {
            inks: [first.ink, second.ink],
            angle_deg: angle_between(first, second),
        })
        .collect()
}

fn angle_between(first: &InkScreen, second: &InkScreen) -> Measured {
    let (Some(a), Some(b)) = (first.angle_deg.figure(), second.angle_deg.figure()) else {
        return Measured::missing("the angle of one of the two screens is unknown");
    };
    let modulo = if is_square(first) && is_square(second) {
        90.0
    } else {
        180.0
    };
    let apart = (a.value - b.value).rem_euclid(modulo);
    let value = apart.min(modulo - apart);
    let half = (0.5 * (a.hi - a.lo)).hypot(0.5 * (b.hi - b.lo));
    Measured::with_interval(
        value,
        (value - half).max(0.0),
        (value + half).min(0.5 * modulo),
        "°",
        a.n.min(b.n),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A screen of dots at an angle, its interval 0.1° either way.
    fn screen(ink: Ink, angle: f64, vectors: usize) -> InkScreen {
        let missing = || Measured::missing("not needed");
        let along = |turn: f64| {
            let (sin, cos) = (angle + turn).to_radians().sin_cos();
            [0.1 * cos, -0.1 * sin]
        };
        InkScreen {
            ink,
            ruling_lpi: missing(),
            ruling_per_cm: missing(),
            period_px: missing(),
            angle_deg: Measured::with_interval(angle, angle - 0.1, angle + 0.1, "°", 9),
            false_alarm: 1e-9,
            vectors_per_px: [0.0, 90.0][..vectors].iter().map(|&t| along(t)).collect(),
            coherence: 1.0,
            amplitude: 0.1,
        }
    }

    #[test]
    fn process_inks_lie_thirty_and_fifteen_degrees_apart() {
        // The usual angles of four-colour work (DIN 16547, from memory): C 15°, M 75°, Y 0°, K 45°.
        let four = [
            (Ink::K, 45.0),
            (Ink::C, 15.0),
            (Ink::M, 75.0),
            (Ink::Y, 0.0),
        ];
        let found = between(&four.map(|(ink, angle)| screen(ink, angle, 2)));
        let apart = |a: Ink, b: Ink| {
            let pair = found.iter().find(|p| p.inks == [a, b]).unwrap();
            pair.angle_deg.figure().unwrap().clone()
        };
        for (a, b, degrees) in [
            (Ink::K, Ink::C, 30.0),
            (Ink::K, Ink::M, 30.0),
            (Ink::C, Ink::M, 30.0),
            (Ink::C, Ink::Y, 15.0),
            (Ink::M, Ink::Y, 15.0),
            (Ink::K, Ink::Y, 45.0),
        ] {
            let angle = apart(a, b);
            approx::assert_abs_diff_eq!(angle.value, degrees, epsilon = 1e-9);
            assert!(angle.lo < degrees && angle.hi >= degrees, "{angle:?}");
        }
        assert_eq!(found.len(), 6);
    }

    #[test]
    fn a_line_screen_may_lie_square_to_another() {
        let found = between(&[screen(Ink::K, 10.0, 1), screen(Ink::C, 100.0, 2)]);
        approx::assert_abs_diff_eq!(found[0].angle_deg.value().unwrap(), 90.0, epsilon = 1e-9);
    }
}
