//! Pixels per millimetre, and where the figure comes from.

use schemars::JsonSchema;
use serde::Serialize;

/// Where a scale comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ScaleSource {
    /// The user gave pixels per millimetre.
    Given,
    /// The loupe's known field diameter, and the round field found in the photo.
    LoupeField,
    /// The graduations of a rule or graticule in this photo or another one.
    Rule,
    /// The resolution tag of a scan.
    ResolutionTag,
}

/// Pixels per millimetre on the sheet, with its 95 % interval.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Scale {
    /// Pixels per millimetre.
    pub value: f64,
    /// Lower end of the 95 % interval.
    pub lo: f64,
    /// Upper end of the 95 % interval.
    pub hi: f64,
    /// Where it comes from.
    pub source: ScaleSource,
}
