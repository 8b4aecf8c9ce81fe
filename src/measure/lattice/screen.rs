//! The figures of one ink's screen.

use super::basis::{self, Grid, Shape};
use super::field::{self, FieldMean};
use super::phase::Frame;
use super::sheet::Sheet;
use super::track::Track;
use super::{InkScreen, dots, found, pieces};
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
    let alarm = found::alarm_of(tracks, grid);
    let ruling_lpi = ruling(inked, magnitude, magnitude_se, n);
    InkScreen {
        ink,
        ruling_per_cm: ruling_lpi.clone().times(1.0 / CM_PER_INCH, "lines/cm"),
        ruling_lpi,
        period_px: period(magnitude, magnitude_se, n),
        angle_deg: Measured::with_standard_error(angle.rem_euclid(modulo), angle_se, "°", n),
        false_alarm: 10f64.powf(alarm),
        vectors_per_px: means.iter().map(|m| m.vector).collect(),
        coherence: found::coherence_of(tracks, grid),
        pieces: 0,
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

/// A square screen whose waves were not followed over the whole field.
struct Simple {
    vectors: [[f64; 2]; 2],
    /// Of each component, cycles per px.
    frequency_se: f64,
    alarm_log10: f64,
    coherence: f64,
    pieces: usize,
    amplitude: f64,
    /// Dots or pieces that it rests on.
    samples: usize,
}

/// The screen that a few dots show by their places.
pub(super) fn of_dots(inked: &Inked, grid: &dots::DotGrid) -> InkScreen {
    let simple = Simple {
        vectors: grid.vectors,
        frequency_se: grid.frequency_se,
        alarm_log10: grid.alarm_log10,
        coherence: grid.in_step,
        pieces: 0,
        amplitude: grid.amplitude,
        samples: grid.dots,
    };
    // Dots are looked for in the marks, whatever their colour; so few are the key's.
    simple.as_ink(inked, Ink::K)
}

/// The screen that pieces of the field show, as the ink whose colour it has.
pub(super) fn of_pieces(inked: &Inked, pieces: &pieces::Pieces, ink: Ink) -> InkScreen {
    let simple = Simple {
        vectors: pieces.vectors,
        frequency_se: pieces.frequency_se,
        alarm_log10: pieces.alarm_log10,
        coherence: pieces.coherence,
        pieces: pieces.squares,
        amplitude: pieces.strength,
        samples: pieces.squares,
    };
    simple.as_ink(inked, ink)
}

impl Simple {
    fn as_ink(&self, inked: &Inked, ink: Ink) -> InkScreen {
        let length = |f: [f64; 2]| f[0].hypot(f[1]);
        let magnitude = 0.5 * self.vectors.iter().map(|&f| length(f)).sum::<f64>();
        let magnitude_se = self.frequency_se / 2f64.sqrt();
        let [first, second] = self.vectors.map(|f| crate::plane::angle_deg(f[0], f[1]));
        let off = (second - first + 45.0).rem_euclid(90.0) - 45.0;
        let angle_se = (magnitude_se / magnitude).to_degrees();
        let ruling_lpi = ruling(inked, magnitude, magnitude_se, self.samples);
        let angle = (first + off / 2.0).rem_euclid(90.0);
        InkScreen {
            ink,
            ruling_per_cm: ruling_lpi.clone().times(1.0 / CM_PER_INCH, "lines/cm"),
            ruling_lpi,
            period_px: period(magnitude, magnitude_se, self.samples),
            angle_deg: Measured::with_standard_error(angle, angle_se, "°", self.samples),
            false_alarm: 10f64.powf(self.alarm_log10),
            vectors_per_px: self.vectors.to_vec(),
            coherence: self.coherence,
            pieces: self.pieces,
            amplitude: self.amplitude,
        }
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
