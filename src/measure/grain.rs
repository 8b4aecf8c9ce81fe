//! Stone grain: broken random texture.

use super::segment::Segments;
use crate::ink::Inked;
use schemars::JsonSchema;
use serde::Serialize;

/// Stone grain: broken random texture.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Grain {}

/// Measures it.
#[must_use]
pub fn measure(_inked: &Inked, _segments: &Segments) -> Grain {
    Grain {}
}
