//! Dots and flicks: how many, how large, what shape, how they are spread.

use super::segment::Segments;
use crate::ink::Inked;
use crate::measured::Measured;
use schemars::JsonSchema;
use serde::Serialize;

/// Quantiles of a distribution.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Quantiles {
    /// 10 %.
    pub p10: Measured,
    /// 50 %.
    pub p50: Measured,
    /// 90 %.
    pub p90: Measured,
}

/// Measurements of marks.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Marks {
    /// Marks per mm² of usable field.
    pub density_per_mm2: Measured,
    /// Equivalent diameter (of the circle with the same area), µm.
    pub diameter_um: Quantiles,
    /// Share of the usable field under marks, 0–1.
    pub coverage: Measured,
    /// Clark–Evans index: 1 random, 0 clustered, 2.149 hexagonal. Source: Clark & Evans, Ecology 35 (1954).
    pub clark_evans: Measured,
}

/// Measures the marks.
#[must_use]
pub fn measure(_inked: &Inked, _segments: &Segments) -> Marks {
    let none = || Measured::missing("not built yet");
    Marks {
        density_per_mm2: none(),
        diameter_um: Quantiles {
            p10: none(),
            p50: none(),
            p90: none(),
        },
        coverage: none(),
        clark_evans: none(),
    }
}
