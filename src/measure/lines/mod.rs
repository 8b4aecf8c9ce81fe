//! Systems of hatching: lines laid side by side, their direction, spacing, width and character.
//!
//! - [`ripple`]: plane waves in windows of doubling size.
//! - [`systems`]: waves that run on from window to window grow into systems; chance ones are dropped.
//! - [`strokes`]: single strokes followed from ink to their ends. [`outline`]: their swelling, edges and ends.
//! - [`figures`]: a system put into figures. [`spectrum`]: line frequencies for the chart.

mod continuity;
mod features;
mod figures;
mod outline;
mod ripple;
mod sample;
mod spectrum;
mod strokes;
mod systems;

use super::segment::Segments;
use crate::ink::Inked;
use crate::measured::Measured;
use crate::plane::Plane;
use schemars::JsonSchema;
use serde::Serialize;

pub use features::Features;
pub use strokes::Stroke;

/// Least amplitude of hatching against the picture's darkest ink: fainter ripples are laid lines,
/// compression and paper.
const FLOOR_OF_INK: f64 = 0.06;
/// And in absolute density: half of what a good camera's noise leaves in a window.
const FLOOR_DENSITY: f64 = 0.02;
/// Density taken as the darkest ink: this quantile, so that specks do not count.
const DARKEST_QUANTILE: f64 = 0.98;
/// Most systems reported.
const MAX_SYSTEMS: usize = 24;

/// Everything measured on lines.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Lines {
    /// The systems of hatching, largest share of the field first; empty when there is none.
    pub systems: Vec<System>,
    /// Where two systems lie over one another: their crossing angles.
    pub crossings: Vec<Crossing>,
    /// Figures of the whole field for weighing.
    pub features: Features,
    /// Line frequencies over the whole field.
    pub spectrum: Spectrum,
    /// The followed strokes, for drawing on the photograph.
    #[serde(skip)]
    pub strokes: Vec<Stroke>,
}

/// One system of hatching.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct System {
    /// Lines per millimetre across the lines: the mean over the area the system covers.
    pub spacing_per_mm: Measured,
    /// Distance from line to line, px: the inverse of the mean frequency.
    pub period_px: Measured,
    /// Direction of the lines, degrees counter-clockwise as seen, [0, 180): mean over the area.
    pub orientation_deg: Measured,
    /// Median width of the lines at half height, µm.
    pub width_um: Measured,
    /// The same in px.
    pub width_px: Measured,
    /// Change of width along a line: 90 % less 10 % quantile over the median, typical line.
    pub swelling: Measured,
    /// Share of free ends that are pointed.
    pub pointed_ends: Measured,
    /// Roughness of the edges, root mean square about a straight line over two widths, µm.
    pub raggedness_um: Measured,
    /// The same as a share of the width.
    pub raggedness: Measured,
    /// How far the lines stay parallel and equally spaced, mm.
    pub coherence_length_mm: Measured,
    /// The same, in spacings.
    pub coherence_length_lines: Measured,
    /// Share of the usable field covered, 0–1.
    pub share_of_field: Measured,
    /// Spread of direction and spacing over the area: RMS deviation of the frequency vector over
    /// its mean length. Near 0 for a ruling machine or a screen, a tenth or more for a hand.
    pub wander: Measured,
    /// How well the ruling of one window foretells the phase two windows on, 0–1.
    pub phase_coherence: Measured,
    /// Share of the line-frequency power of a window in the system's wave, median.
    pub sharpness: Measured,
    /// log10 of the number of such systems that chance would make in this photograph.
    pub false_alarm_log10: f64,
    /// Where it lies, for drawing on the photograph.
    #[serde(skip)]
    pub places: Vec<Place>,
}

/// A patch of a system.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Centre, px.
    pub x: f64,
    /// Centre, px.
    pub y: f64,
    /// Direction of the lines here, degrees, [0, 180).
    pub orientation_deg: f64,
    /// Distance from line to line here, px.
    pub period_px: f64,
    /// Side of the patch, px.
    pub cell_px: f64,
}

/// Two systems that lie over one another.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Crossing {
    /// Index into `systems`.
    pub first: usize,
    /// Index into `systems`.
    pub second: usize,
    /// Angle between the lines, degrees, (0, 90].
    pub angle_deg: Measured,
}

/// Power by line frequency.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Spectrum {
    /// Unit of the frequencies: mm⁻¹, or px⁻¹ without a scale.
    pub unit: String,
    /// Power in equal steps of log frequency, summing to 1; rising frequency.
    pub points: Vec<SpectrumPoint>,
    /// The peaks, highest first.
    pub peaks: Vec<SpectrumPoint>,
}

/// A point of the spectrum.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SpectrumPoint {
    /// Line frequency.
    pub frequency: f64,
    /// Share of the power, 0–1.
    pub power: f64,
}

/// Measures the hatching.
#[must_use]
pub fn measure(inked: &Inked, segments: &Segments) -> Lines {
    let floor = FLOOR_DENSITY.max(FLOOR_OF_INK * darkest(&inked.grey_density, &inked.usable));
    let layers = ripple::look(&inked.grey_density, &inked.usable, floor);
    let groups = systems::grow(&layers);
    let seeds = strokes::follow(inked, segments);
    let strokes: Vec<Stroke> = seeds.iter().filter_map(strokes::Seed::stroke).collect();
    let usable_px = inked.usable_px();
    let systems: Vec<System> = groups
        .iter()
        .take(MAX_SYSTEMS)
        .map(|group| {
            figures::system(
                group,
                &strokes,
                inked.scale.as_ref(),
                usable_px,
                segments.blur,
            )
        })
        .collect();
    Lines {
        features: features::features(&layers, &groups, &systems, &seeds),
        crossings: figures::crossings(&systems),
        spectrum: spectrum::spectrum(&layers, inked.px_per_mm()),
        systems,
        strokes,
    }
}

/// Density of the darkest ink in the usable field, from a grid of about ten thousand pixels.
fn darkest(density: &Plane, usable: &crate::plane::Mask) -> f64 {
    let step = ((density.len() as f64).sqrt() / 100.0).ceil().max(1.0) as usize;
    let mut values: Vec<f32> = (0..density.nrows())
        .step_by(step)
        .flat_map(|y| (0..density.ncols()).step_by(step).map(move |x| [y, x]))
        .filter(|&at| usable[at])
        .map(|at| density[at])
        .collect();
    values.sort_by(f32::total_cmp);
    let rank = (DARKEST_QUANTILE * values.len() as f64) as usize;
    values.get(rank).map_or(0.0, |&v| f64::from(v).max(0.0))
}

#[cfg(test)]
mod tests;
