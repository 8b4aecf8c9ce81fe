//! Halftone screens: ruling and angle per ink, with a false-alarm probability.

use crate::ink::{Ink, Inked};
use crate::measured::Measured;
use schemars::JsonSchema;
use serde::Serialize;

/// What kind of screening was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ScreenKind {
    /// Dots of varied size on a fixed lattice (AM).
    Clustered,
    /// Equal small spots without a lattice: FM screening, inkjet, error diffusion.
    Stochastic,
    /// No screen found; says what that does not exclude.
    None,
    /// The photo cannot bear the measurement.
    NotMeasured,
}

/// One ink's screen.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct InkScreen {
    /// Which ink.
    pub ink: Ink,
    /// Screen ruling in lines per inch, mean over the measured field; missing without a scale.
    pub ruling_lpi: Measured,
    /// Screen period in px, mean over the measured field.
    pub period_px: Measured,
    /// Angle of the frequency vector, degrees counter-clockwise as seen, [0, 90) for two-vector lattices.
    pub angle_deg: Measured,
    /// Probability that structure without a screen would give a lattice this clear.
    pub false_alarm: f64,
    /// Mean frequency vectors, cycles per px, y down; one for a line screen.
    pub vectors_per_px: Vec<[f64; 2]>,
}

/// Screens found.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Lattice {
    /// What kind.
    pub kind: ScreenKind,
    /// Why it was not measured, or what "none" does not exclude.
    pub note: String,
    /// One entry an ink.
    pub inks: Vec<InkScreen>,
}

/// Looks for screens.
#[must_use]
pub fn measure(_inked: &Inked) -> Lattice {
    Lattice {
        kind: ScreenKind::NotMeasured,
        note: "not built yet".into(),
        inks: Vec::new(),
    }
}
